//! Room between neighbors: gaps, and how far stinging tentacles reach.

use glam::DVec3;

use crate::Certainty;
use crate::catalog::{Catalog, ContactRule, Entry};
use crate::fit::{Aspect, Fitter, FlowOver, Neighbor, Site, Strip, Verdict, verdict_of};
use crate::growth::{Cylinder, coral_name};

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
    let near: Vec<_> = others
        .map(|neighbor| (neighbor, own.gap_m(&neighbor.now)))
        .filter(|(_, gap_m)| *gap_m < FAR_M)
        .collect();
    if near.is_empty() {
        return None;
    }
    let still = FlowOver {
        speed_m_s: 0.0,
        fluctuation_m_s: 0.0,
        velocity_m_s: DVec3::ZERO,
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
    let basis = entry.gap_cm.basis.line();
    let Some(tight) = tightest(fitter, entry, site) else {
        return Strip {
            what: Aspect::Room,
            value: None,
            low: entry.gap_cm.value,
            optimum: 2.0 * entry.gap_cm.value,
            high: f64::INFINITY,
            unit: "cm",
            certainty: Certainty::Sure,
            basis,
            verdict: Verdict::Good,
            score: 1.0,
            text: "No neighbor is near.".to_owned(),
            remedy: String::new(),
        };
    };
    let (gap_cm, required_cm) = (tight.gap_m * 100.0, tight.required_m * 100.0);
    let name = coral_name(tight.neighbor.coral, tight.neighbor.entry);
    let score = room_score(gap_cm, required_cm);
    let verdict = verdict_of(score);
    let (text, remedy) = if required_cm <= 0.0 {
        (format!("It may touch the {name}."), String::new())
    } else if gap_cm >= required_cm {
        (
            format!("{gap_cm:.0} cm to the {name}, {required_cm:.0} needed (common practice)."),
            String::new(),
        )
    } else {
        (
            format!(
                "Only {:.0} cm to the {name}, {required_cm:.0} needed (common practice).",
                gap_cm.max(0.0)
            ),
            format!("Move it {:.0} cm away.", required_cm - gap_cm),
        )
    };
    Strip {
        what: Aspect::Room,
        value: Some(gap_cm),
        low: required_cm,
        optimum: 2.0 * required_cm,
        high: f64::INFINITY,
        unit: "cm",
        certainty: Certainty::Likely,
        basis,
        verdict,
        score,
        text,
        remedy,
    }
}

/// 1 from twice the needed gap, 0.5 at it, falling to 0 at touch.
fn room_score(gap_cm: f64, required_cm: f64) -> f64 {
    if required_cm <= 0.0 {
        return 1.0;
    }
    (0.5 * gap_cm / required_cm).clamp(0.0, 1.0)
}
