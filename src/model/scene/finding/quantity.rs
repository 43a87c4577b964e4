//! The values of a finding, each with what it is and how sure.

use crate::units::{Measure, UnitSystem};

/// Gives each figure its stable name and what it measures.
macro_rules! figures {
    ($($(#[$doc:meta])* $variant:ident = $tag:literal, $measure:ident;)*) => {
        /// What a value is of. Stored in the metric unit of its measure.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Figure {
            $($(#[$doc])* $variant,)*
        }

        impl Figure {
            /// All of them, in their order.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)*];

            /// Its stable name, for scripts and tables.
            pub const fn tag(self) -> &'static str {
                match self {
                    $(Self::$variant => $tag,)*
                }
            }

            /// What it measures.
            pub const fn measure(self) -> Measure {
                match self {
                    $(Self::$variant => Measure::$measure,)*
                }
            }
        }
    };
}

figures! {
    /// Volume of the water that is told of.
    Volume = "volume", Volume;
    /// Mean speed of the water there.
    MeanSpeed = "mean_speed", Speed;
    /// Speed below which water counts as dead.
    DeadLimit = "dead_limit", Speed;
    /// Of places like this, the share of which it is true.
    Chance = "chance", Share;
    /// Thickness that a slice is taken to have.
    Thickness = "thickness", Length;
    /// How many runs were made.
    Runs = "runs", Count;
    /// Surface that is told of.
    Area = "area", Area;
    /// Share of the light that an open place has there.
    OpenShare = "open_share", Share;
    /// Light (PPFD).
    Light = "light", Ppfd;
    /// Least light that will do.
    LightLow = "light_low", Ppfd;
    /// Most light that will do.
    LightHigh = "light_high", Ppfd;
    /// Light of a day.
    Dose = "dose", Dose;
    /// Speed of the water over it.
    Flow = "flow", Speed;
    /// Least speed that will do.
    FlowLow = "flow_low", Speed;
    /// Most speed that will do.
    FlowHigh = "flow_high", Speed;
    /// By how much the speed varies.
    Fluctuation = "fluctuation", Speed;
    /// Mean speed in the slowest phase of the pumps' programs.
    SlowestPhase = "slowest_phase", Speed;
    /// Mean speed in the fastest phase of the pumps' programs.
    FastestPhase = "fastest_phase", Speed;
    /// Speed that a free jet would have there.
    JetSpeed = "jet_speed", Speed;
    /// Highest speed over the bed.
    FastestSpeed = "fastest_speed", Speed;
    /// Height above the bed at which that is.
    AboveBed = "above_bed", Length;
    /// Size of the sand's grains.
    Grain = "grain", Grain;
    /// Clear distance.
    Gap = "gap", Length;
    /// Clear distance that is wanted.
    GapWanted = "gap_wanted", Length;
    /// Mass of a coral.
    Mass = "mass", SmallMass;
    /// Mass that its mount holds.
    MassHeld = "mass_held", SmallMass;
    /// Slope of a seat, from level.
    Slope = "slope", Angle;
    /// Steepest slope on which its mount holds.
    SlopeHeld = "slope_held", Angle;
    /// What keeps a coral over what tips it.
    Stability = "stability", Plain;
    /// The least of that.
    StabilityWanted = "stability_wanted", Plain;
    /// Distance of a center from the edge of its support; negative outside.
    Margin = "margin", Length;
    /// The least of that.
    MarginWanted = "margin_wanted", Length;
    /// Share that hangs out past the support.
    Overhang = "overhang", Share;
    /// Width of the widest cave.
    Cave = "cave", Length;
    /// Width of the cave that is wanted.
    CaveWanted = "cave_wanted", Length;
    /// Length of the longest open lane.
    Lane = "lane", Length;
    /// Length of the lane that is wanted.
    LaneWanted = "lane_wanted", Length;
    /// When it happens, in months from now.
    Months = "months", Months;
    /// How many corals.
    Corals = "corals", Count;
    /// How many corals lie in their range.
    InRange = "in_range", Count;
    /// How many pumps.
    Pumps = "pumps", Count;
    /// How many pumps a set counts.
    PumpsWanted = "pumps_wanted", Count;
    /// Period of a pump's programme.
    Period = "period", Seconds;
    /// Period of a standing wave.
    WavePeriod = "wave_period", Seconds;
    /// Photon flux of a lamp.
    Photons = "photons", Photons;
    /// Setting of a lamp or pump, as a share of what it is set to now.
    Setting = "setting", Share;
}

/// One value: what it is of, how much, and where it lies in four of five cases.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity {
    /// What it is of.
    pub figure: Figure,
    /// The value, in the metric unit of its measure.
    pub value: f64,
    /// Lower and upper end of its 80 % interval, if that is known.
    pub interval: Option<[f64; 2]>,
}

impl Quantity {
    /// A value without an interval.
    pub fn new(figure: Figure, value: f64) -> Self {
        Self {
            figure,
            value,
            interval: None,
        }
    }

    /// A value within an interval.
    pub fn within(figure: Figure, value: f64, low: f64, high: f64) -> Self {
        Self {
            figure,
            value,
            interval: Some([low, high]),
        }
    }

    /// Name of the unit that the value is stored in.
    pub fn unit(&self) -> &'static str {
        match self.figure.measure() {
            // Stored as a share of one.
            Measure::Share => "1",
            measure => measure.shown(UnitSystem::Metric).unit,
        }
    }
}
