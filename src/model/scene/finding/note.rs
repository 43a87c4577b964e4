//! Facts without a number that belong to a finding or to a strip of a fit.

use super::kind::tagged;

tagged! {
    /// One fact; `words` has a clause for each.
    Note {
        // Water.
        /// Detritus settles there and stays.
        DetritusSettles = "detritus_settles",
        /// The figures are of a slice.
        SliceEstimate = "slice_estimate",
        /// Runs of the tank go different ways there.
        RunsDiffer = "runs_differ",
        /// The estimate has not settled.
        NotSettled = "not_settled",

        // Light.
        /// Light from the lamps alone, without bounces.
        DirectLightOnly = "direct_light_only",

        // Range.
        /// The value lies below its range.
        TooLittle = "too_little",
        /// The value lies above its range.
        TooMuch = "too_much",
        /// The value misses its range by less than it is sure of.
        WithinDoubt = "within_doubt",
        /// The mean is right, but a phase of the pumps' programs is too fast.
        FastPhase = "fast_phase",
        /// The mean is right, but a long phase of the pumps' programs is too slow.
        SlowPhase = "slow_phase",
        /// The estimate is right, but a free jet would be too fast there.
        InJet = "in_jet",

        // How a coral is held.
        /// Fleshy, and would tear on rock.
        FleshyOnRock = "fleshy_on_rock",
        /// On rock, but belongs on sand.
        BelongsOnSand = "belongs_on_sand",
        /// Fleshy, and may rub on rough rock.
        FleshyRubs = "fleshy_rubs",
        /// On sand, but belongs on rock.
        BelongsOnRock = "belongs_on_rock",
        /// Swells and stands close to rock.
        CloseToRock = "close_to_rock",
        /// Its rim is buried.
        RimBuried = "rim_buried",
        /// Nothing holds it under an overhang.
        NothingHoldsIt = "nothing_holds_it",
        /// Glued, but moves, holds on by itself, or tears.
        NeverGlued = "never_glued",
        /// Steeper than its mount holds on.
        TooSteep = "too_steep",
        /// Meant to hang, but the seat is not steep enough.
        HangsFromNothing = "hangs_from_nothing",
        /// It does not hang.
        DoesNotHang = "does_not_hang",
        /// There is no sand to set it into.
        NoSandThere = "no_sand_there",
        /// Its mount finds no hold in sand.
        NoHoldInSand = "no_hold_in_sand",
        /// Heavier than its mount holds.
        TooHeavy = "too_heavy",
        /// Not its usual mount.
        UnusualMount = "unusual_mount",
        /// It may topple or slide.
        MayTopple = "may_topple",
        /// It barely stands.
        BarelyStands = "barely_stands",

        // Standing.
        /// Nothing is under it.
        NothingUnder = "nothing_under",
        /// Its center lies outside its support.
        TipsOver = "tips_over",
        /// Its center lies near the edge of its support.
        StandsOnLittle = "stands_on_little",
        /// Much of it hangs out past its support.
        Overhangs = "overhangs",
        /// It rests on a point of bare glass.
        PointOnGlass = "point_on_glass",
        /// It stands on sand.
        StandsOnSand = "stands_on_sand",

        // Mistakes of a scene.
        /// Two rocks reach into each other.
        RocksOverlap = "rocks_overlap",
        /// Nothing is under it, and no pane or rock holds it.
        Floats = "floats",
        /// It reaches through a pane.
        ThroughPane = "through_pane",
        /// An opening is as large as its outline.
        OpeningTooLarge = "opening_too_large",
        /// Edges are rounded by more than half the width.
        RoundingTooLarge = "rounding_too_large",
        /// A coral lies outside the water.
        OutsideWater = "outside_water",
        /// A coral lies under the sand.
        UnderSand = "under_sand",
        /// A coral lies in rock.
        InsideRock = "inside_rock",
        /// A coral stands out of the water.
        OutOfWater = "out_of_water",
        /// A coral hangs off what it sits on.
        OffMount = "off_mount",
        /// Two corals are in one place.
        InOnePlace = "in_one_place",
        /// An outlet draws air.
        OutletOutOfWater = "outlet_out_of_water",
        /// Something is right before an outlet.
        OutletBlocked = "outlet_blocked",
        /// Something is right at an intake.
        IntakeBlocked = "intake_blocked",
        /// An intake without a guard near what wanders.
        IntakeUnguarded = "intake_unguarded",
        /// A pump takes turns with fewer than it counts.
        AlternatesAlone = "alternates_alone",
        /// Its programme comes near the period of a standing wave along the tank.
        DrivesWaveAlong = "drives_wave_along",
        /// The same from front to back.
        DrivesWaveAcross = "drives_wave_across",
        /// A lamp's figures stand for an output that no lamp has.
        LampAbsurd = "lamp_absurd",
        /// A lamp's measured file is not there or does not read.
        LampFileMissing = "lamp_file_missing",

        // Lamps.
        /// Reaches under water.
        UnderWater = "under_water",
        /// Hangs beside the tank's opening.
        BesideTank = "beside_tank",
        /// Hangs in rock.
        InRock = "in_rock",
        /// The reading that fixes its output lies in the dark.
        ReadingDark = "reading_dark",

        // People.
        /// May hold a strong poison.
        Palytoxin = "palytoxin",
        /// Stings people.
        StingsPeople = "stings_people",

        // Animals.
        /// Digs in the sand.
        Digs = "digs",
        /// Pushes loose things about.
        Pushes = "pushes",
        /// Lives in corals and rubs them.
        Hosts = "hosts",
        /// Sits on corals.
        Perches = "perches",
        /// Needs a cave.
        NeedsCave = "needs_cave",
        /// Needs an open lane.
        NeedsLane = "needs_lane",

        // Growth.
        /// Edges touch.
        Touch = "touch",
        /// One spreads over the other.
        Overgrow = "overgrow",
        /// One takes the other's light.
        Shades = "shade",
        /// One's sting reaches the other.
        Sting = "sting",
        /// A mat leaves its moat.
        Spread = "spread",
        /// One stands in the other's flow.
        Block = "block",
    }
}
