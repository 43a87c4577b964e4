//! Words about what the keeper owns: readings and what they fix, what to change
//! before anything is bought, a day and a week.

use crate::improve::calibrate::{Sought, Target};

words! {
    // What to change before anything is bought.
    PAGE_IMPROVE = "use what is there";
    IMPROVE_WORDS = "Looks for what to turn, throttle, dim, lower or move so that more corals get the light and flow that they like. Gear stays where it hangs unless you allow otherwise, and then keeps to the panes that you name. Each plan is solved in full before it is shown; that takes minutes.";
    MAY_CHANGE = "may change";
    MAY_CARRY_GEAR = "may carry gear";
    MUST_STAY = "stays as it is";
    MUST_BE_CALM = "stays as calm as it is";
    MAY_BUY = "may be bought, last of all";
    LOOK_FOR_PLANS = "look for plans";
    NO_CORALS_TO_HELP = "Plant a coral first: plans are judged by what corals get.";
    PLAN_IS_OLD = "of an earlier state of the scene; look again";
    NOTHING_TO_BUY = "nothing to buy";
    WHAT_TO_DO = "what to do";
    WHO_GAINS = "what changes for whom";
    WHAT_TO_MIND = "mind";
    ADD_A_PLAN = "add a plan as a layout";
    NO_PLAN = "No change that was allowed brings more corals into their ranges. Allow more, or let a pump be bought.";
    ALL_WELL = "All corals have the light and flow that they like.";

    // Readings.
    PAGE_DAY = "a day and a week";
    CLICK_PLACES = "click each place where you read; Escape stops";
    ADD_A_READING = "add a reading";
    FROM_A_TABLE = "take in a table (CSV)";
    CLICK_A_PLACE = "click where it was read";
    HOW_TO_READ = "how to take readings that count";
    READING_TITLES_SPREAD = "give or take";
    READING_TITLES_ALONE = "alone";
    ALL_RAN = "all ran";
    RAN_ALONE = "ran alone";
    TAKEN_BY = "taken by";
    BY_METER = "a meter";
    BY_DRIFT = "a drift";
    WAY = "way";
    TIME = "time, mean";
    TRIES = "tries";
    ON_AXIS = "along its jet";
    PATH_READINGS = "table of readings (CSV)";
    TABLE_FILES = "table";

    // What readings fix.
    CAL_WHAT = "value";
    CAL_PRINTED = "as printed";
    CAL_FOUND = "as read";
    CAL_BETWEEN = "in 8 of 10 cases";
    CAL_READING = "reading";
    CAL_READ = "read";
    CAL_AFTER = "after the fit";
    CAL_TAKE_OVER = "use these";
    CAL_IN_USE = "These values are in use; what is printed is kept beside them.";
    CAL_NOT_TOLD = "left as printed: the readings tell too little of it";
    SET_BY_READINGS_ALL = "use what was read";
    TIED = "moves with another lamp: readings cannot tell the two apart";

    // A day and a week.
    DAY_LIGHT = "light by the hour";
    DAY_WATER = "pumps by the hour";
    DAY_NO_LIGHT = "The light is still being worked out.";
    DAY_DOSE = "dose a day";
    DAY_LIKES = "likes";
    DAY_MOST = "at most";
    DAY_DOSE_WORDS = "The dose that a coral likes is its range of light over ten hours a day (common practice).";
    DAY_ALL_PUMPS = "all pumps";
    DAY_NIGHT_WORDS = "Gas exchange, oxygen at night and heat are not computed here, and nothing guesses at them: a tank that is stirred less at night may run short of oxygen. Watch your animals in the first hours of the morning.";
    DAY_WATER_WORDS = "What pumps are set to move, by their programs and hours. The water in the drawing is estimated as set, without the hours.";
    WEEKS = "weeks of getting used to new light";
    WEEKS_WHO = "for";
    WEEKS_ALL = "all corals, under a new lamp";
    WEEKS_FROM = "light until now";
    WEEKS_FROM_SHARE = "old light, of the new";
    WEEKS_WORDS = "Common practice, not a promise: stay on a step, or go back one, when a coral pales, browns or keeps its polyps in. Dim the lamp, hang it higher or begin lower in the tank.";
    WEEKS_NONE = "No steps are needed: the new light is at most a fifth brighter.";
    WEEKS_DARKER = "Much darker than before: it may stretch or turn brown.";
    WEEK = "week";
    OF_NEW_LIGHT = "of the new light";
    FIRST_LIGHT = "first light at";
    FROM_HOUR = "from";
    SHARE_THEN = "share";
    ADD_HOUR = "set another share from an hour on";
    ALL_DAY = "all day as set";
    SET_HOURS = "set the hours";
}

/// What a table of readings holds.
pub const TABLE_WORDS: &str = "Columns of a table, in any order: kind (ppfd_up, ppfd_scalar, speed, jet), x_cm, y_cm, z_cm, value; and as you have them spread, alone, way_cm, time_s, times, distance_cm, layout, when.";

/// The words of a box that keeps a thing as it is.
pub fn keep(name: &str) -> String {
    format!("keep {name}")
}

/// The words of a box that keeps a coral's corner calm.
pub fn calm(name: &str) -> String {
    format!("calm for {name}")
}

/// A plan's heading.
pub fn plan_heading(number: usize, [before, after, of]: [usize; 3]) -> String {
    format!("plan {number}: {after} of {of} corals in range instead of {before}")
}

/// Slow water before and after.
pub fn plan_water(before: &str, after: &str, half_width: &str) -> String {
    format!("slow water {before} before, {after} after (± {half_width})")
}

/// What has to be bought.
pub fn buys(n: usize) -> String {
    match n {
        0 => NOTHING_TO_BUY.to_owned(),
        1 => "one pump to buy".to_owned(),
        n => format!("{n} pumps to buy"),
    }
}

/// A tie with another plan.
pub fn tie(other: usize) -> String {
    format!("a tie with plan {other}, within what the estimate can tell")
}

/// The link that adds a plan.
pub fn add_plan(number: usize) -> String {
    format!("add plan {number} as a layout and show it")
}

/// One coral's change.
pub fn gain(name: &str, light: [&str; 2], flow: [&str; 2]) -> String {
    format!(
        "{name}: light {}, then {}; flow {}, then {}",
        light[0], light[1], flow[0], flow[1]
    )
}

/// What a fitted value is.
pub fn sought(target: &Target) -> String {
    let name = if target.name.is_empty() {
        target.id.map_or_else(String::new, |id| id.to_string())
    } else {
        target.name.clone()
    };
    match target.what {
        Sought::LampOutput => format!("{name}: light at full setting"),
        Sought::Absorption => "water: absorbs".to_owned(),
        Sought::ReturnedShare => "clear panes: return of light".to_owned(),
        Sought::PumpFlow => format!("{name}: flow at full setting"),
        Sought::JetOffset => format!("{name}: jet begins before its outlet"),
    }
}

/// Errors of readings that were left out.
pub fn left_out(what: &str, [before, after]: [f64; 2]) -> String {
    format!(
        "{what}: a reading that takes no part is missed by {:.0} % as printed, by {:.0} % after the fit",
        100.0 * before,
        100.0 * after
    )
}

/// A reading that took no part.
pub fn unused(number: usize, why: &str) -> String {
    format!("reading {number}: {why}")
}

/// Hours of light in words.
pub fn lit_hours([first, last]: [f64; 2]) -> String {
    let clock = |hour: f64| {
        let minutes = (hour.rem_euclid(24.0) * 60.0).round() as u32;
        format!("{}:{:02}", minutes / 60 % 24, minutes % 60)
    };
    format!("first light at {}, last at {}", clock(first), clock(last))
}

/// How often all pumps move the tank's water, by day and at their least.
pub fn turnovers(most: f64, least: f64) -> String {
    format!("{most:.1} times the tank's water an hour at most, {least:.1} at least")
}

/// How far the search for plans has come.
pub fn seeking_plans(share: f64) -> String {
    format!(
        "solving the tank as it is and as it could be, {:.0} %",
        share * 100.0
    )
}

/// The name of a number of a reading in the table.
pub fn of_reading(what: &str, number: usize) -> String {
    format!("{what} of reading {number}")
}

/// The line of a coral's day.
pub fn coral_day(most: &str, dose: &str, likes: Option<[String; 2]>) -> String {
    match likes {
        Some([low, high]) => {
            format!("{DAY_MOST} {most}; {DAY_DOSE} {dose}, {DAY_LIKES} {low} to {high}")
        }
        None => format!("{DAY_MOST} {most}; {DAY_DOSE} {dose}"),
    }
}

/// A step of getting used to new light.
pub fn week_step(week: u32, share: f64, ppfd: &str) -> String {
    format!(
        "{WEEK} {week}: {:.0} % {OF_NEW_LIGHT}, {ppfd}",
        100.0 * share
    )
}
