//! What every estimate keeps to.

/// Limits that the keeper may change.
#[derive(Clone, Debug, PartialEq)]
pub struct Limits {
    /// Mean speed below which water counts as dead, in m/s.
    ///
    /// **Source** COMMON PRACTICE 2 cm/s; Nakamura & Yamasaki 2005 saw growth
    /// suppressed and more deaths below 3 cm/s (PUBLISHED).
    pub dead_limit_m_s: f64,
    /// Dead spots smaller than this are left out, in L.
    pub dead_min_l: f64,
    /// How thick a slice is taken to be, in m.
    pub slice_thickness_m: f64,
    /// Share of open light below which a surface counts as shaded.
    pub shade_share: f64,
    /// Shaded zones smaller than this are left out, in m².
    pub shade_min_m2: f64,
    /// Areas of moving sand smaller than this are left out, in m².
    pub sand_min_m2: f64,
    /// How far ahead growth is looked at, in months.
    pub months: f64,
    /// Sideways push that a loose coral must stand (a snail, a fish), in N.
    pub nudge_n: f64,
    /// Distance that a grown coral keeps from panes, for a hand and a scraper,
    /// in m. COMMON PRACTICE: a scraper needs 3 cm.
    pub glass_clear_m: f64,
    /// How far an arm reaches from the rim, in m.
    ///
    /// **Source** shoulder to fingertip of adults, 65 to 80 cm. MEMORY.
    pub arm_reach_m: f64,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            dead_limit_m_s: 0.02,
            dead_min_l: 0.5,
            slice_thickness_m: 0.10,
            shade_share: 0.2,
            shade_min_m2: 0.005,
            sand_min_m2: 0.005,
            months: 24.0,
            nudge_n: 0.3,
            glass_clear_m: 0.03,
            arm_reach_m: 0.70,
        }
    }
}

/// Limits, cells and seed of every estimate of a study.
#[derive(Clone, Debug, PartialEq)]
pub struct StudySettings {
    /// Limits that the keeper may change.
    pub limits: Limits,
    /// Edge of the flow cells, in m; chosen by the tank if `None`.
    pub cell_m: Option<f64>,
    /// Seed of what is drawn by lot, such as the eddies in the water of each outlet.
    pub seed: u64,
    /// Whether a tank's water is computed on the graphics card, where there is
    /// one.
    pub on_card: bool,
}

impl Default for StudySettings {
    fn default() -> Self {
        Self {
            limits: Limits::default(),
            cell_m: None,
            seed: 1,
            on_card: false,
        }
    }
}
