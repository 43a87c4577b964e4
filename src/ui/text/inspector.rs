//! Words beside the numbers of the selected thing and of the tank.

use crate::advice::Berth;
use crate::scene::Mount;
use crate::units::{M_PER_CM, Measure, UnitSystem};

words! {
    // Inspector: shared.
    NAME = "name";
    LOCKED = "locked";
    SIZE = "size";
    PLACE = "place";
    LENGTH = "length";
    WIDTH = "width";
    DEPTH = "depth";
    RISE = "height";
    ACROSS = "across";
    KIND = "kind";
    FROM_LEFT = "from left";
    FROM_FRONT = "from front";
    HEIGHT = "above base";
    TURN = "turn";
    TILT = "tilt";
    NOTE = "note";
    SET_NOTE = "set the note";

    // Rock.
    ROUNDING = "rounding";
    MASS = "mass";
    VOLUME = "volume";
    DRY = "dry";
    IN_WATER = "in water";
    DENSITY = "density";
    REFLECTS = "reflects";
    BONDED = "glued";
    TO_NOTHING = "to nothing";
    NEW_GROUP = "new group";
    SET_BOND = "glue";

    // Distances that a builder checks.
    DISTANCES = "distances";

    // What an outage brings.
    IF_POWER_FAILS = "if the power fails";
    STILL_WATER = "How long livestock bears still water hangs on oxygen, which is not computed here.";
    FAIL_EACH = "work out each pump failing in turn";
    FAIL_EACH_AGAIN = "work it out again";
    SWAYS = "The surface sways by itself in these periods; a pump that pulses so rocks the tank.";

    // What finer cells say of the water.
    ON_FINER_CELLS = "on finer cells";
    LOOK_FINER = "look at the water on finer cells";
    LOOK_FINER_AGAIN = "look again";
    LOOK_FINER_WHY = "Solves this layout once more on smaller cells, in the background, and says what that changes. The estimate stays as it is. On two cores it takes minutes. A layout that is left alone is looked at so by itself.";
    CORALS_AS_SAID = "No coral feels other water than was said of it, within its range.";
    CHANCES_STRETCHED = "What is dead goes by chances that were fitted on cells of 1 to 2 cm; on finer ones they are stretched.";

    // Pump.
    PUMP = "pump";
    FLOW = "flow";
    OUTLET = "outlet";
    THROTTLE = "throttle";
    LEAVES_AT = "leaves at";
    AIM = "aim";
    RISE_ANGLE = "upward by";
    PROGRAMME = "program";
    RUNS = "runs";
    STEADY = "steady";
    PULSE = "pulse";
    ALTERNATE = "in turn";
    PERIOD = "period";
    ON_SHARE = "on for";
    SET = "set";
    ITS_TURN = "its turn";
    OF = "of";
    SET_KIND = "set the kind of pump";
    INTAKE = "intake";
    GUARDED = "guarded";
    UNGUARDED = "open";
    SET_INTAKE = "set the intake";
    SET_PROGRAMME = "set the program";
    DRAWS = "draws";
    PROPELLER = "propeller";
    CROSS_FLOW = "cross-flow";
    NOZZLE = "nozzle";
    SLOT = "slot length";

    // Lamp.
    PANEL = "panel";
    PENDANT = "pendant";
    TUBE = "tube";
    BAR = "bar";
    BODY = "body";
    SET_BODY = "set the body";
    OVER_WATER = "over water";
    LEAN = "lean";
    OUTPUT = "output";
    KNOWN_BY = "known by";
    PHOTONS = "photons";
    POWER = "power";
    A_READING = "a reading";
    SET_OUTPUT = "set the output";
    GIVES = "gives";
    EFFICACY = "efficacy";
    MEASURED = "measured";
    READ_AT_LEFT = "read from left";
    READ_AT_FRONT = "read from front";
    READ_AT_HEIGHT = "read above base";
    DIM = "dimmed to";
    BEAM = "beam";
    MEASURED_FILE = "measured file";
    SET_MEASURED = "set the beam";
    USE_BEAM = "use an angle instead";
    DAY = "day";
    HOURS = "light for";
    RAMP = "ramp";

    // Coral.
    CHANGE_ENTRY = "change the coral";
    MOUNT = "mount";
    PLUG = "plug";
    GEL = "gel";
    PUTTY = "putty";
    GEL_AND_PUTTY = "gel and putty";
    WEDGE = "wedge";
    THREAD = "thread";
    ROD = "rod";
    HANG = "hung";
    RUBBLE = "rubble";
    FOOT = "own foot";
    IN_SAND = "in sand";
    LOOSE = "loose";
    SET_MOUNT = "set the mount";
    SITS_ON = "sits on";
    THE_SAND = "the sand";
    SINCE = "since";
    SET_SINCE = "set since when";
    FIT_NOT_KNOWN = "How it fares here is not known yet.";
    SHOW_BERTHS = "show berths";
    HIDE_BERTHS = "hide berths";
    BERTHS = "best berths";
    STILL_SEEKING = "Still looking for places.";
    NO_BERTHS = "No place in this layout suits it as asked. Ask for less, or change light or flow.";
    OTHER_ENTRY = "another coral";
    DONE = "done";
    PLUG_ONLY = "plug holes only";
    ONLY_ROCK = "on which rock";
    ANYWHERE = "anywhere";
    LIVES_HERE = "what lives here?";
    NOTHING_LIVES_HERE = "Nothing in the catalog suits this place as it is. More light or flow, or more room, would change that.";
    NO_LIGHT_YET = "Light is not known yet; the list follows.";
    BETTER_BERTHS = "its best berths";
    PALYTOXIN_SHORT = "Can hold a strong poison: gloves, eye protection, keep it wet, no heat. Ill afterward? Medical help at once.";
    MOVE_TO_BERTH = "move to a berth";
    VERDICT_BAD = "It will not do here.";
    VERDICT_POOR = "A poor place for it.";
    VERDICT_FAIR = "At the edge of what it likes.";
    VERDICT_GOOD = "A good place for it.";
    VERDICT_UNKNOWN = "Not enough is known to say.";
    ASPECT_LIGHT = "light";
    ASPECT_FLOW = "flow";
    ASPECT_ROOM = "room";
    ASPECT_MOUNT = "mount";
    ASPECT_STABILITY = "hold";
    NOT_KNOWN = "not known";

    // Tank.
    THE_TANK = "the tank";
    INSIDE = "inside";
    WATER_UP_TO = "water up to";
    SAND_BED = "sand and water";
    SAND_DEPTH = "sand depth";
    GRAIN = "grain";
    SAND_REFLECTS = "sand reflects";
    WATER_TAKES = "light lost in water";
    GLASS = "sides";
    LEFT = "left";
    RIGHT = "right";
    FRONT = "front";
    BACK = "back";
    CLEAR = "clear";
    BLACK = "blacked out";
    SET_SIDE = "set a side";
    REMOVE_RETURN = "remove the return";
    OVERFLOW = "overflow";
    ADD_OVERFLOW = "add an overflow";
    SET_OVERFLOW = "set the overflow";
    REMOVE_OVERFLOW = "remove the overflow";
    IN_PANE = "in pane";
    WEIR_FROM = "weir from";
    WEIR_TO = "weir to";
    WEIR_DEPTH = "below surface";
    LIMITS = "limits";
    DEAD_BELOW = "dead below";
    SHADED_BELOW = "shaded below";
    NEXT_PUMP = "pump to propose";
    NEXT_FLOW = "pump flow";
    NEXT_OUTLET = "pump outlet";
    NEXT_SIZES = "try";
    NEXT_ONE = "this";
    NEXT_OWN = "those in the tank too";

    // Readings and animals.
    OF_WHAT = "of";
    LIGHT_UP = "light, facing up";
    LIGHT_ROUND = "light, all round";
    SPEED = "speed";
    VALUE = "value";
    GIVE_OR_TAKE = "give or take";
    WHEN = "when";
    SET_READING = "set a reading";
    REMOVE_READING = "remove a reading";
    ANIMAL = "animal";
    SET_ANIMAL = "set an animal";
    REMOVE_ANIMAL = "remove an animal";
    DIGS = "digs";
    PUSHES = "pushes things";
    HOSTS = "lives in a coral";
    PERCHES = "perches";
    NEEDS_CAVE = "needs a cave";
    NEEDS_LANE = "needs a lane";
    CAVE_WIDTH = "cave width";
    LANE_LENGTH = "lane length";
}

/// What a keeper measures of a berth, in one line.
pub fn berth_measures(units: UnitSystem, berth: &Berth) -> String {
    let length = |m: f64| Measure::Length.text(m / M_PER_CM, units);
    let got = &berth.measures;
    let above = if got.above_sand_m > 0.0 {
        format!(", {} above the sand", length(got.above_sand_m))
    } else {
        String::new()
    };
    format!(
        "{}, slope {:.0}°, grown {} clear of the glass{above}",
        mount(berth.mount),
        got.slope_deg,
        length(got.clear_of_glass_m)
    )
}

/// How a coral is held.
pub fn mount(mount: Mount) -> &'static str {
    match mount {
        Mount::Plug => PLUG,
        Mount::Gel => GEL,
        Mount::Putty => PUTTY,
        Mount::GelAndPutty => GEL_AND_PUTTY,
        Mount::Wedge => WEDGE,
        Mount::Thread => THREAD,
        Mount::Rod => ROD,
        Mount::Hang => HANG,
        Mount::Rubble => RUBBLE,
        Mount::Sand => IN_SAND,
        Mount::Loose => LOOSE,
        Mount::Foot => FOOT,
    }
}

/// How places agree: the correlation of their ranks, and the share of the
/// slowest ones of either that are so in both.
pub fn places_agree(rank: f64, slowest_overlap: f64) -> String {
    let both = slowest_overlap * 100.0;
    format!(
        "Of 100 places that either has among its slowest quarter, {both:.0} are so in both; the order of all places agrees by {rank:.2} (1 is the same order)."
    )
}

/// How far the look at finer cells has come.
pub fn refining(share: f64) -> String {
    format!("solving on finer cells, {:.0} %", share * 100.0)
}

/// How far the failing of each pump has come.
pub fn failing(share: f64) -> String {
    format!("solving the tank without each pump, {:.0} %", share * 100.0)
}
