//! How corals grow, and when they meet.

use glam::DVec3;

use crate::catalog::{Catalog, ContactRule, Entry, Form};
use crate::creep::Ways;
use crate::scene::{Coral, ItemId, Layout};
use crate::study::Study;
use crate::units::M_PER_CM;

/// How fast growth is taken to be within its published or assumed spread.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pace {
    /// Lowest rate.
    Slow,
    /// The rate of the table.
    Usual,
    /// Highest rate.
    Fast,
}

/// When something happens, in months from now, by pace of growth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Months {
    /// At the fastest growth.
    pub early: f64,
    /// At the usual growth; `None` if not within the time looked at.
    pub usual: Option<f64>,
    /// At the slowest growth; `None` if not within the time looked at.
    pub late: Option<f64>,
}

/// What growth brings about between two corals.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Meeting {
    /// Their edges touch.
    Touch,
    /// The first one spreads over the second.
    Overgrow,
    /// The first one takes light from the second.
    Shade,
    /// The stinging reach of the first one gets to the second.
    Sting,
    /// The first one, a mat, comes nearer than its moat to the second, a coral
    /// or a rock that is not its own.
    Spread,
    /// The first one stands in the water that flows to the second.
    Block,
}

impl Meeting {
    /// A short stable name, for lists and scripts.
    pub fn word(self) -> &'static str {
        match self {
            Self::Touch => "touch",
            Self::Overgrow => "overgrow",
            Self::Shade => "shade",
            Self::Sting => "sting",
            Self::Spread => "spread",
            Self::Block => "block",
        }
    }
}

/// One dated meeting.
#[derive(Clone, Debug, PartialEq)]
pub struct GrowthEvent {
    /// What happens.
    pub what: Meeting,
    /// The coral that does it.
    pub by: ItemId,
    /// The coral that it is done to.
    pub to: ItemId,
    /// When.
    pub months: Months,
    /// Where, in m: at the coral that does it.
    pub at_m: DVec3,
}

/// Size of a coral after some months (across x, across y, height; in cm): its
/// edge moves outwards at the entry's rate until it is as wide as the entry
/// grows in a tank; its top rises by the form's share of that.
pub fn size_after_cm(entry: &Entry, size_cm: DVec3, months: f64, pace: Pace) -> DVec3 {
    let rate = match pace {
        Pace::Slow => entry.growth_cm_yr.low,
        Pace::Usual => entry.growth_cm_yr.optimum,
        Pace::Fast => entry.growth_cm_yr.high,
    };
    let width = size_cm.x.max(size_cm.y);
    let room_cm = (entry.spread_cm.value - width).max(0.0) / 2.0;
    let edge_cm = (rate * months.max(0.0) / 12.0).min(room_cm);
    size_cm
        + DVec3::new(
            2.0 * edge_cm,
            2.0 * edge_cm,
            edge_cm * entry.form.rise_share(),
        )
}

/// The layout with every coral that the catalog knows grown by some months.
pub fn grown(layout: &Layout, catalog: &Catalog, months: f64, pace: Pace) -> Layout {
    let mut later = layout.clone();
    for coral in &mut later.corals {
        if let Some(entry) = catalog.entry(&coral.entry) {
            coral.size_cm = size_after_cm(entry, coral.size_cm, months, pace);
        }
    }
    later
}

/// A coral as an upright cylinder: good enough for gaps.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Cylinder {
    pub(crate) middle_m: DVec3,
    pub(crate) radius_m: f64,
    pub(crate) low_m: f64,
    pub(crate) high_m: f64,
}

impl Cylinder {
    /// The cylinder of a coral that stands on `at_m` along `normal`. Only the
    /// crown of tables, plates and stems spreads sideways.
    pub(crate) fn of(form: Form, at_m: DVec3, normal: DVec3, size_m: DVec3) -> Self {
        let crown = match form {
            Form::Table => 0.2,
            Form::Plating => 0.4,
            Form::Tree => 0.6,
            _ => 1.0,
        };
        let normal = normal.normalize_or(DVec3::Z);
        let upright = normal.z.abs();
        let lying = (1.0 - upright * upright).max(0.0).sqrt();
        let radius = size_m.x.max(size_m.y) / 2.0;
        let half_m = size_m.z / 2.0;
        let middle_m = at_m + normal * half_m;
        let reach_z = half_m * upright + radius * lying;
        let high_m = middle_m.z + reach_z;
        Self {
            middle_m,
            radius_m: radius * upright + half_m * lying,
            low_m: high_m - 2.0 * reach_z * crown,
            high_m,
        }
    }

    /// Clear distance to another, negative where they overlap.
    pub(crate) fn gap_m(&self, other: &Self) -> f64 {
        let sideways = self.middle_m.truncate().distance(other.middle_m.truncate())
            - self.radius_m
            - other.radius_m;
        let upwards = (self.low_m - other.high_m).max(other.low_m - self.high_m);
        if upwards <= 0.0 {
            sideways
        } else {
            upwards.hypot(sideways.max(0.0))
        }
    }

    /// Whether its crown stands over the middle of another.
    pub(crate) fn covers(&self, other: &Self) -> bool {
        self.low_m >= other.high_m
            && self.middle_m.truncate().distance(other.middle_m.truncate()) < self.radius_m
    }
}

pub(crate) fn cylinder(coral: &Coral, entry: &Entry, months: f64, pace: Pace) -> Cylinder {
    let size_cm = size_after_cm(entry, coral.size_cm, months, pace);
    Cylinder::of(
        entry.form,
        coral.at_cm * M_PER_CM,
        coral.facing,
        size_cm * M_PER_CM,
    )
}

/// Everything that growth brings about within `months`, earliest first.
///
/// Mats and crusts come to others on their rock along its surface. All other
/// distances are straight lines, so that those months err towards early.
pub fn growth_events(study: &Study, months: f64) -> Vec<GrowthEvent> {
    let corals = study.layout().corals.iter();
    let known: Vec<(&Coral, &Entry)> = corals
        .filter_map(|coral| Some((coral, study.entry_of(coral)?)))
        .collect();
    let ways = Ways::new(study.rocks(), &known);
    shape_events(&known, study.catalog(), &ways, months)
}

/// Who touches, overgrows or shades whom, by their shapes.
pub(crate) fn shape_events(
    known: &[(&Coral, &Entry)],
    catalog: &Catalog,
    ways: &Ways,
    months: f64,
) -> Vec<GrowthEvent> {
    let mut events = Vec::new();
    for (i, &a) in known.iter().enumerate() {
        for &b in &known[i + 1..] {
            let touch = |month, pace| gap_m(a, b, ways, (month, pace)) <= 0.0;
            if let Some(when) = first_months(months, touch) {
                events.push(meeting_event(catalog, a, b, when));
            }
            for (over, under) in [(a, b), (b, a)] {
                if let Some(when) = months_until(over, under, months, Cylinder::covers) {
                    events.push(event(Meeting::Shade, over, under, when));
                }
            }
        }
    }
    events.sort_by(|a, b| a.months.early.total_cmp(&b.months.early));
    events
}

/// Clear distance between two corals after some months, in m, negative where
/// they overlap: along the rock where one of them creeps over it.
pub(crate) fn gap_m(
    a: (&Coral, &Entry),
    b: (&Coral, &Entry),
    ways: &Ways,
    (month, pace): (f64, Pace),
) -> f64 {
    let edge_m = |(coral, entry): (&Coral, &Entry)| {
        let size_cm = size_after_cm(entry, coral.size_cm, month, pace);
        size_cm.x.max(size_cm.y) / 2.0 * M_PER_CM
    };
    match ways.along_m(a.0.id, b.0.id) {
        Some(along_m) => along_m - edge_m(a) - edge_m(b),
        None => cylinder(a.0, a.1, month, pace).gap_m(&cylinder(b.0, b.1, month, pace)),
    }
}

/// First month in which `met` holds at each pace; none if it holds already or
/// not even the fastest growth brings it about.
fn months_until(
    a: (&Coral, &Entry),
    b: (&Coral, &Entry),
    months: f64,
    met: impl Fn(&Cylinder, &Cylinder) -> bool,
) -> Option<Months> {
    first_months(months, |month, pace| {
        met(
            &cylinder(a.0, a.1, month, pace),
            &cylinder(b.0, b.1, month, pace),
        )
    })
}

/// First month in which `holds` at each pace; none if it holds today or not
/// even at the fastest growth. What holds for less than a month may be missed.
pub(crate) fn first_months(months: f64, holds: impl Fn(f64, Pace) -> bool) -> Option<Months> {
    if holds(0.0, Pace::Usual) {
        return None;
    }
    let first = |pace| {
        const STEP: f64 = 1.0;
        const HALVINGS: usize = 40;
        let n_steps = (months / STEP).ceil() as usize;
        let after = (1..=n_steps)
            .map(|k| (k as f64 * STEP).min(months))
            .find(|month| holds(*month, pace))?;
        let (mut before, mut after) = ((after - STEP).max(0.0), after);
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(before, after);
            if holds(middle, pace) {
                after = middle;
            } else {
                before = middle;
            }
        }
        Some(after)
    };
    Some(Months {
        early: first(Pace::Fast)?,
        usual: first(Pace::Usual),
        late: first(Pace::Slow),
    })
}

fn meeting_event(
    catalog: &Catalog,
    a: (&Coral, &Entry),
    b: (&Coral, &Entry),
    when: Months,
) -> GrowthEvent {
    let rule = catalog.contact_rule(a.1, b.1);
    let (what, by, to) = match (a.1.form.creeps(), b.1.form.creeps()) {
        (true, false) if rule >= ContactRule::Watch => (Meeting::Overgrow, a, b),
        (false, true) if rule >= ContactRule::Watch => (Meeting::Overgrow, b, a),
        _ => (Meeting::Touch, a, b),
    };
    event(what, by, to, when)
}

pub(crate) fn event(
    what: Meeting,
    by: (&Coral, &Entry),
    to: (&Coral, &Entry),
    months: Months,
) -> GrowthEvent {
    GrowthEvent {
        what,
        by: by.0.id,
        to: to.0.id,
        months,
        at_m: by.0.at_cm * M_PER_CM,
    }
}

/// What the keeper calls a coral, or else the trade's word for it.
pub(crate) fn coral_name(coral: &Coral, entry: &Entry) -> String {
    if coral.name.is_empty() {
        entry.plain_name.clone()
    } else {
        coral.name.clone()
    }
}
