//! How much a kind of tank is stirred, as keepers do, and the pump that fits.

use crate::PumpSize;
use crate::catalog::Kind;
use crate::study::Study;
use crate::units::flow_m3_s_from_lph;
use crate::water::water_card;

/// A kind of tank by what lives in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum TankKind {
    /// Soft corals, mushrooms, anemones and the like.
    Soft,
    /// Large-polyped stony corals, or a mixture.
    Mixed,
    /// Mostly small-polyped stony corals.
    SmallPolyped,
}

impl TankKind {
    /// A short stable name, for scripts.
    pub fn tag(self) -> &'static str {
        match self {
            Self::Soft => "soft",
            Self::Mixed => "mixed",
            Self::SmallPolyped => "small_polyped",
        }
    }

    /// In words, as in "a mixed tank".
    pub fn words(self) -> &'static str {
        match self {
            Self::Soft => "a tank of soft corals",
            Self::Mixed => "a mixed tank",
            Self::SmallPolyped => "a tank of small-polyped corals",
        }
    }

    /// What all pumps together turn over, in net volumes an hour.
    ///
    /// **Source** COMMON PRACTICE; turnover says little about speed.
    pub fn turnover_per_h(self) -> [f64; 2] {
        match self {
            Self::Soft => [5.0, 15.0],
            Self::Mixed => [15.0, 40.0],
            Self::SmallPolyped => [30.0, 80.0],
        }
    }
}

/// Which kind of tank a layout makes; mixed without corals.
pub fn tank_kind(study: &Study) -> TankKind {
    let corals = study.layout().corals.iter();
    let kinds: Vec<Kind> = corals
        .filter_map(|coral| Some(study.entry_of(coral)?.kind))
        .collect();
    let count = |of: &[Kind]| kinds.iter().filter(|kind| of.contains(kind)).count();
    let small = count(&[Kind::SmallPolyped, Kind::Hydrocoral, Kind::BlueCoral]);
    let stony = small + count(&[Kind::Between, Kind::LargePolyped, Kind::Clam]);
    if kinds.is_empty() || (stony > 0 && 2 * small <= kinds.len()) {
        TankKind::Mixed
    } else if stony > 0 {
        TankKind::SmallPolyped
    } else {
        TankKind::Soft
    }
}

/// Exit speed of propeller pumps, in m/s. COMMON PRACTICE: 0.3 to 0.55.
const EXIT_M_S: f64 = 0.5;

/// The size of one more pump that fits a tank: what its pumps lack to the
/// middle of the usual turnover, between 5 and 15 net volumes an hour, to the
/// next 250 L/h, its outlet as wide as propeller pumps have it.
pub fn fitting_pump(study: &Study) -> PumpSize {
    let card = water_card(study);
    let [low, high] = tank_kind(study).turnover_per_h();
    let lacking = f64::midpoint(low, high) - card.turnover_per_h;
    let wanted_lph = card.net_l * lacking.clamp(5.0, 15.0);
    let flow_lph = ((wanted_lph / 250.0).round() * 250.0).clamp(250.0, 20_000.0);
    PumpSize {
        flow_lph,
        outlet_cm: usual_outlet_cm(flow_lph),
    }
}

/// The outlet that a propeller pump of a flow has, to half a centimeter, in cm.
pub fn usual_outlet_cm(flow_lph: f64) -> f64 {
    let area_m2 = flow_m3_s_from_lph(flow_lph) / EXIT_M_S;
    let outlet_cm = (4.0 * area_m2 / std::f64::consts::PI).sqrt() * 100.0;
    ((outlet_cm * 2.0).round() / 2.0).clamp(1.5, 12.0)
}
