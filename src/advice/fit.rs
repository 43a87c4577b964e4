//! Whether a coral fits a place: one strip for each thing that matters, and a
//! verdict that is never better than the weakest of them.

use glam::DVec3;

use crate::body::Body;
use crate::catalog::{Entry, Range};
use crate::flow::felt::{self, SpeedError};
use crate::flow::{Estimate, OverPhases};
use crate::geometry::Rockwork;
use crate::growth::{Cylinder, Pace, cylinder};
use crate::jets::{Jet, jets};
use crate::light::{SurfaceOwner, dli_mol, full_light_hours};
use crate::scene::finding::{Figure, Note, Quantity};
use crate::scene::{Behavior, Coral, ItemId, Mount, Support};
use crate::units::M_PER_CM;
use crate::{AdviceInput, Certainty, room, seat};

/// How well something fits; later is better.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// It will not live or hold here.
    Bad,
    /// Well outside its range.
    Poor,
    /// At or just outside the edge of its range.
    Fair,
    /// Within its range.
    Good,
    /// Not known, because a field is not solved; never counted as a fault.
    Unknown,
}

/// What a strip is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Aspect {
    /// Light on it.
    Light,
    /// Flow over it.
    Flow,
    /// Distance to its neighbors.
    Room,
    /// How it is held, and on what.
    Mount,
    /// Whether it stays where it is.
    Stability,
}

impl Aspect {
    /// Its stable name, for scripts and tables.
    pub const fn tag(self) -> &'static str {
        match self {
            Self::Light => "light",
            Self::Flow => "flow",
            Self::Room => "room",
            Self::Mount => "mount",
            Self::Stability => "stability",
        }
    }
}

impl Verdict {
    /// Its stable name, for scripts and tables.
    pub const fn tag(self) -> &'static str {
        match self {
            Self::Bad => "bad",
            Self::Poor => "poor",
            Self::Fair => "fair",
            Self::Good => "good",
            Self::Unknown => "unknown",
        }
    }
}

/// One value against its range.
#[derive(Clone, Debug, PartialEq)]
pub struct Strip {
    /// What it is about.
    pub what: Aspect,
    /// The value, in `unit`; none if it is not known.
    pub value: Option<f64>,
    /// Least that will do.
    pub low: f64,
    /// Best.
    pub optimum: f64,
    /// Most that will do; infinite if there is no such limit.
    pub high: f64,
    /// What the values are of; they are in the metric unit of its measure.
    pub figure: Figure,
    /// How sure the value is.
    pub certainty: Certainty,
    /// Where the range comes from.
    pub basis: String,
    /// How well it fits.
    pub verdict: Verdict,
    /// The same from 0 to 1: 1 at the optimum, 0.5 at the edges of the range.
    pub score: f64,
    /// What is true of it; the first one is its gravest fault.
    pub notes: Vec<Note>,
    /// Other values that belong to it.
    pub others: Vec<Quantity>,
    /// The neighbor that it is about.
    pub neighbor: Option<ItemId>,
    /// How the coral is held.
    pub mount: Mount,
}

impl Strip {
    /// Its value, its range and what else belongs to it.
    pub fn quantities(&self) -> Vec<Quantity> {
        let ends = match self.what {
            Aspect::Light => [Some(Figure::LightLow), Some(Figure::LightHigh)],
            Aspect::Flow => [Some(Figure::FlowLow), Some(Figure::FlowHigh)],
            Aspect::Room => [Some(Figure::GapWanted), None],
            Aspect::Mount => [None, Some(Figure::MassHeld)],
            Aspect::Stability => [Some(Figure::StabilityWanted), None],
        };
        let value = self.value.map(|value| Quantity::new(self.figure, value));
        let limits = ends.into_iter().zip([self.low, self.high]);
        let limits = limits.filter_map(|(figure, limit)| {
            let figure = figure.filter(|_| limit.is_finite())?;
            Some(Quantity::new(figure, limit))
        });
        let others = self.others.iter().copied();
        value.into_iter().chain(limits).chain(others).collect()
    }
}

/// How well a coral fits a place.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// One strip for each aspect, in fixed order.
    pub strips: Vec<Strip>,
    /// The weakest of them.
    pub verdict: Verdict,
    /// Lowest score of the known strips, 0 to 1; for ranking.
    pub score: f64,
}

/// A place for a coral and how it would sit there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Site {
    /// Middle of its base, in m.
    pub at_m: DVec3,
    /// Outward normal of the surface.
    pub normal: DVec3,
    /// What it sits on.
    pub on: SurfaceOwner,
    /// Its size (across x, across y, height), in m.
    pub size_m: DVec3,
    /// How it is held.
    pub mount: Mount,
    /// The coral itself, if it is in the layout already.
    pub own: Option<ItemId>,
}

impl Site {
    /// Where a coral of the layout sits.
    pub fn of_coral(input: &AdviceInput<'_>, coral: &Coral) -> Self {
        let rock_idx = |id| input.layout.rocks.iter().position(|rock| rock.id == id);
        let on = match coral.on {
            Support::Rock(id) => rock_idx(id).map_or(SurfaceOwner::Sand, SurfaceOwner::Rock),
            Support::Sand => SurfaceOwner::Sand,
        };
        Self {
            at_m: coral.at_cm * M_PER_CM,
            normal: coral.facing.normalize_or(DVec3::Z),
            on,
            size_m: coral.size_cm * M_PER_CM,
            mount: coral.mount,
            own: Some(coral.id),
        }
    }
}

/// How well an entry of the catalog fits a site. Light and flow strips are
/// unknown where their field is missing.
pub fn fit_at(input: &AdviceInput<'_>, entry: &Entry, site: &Site) -> Fit {
    Fitter::new(input).fit(entry, site, None)
}

/// How well a coral of the layout fits its place; `None` if the catalog does
/// not know it.
pub fn fit(input: &AdviceInput<'_>, coral: &Coral) -> Option<Fit> {
    let entry = input.catalog.entry(&coral.entry)?;
    Some(fit_at(input, entry, &Site::of_coral(input, coral)))
}

/// A neighbor of a site.
pub(crate) struct Neighbor<'a> {
    pub(crate) coral: &'a Coral,
    pub(crate) entry: &'a Entry,
    pub(crate) now: Cylinder,
}

/// What is worked out once and used for many sites.
pub(crate) struct Fitter<'a> {
    pub(crate) input: &'a AdviceInput<'a>,
    pub(crate) rockwork: &'a Rockwork,
    pub(crate) neighbors: Vec<Neighbor<'a>>,
    pub(crate) jets: Vec<Jet>,
    pub(crate) nudge_n: f64,
}

impl<'a> Fitter<'a> {
    pub(crate) fn new(input: &'a AdviceInput<'a>) -> Self {
        let neighbors = input.layout.corals.iter().filter_map(|coral| {
            let entry = input.catalog.entry(&coral.entry)?;
            let now = cylinder(coral, entry, 0.0, Pace::Usual);
            Some(Neighbor { coral, entry, now })
        });
        // Of equals the one with the lowest id counts, wherever it is listed.
        let mut neighbors: Vec<_> = neighbors.collect();
        neighbors.sort_by_key(|neighbor| neighbor.coral.id);
        // A fish that pushes is taken to push three times as hard as a snail.
        let pushes = input.scene.animals.iter().any(|animal| {
            let rough = |does: &Behavior| matches!(does, Behavior::Pushes | Behavior::Hosts);
            animal.does.iter().any(rough)
        });
        Self {
            input,
            rockwork: input.study.rockwork(),
            neighbors,
            jets: jets(input.scene, input.layout),
            nudge_n: input.options.nudge_n * if pushes { 3.0 } else { 1.0 },
        }
    }

    /// The fit; `ppfd_umol` is the light on the site if it is known already.
    pub(crate) fn fit(&self, entry: &Entry, site: &Site, ppfd_umol: Option<f64>) -> Fit {
        let flow = self.flow_over(site);
        let body = Body::of(entry, site.size_m);
        let mut strips = vec![
            self.light_strip(entry, site, ppfd_umol),
            self.flow_strip(entry, site, flow),
            room::room_strip(self, entry, site),
            seat::mount_strip(self, entry, site, &body),
        ];
        strips.extend(seat::stability_strip(self, entry, site, flow));
        weakest(strips)
    }

    pub(crate) fn light_strip(&self, entry: &Entry, site: &Site, known_umol: Option<f64>) -> Strip {
        let value = known_umol.or_else(|| self.light_on(site));
        let full = self.input.light.is_some_and(|light| light.full);
        let certainty = if full || self.input.light_at.is_some() {
            Certainty::Likely
        } else {
            Certainty::Check
        };
        let range = (Figure::Light, &entry.light_ppfd_umol);
        let mut strip = strip_from_range((Aspect::Light, site), value, range, certainty);
        let day = self.input.layout.lamps.iter().map(|lamp| &lamp.day);
        let longest = day.max_by(|a, b| full_light_hours(a).total_cmp(&full_light_hours(b)));
        if let (Some(value), Some(day)) = (value, longest) {
            let dose = Quantity::new(Figure::Dose, dli_mol(value, day));
            strip.others.push(dose);
        }
        strip
    }

    /// PPFD on a site: right above a coral that stands there, else from the
    /// nearest patch that faces the same way.
    pub(crate) fn light_on(&self, site: &Site) -> Option<f64> {
        const ABOVE_M: f64 = 0.005;
        if let Some(light_at) = self.input.light_at {
            let top_m = site.at_m + site.normal * (site.size_m.z + ABOVE_M);
            return Some(light_at(top_m, site.normal).facing_umol);
        }
        let light = self.input.light?;
        let reach_m = 2.5 * light.patch_m.max(0.01);
        light
            .patches
            .iter()
            .filter(|patch| patch.normal.dot(site.normal) > 0.5)
            .map(|patch| (patch.at_m.distance(site.at_m), patch.ppfd_umol))
            .filter(|(distance, _)| *distance < reach_m)
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, ppfd_umol)| ppfd_umol)
    }

    /// Mean speed and fluctuation 1, 2 and 3 cm above a coral, in m/s, and the
    /// mean velocity.
    pub(crate) fn flow_over(&self, site: &Site) -> Option<FlowOver> {
        const ABOVE_M: [f64; 3] = [0.01, 0.02, 0.03];
        let field = self.input.flow?;
        let places: Vec<DVec3> = ABOVE_M
            .iter()
            .map(|above| site.at_m + site.normal * (site.size_m.z + above))
            .filter(|at_m| !self.rockwork.contains(*at_m))
            .collect();
        let samples: Vec<_> = (places.iter())
            .filter_map(|at_m| field.sample(*at_m))
            .collect();
        let n = samples.len() as f64;
        let phases: Vec<_> = (places.iter())
            .filter_map(|at_m| field.over_phases(*at_m))
            .collect();
        // The middle one speaks for all three.
        let errors: Vec<_> = (places.iter())
            .filter_map(|at_m| field.speed_error(*at_m))
            .collect();
        let mean_of = |of: fn(&OverPhases) -> f64| phases.iter().map(of).sum::<f64>() / n;
        let phases_m_s = (!phases.is_empty()).then(|| {
            [
                mean_of(|over| over.worst_m_s),
                mean_of(|over| over.peak_m_s),
            ]
        });
        (n > 0.0).then(|| FlowOver {
            speed_m_s: samples.iter().map(|s| s.speed_m_s).sum::<f64>() / n,
            fluctuation_m_s: samples.iter().map(|s| s.fluctuation_m_s).sum::<f64>() / n,
            velocity_m_s: samples.iter().map(|s| s.velocity_m_s).sum::<DVec3>() / n,
            phases_m_s,
            error: errors.get(errors.len() / 2).copied(),
        })
    }

    pub(crate) fn flow_strip(&self, entry: &Entry, site: &Site, over: Option<FlowOver>) -> Strip {
        let settled_tank = self
            .input
            .flow
            .is_some_and(|field| field.estimate == Estimate::Tank && field.settling.settled);
        let chance = over.and_then(|over| over.chance_of_its_side(&entry.flow_cm_s));
        let certainty = if settled_tank && chance.is_none_or(|chance| chance >= felt::LIKELY) {
            Certainty::Likely
        } else {
            Certainty::Check
        };
        let speed_cm_s = over.map(|over| over.speed_m_s / M_PER_CM);
        let range = (Figure::Flow, &entry.flow_cm_s);
        let mut strip = strip_from_range((Aspect::Flow, site), speed_cm_s, range, certainty);
        if let Some(over) = over {
            let gusts_cm_s = over.fluctuation_m_s / M_PER_CM;
            let gusts = Quantity::new(Figure::Fluctuation, gusts_cm_s);
            strip.others.push(gusts);
            self.mind_moments(&mut strip, site, &over);
        }
        strip
    }
}

/// The water just above a site.
#[derive(Clone, Copy, Debug)]
pub(crate) struct FlowOver {
    pub(crate) speed_m_s: f64,
    pub(crate) fluctuation_m_s: f64,
    pub(crate) velocity_m_s: DVec3,
    /// Slowest and fastest phase of the pumps' programs, where any change.
    pub(crate) phases_m_s: Option<[f64; 2]>,
    /// How far these speeds may be off, where that is known.
    pub(crate) error: Option<SpeedError>,
}

impl FlowOver {
    /// Chance that the water is on that side of a range, or within it, where the
    /// estimate has it.
    fn chance_of_its_side(&self, range: &Range) -> Option<f64> {
        let error = self.error?;
        let [low_m_s, high_m_s] = [range.low, range.high].map(|end| end * M_PER_CM);
        let below = |limit_m_s: f64| error.chance_below(self.speed_m_s, limit_m_s);
        Some(if self.speed_m_s < low_m_s {
            below(low_m_s)
        } else if self.speed_m_s > high_m_s {
            1.0 - below(high_m_s)
        } else {
            below(high_m_s) - below(low_m_s)
        })
    }
}

/// The verdict that a score stands for.
///
/// From 0.5 the value lies in its range; down to 0.35 it misses it by at most
/// a fifth (low) or an eighth (high), which is less than either the range or
/// the estimate is sure of.
pub(crate) fn verdict_of(score: f64) -> Verdict {
    match score {
        s if s >= 0.5 => Verdict::Good,
        s if s >= 0.35 => Verdict::Fair,
        s if s > 0.0 => Verdict::Poor,
        _ => Verdict::Bad,
    }
}

/// 1 at the optimum, 0.5 at the edges of the range, 0 at half the low or one
/// and a half times the high; in between by ratio, as light and flow are felt.
pub fn range_score(value: f64, low: f64, optimum: f64, high: f64) -> f64 {
    let share = |from: f64, to: f64| {
        if to > from {
            ((value - from) / (to - from)).clamp(0.0, 1.0)
        } else {
            1.0
        }
    };
    if value < low {
        (0.5 * (1.0 - (low / value.max(0.0)).log2())).max(0.0)
    } else if value <= optimum {
        0.5 + 0.5 * share(low, optimum)
    } else if value <= high {
        1.0 - 0.5 * share(optimum, high)
    } else {
        (0.5 * (1.0 - (value / high).ln() / 1.5_f64.ln())).max(0.0)
    }
}

fn strip_from_range(
    (what, site): (Aspect, &Site),
    value: Option<f64>,
    (figure, range): (Figure, &Range),
    certainty: Certainty,
) -> Strip {
    let (low, optimum, high) = (range.low, range.optimum, range.high);
    let score = value.map_or(1.0, |value| range_score(value, low, optimum, high));
    let verdict = value.map_or(Verdict::Unknown, |_| verdict_of(score));
    let mut notes = match value {
        Some(value) if value < low => vec![Note::TooLittle],
        Some(value) if value > high => vec![Note::TooMuch],
        _ => Vec::new(),
    };
    if !notes.is_empty() && verdict == Verdict::Fair {
        notes.push(Note::WithinDoubt);
    }
    Strip {
        what,
        value,
        low,
        optimum,
        high,
        figure,
        certainty,
        basis: range.basis.line(),
        verdict,
        score,
        notes,
        others: Vec::new(),
        neighbor: None,
        mount: site.mount,
    }
}

/// The verdict is the weakest strip.
fn weakest(strips: Vec<Strip>) -> Fit {
    let verdict = strips
        .iter()
        .map(|strip| strip.verdict)
        .min()
        .unwrap_or(Verdict::Unknown);
    let score = strips.iter().map(|strip| strip.score).fold(1.0, f64::min);
    Fit {
        strips,
        verdict,
        score,
    }
}
