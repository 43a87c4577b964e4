//! Room between neighbors: gaps, and how far stinging tentacles reach.

use glam::DVec3;

use crate::Certainty;
use crate::catalog::{Catalog, ContactRule, Entry};
use crate::fit::{Aspect, Fitter, FlowOver, Neighbor, Site, Strip, verdict_of};
use crate::growth::Cylinder;
use crate::scene::finding::{Figure, Note};

/// Reach that full lee-side flow adds, as a share of the reach in still water.
///
/// **Source** COMMON PRACTICE says "add reach on the lee side" and no figure;
/// half is our choice.
const LEE_SHARE: f64 = 0.5;

/// Speed from which tentacles stream out fully, in m/s. COMMON PRACTICE: at
/// 9 to 16 cm/s tentacles sway without folding.
const LEE_SPEED_M_S: f64 = 0.10;

/// How far an entry's tentacles reach in a direction, in m: its reach, and up
/// to half as much again where the water carries them.
pub fn reach_m(entry: &Entry, velocity_m_s: DVec3, towards: DVec3) -> f64 {
    let along = velocity_m_s.dot(towards.normalize_or_zero());
    let lee = (along / LEE_SPEED_M_S).clamp(0.0, 1.0);
    entry.reach_cm.value / 100.0 * (1.0 + LEE_SHARE * lee)
}

/// Clear gap that two entries need, in m: none if they may touch, else the
/// largest of both gaps and both reaches. `towards` points from `a` to `b`.
pub fn required_gap_m(
    catalog: &Catalog,
    a: &Entry,
    b: &Entry,
    velocity_m_s: DVec3,
    towards: DVec3,
) -> f64 {
    match catalog.contact_rule(a, b) {
        ContactRule::Fine => 0.0,
        _ => (a.gap_cm.value.max(b.gap_cm.value) / 100.0)
            .max(reach_m(a, velocity_m_s, towards))
            .max(reach_m(b, velocity_m_s, -towards)),
    }
}

/// How far the longer stinging of two entries reaches in still water, in m.
pub(crate) fn reach_between_m(a: &Entry, b: &Entry) -> f64 {
    a.reach_cm.value.max(b.reach_cm.value) / 100.0
}

/// The neighbor with the least room to spare, with its gap and what is needed.
pub(crate) struct Tightest<'a, 'b> {
    pub(crate) neighbor: &'b Neighbor<'a>,
    pub(crate) gap_m: f64,
    pub(crate) required_m: f64,
}

pub(crate) fn tightest<'a, 'b>(
    fitter: &'b Fitter<'a>,
    entry: &Entry,
    site: &Site,
) -> Option<Tightest<'a, 'b>> {
    const FAR_M: f64 = 0.6;
    let own = Cylinder::of(entry.form, site.at_m, site.normal, site.size_m);
    let others = fitter
        .neighbors
        .iter()
        .filter(|n| Some(n.coral.id) != site.own);
    let mut near: Vec<_> = others
        .map(|neighbor| (neighbor, own.gap_m(&neighbor.now)))
        .collect();
    if near.iter().any(|(_, gap_m)| *gap_m < FAR_M) {
        near.retain(|(_, gap_m)| *gap_m < FAR_M);
    } else {
        // Far from all: the nearest is told of.
        let nearest = near.into_iter().min_by(|a, b| a.1.total_cmp(&b.1));
        near = nearest.into_iter().collect();
    }
    let still = FlowOver {
        speed_m_s: 0.0,
        fluctuation_m_s: 0.0,
        velocity_m_s: DVec3::ZERO,
        phases_m_s: None,
        error: None,
    };
    let velocity = fitter.flow_over(site).unwrap_or(still).velocity_m_s;
    near.into_iter()
        .map(|(neighbor, gap_m)| {
            let towards = neighbor.now.middle_m - own.middle_m;
            let catalog = fitter.input.catalog;
            let required_m = required_gap_m(catalog, entry, neighbor.entry, velocity, towards);
            Tightest {
                neighbor,
                gap_m,
                required_m,
            }
        })
        .min_by(|a, b| (a.gap_m - a.required_m).total_cmp(&(b.gap_m - b.required_m)))
}

/// The strip for room: clear gap to the neighbor that is closest to needing
/// more, in cm.
pub(crate) fn room_strip(fitter: &Fitter<'_>, entry: &Entry, site: &Site) -> Strip {
    let tight = tightest(fitter, entry, site);
    let gap_cm = tight.as_ref().map(|tight| tight.gap_m * 100.0);
    let wanted_cm = tight
        .as_ref()
        .map_or(entry.gap_cm.value, |tight| tight.required_m * 100.0);
    let score = gap_cm.map_or(1.0, |gap_cm| room_score(gap_cm, wanted_cm));
    let is_tight = gap_cm.is_some_and(|gap_cm| wanted_cm > 0.0 && gap_cm < wanted_cm);
    Strip {
        what: Aspect::Room,
        value: gap_cm,
        low: wanted_cm,
        optimum: 2.0 * wanted_cm,
        high: f64::INFINITY,
        figure: Figure::Gap,
        certainty: if tight.is_some() {
            Certainty::Likely
        } else {
            Certainty::Sure
        },
        basis: entry.gap_cm.basis.line(),
        verdict: verdict_of(score),
        score,
        notes: if is_tight {
            vec![Note::TooLittle]
        } else {
            Vec::new()
        },
        others: Vec::new(),
        neighbor: tight.map(|tight| tight.neighbor.coral.id),
        mount: site.mount,
    }
}

/// 1 from twice the needed gap, 0.5 at it, falling to 0 at touch.
fn room_score(gap_cm: f64, required_cm: f64) -> f64 {
    if required_cm <= 0.0 {
        return 1.0;
    }
    (0.5 * gap_cm / required_cm).clamp(0.0, 1.0)
}
