//! What a plan asks of the keeper, and what to mind with it.

use bommie_advice::acclimation;

use super::Tally;
use crate::catalog::Catalog;
use crate::scene::{ItemId, Lamp, Layout, Programme, Pump, Scene};
use crate::units::{Measure, UnitSystem};
use bommie_words::Speaker;
use glam::DVec3;

/// One thing to do.
#[derive(Clone, Debug, PartialEq)]
pub struct Deed {
    /// What is to be done: `turn`, `throttle`, `hang`, `programme`, `dim`,
    /// `height`, `move`, `buy`.
    pub kind: &'static str,
    /// The item.
    pub id: ItemId,
    /// Its values before, in the order of the scene file; none for one that is
    /// bought.
    pub from: Vec<f64>,
    /// Its values after.
    pub to: Vec<f64>,
    /// What the item is called.
    pub name: String,
    /// For a pump that is bought: where it hangs, and its turn.
    hangs: Option<(DVec3, f64)>,
}

impl Deed {
    /// One sentence, in the speaker's units.
    pub fn text(&self, speaker: &Speaker<'_>) -> String {
        let name = &self.name;
        let place = |values: &[f64]| match values {
            [x, y, z] => speaker.at_short(DVec3::new(*x, *y, *z), 0),
            _ => String::new(),
        };
        let percents = || match (self.from.first(), self.to.first()) {
            (Some(from), Some(to)) => {
                format!(
                    "Set {name} to {:.0} % (now {:.0} %).",
                    100.0 * to,
                    100.0 * from
                )
            }
            _ => String::new(),
        };
        match self.kind {
            "turn" => format!("Turn {name} {}.", turn_words(&self.from, &self.to)),
            "throttle" | "dim" => percents(),
            "height" => {
                let lift_cm = self.to.iter().sum::<f64>() - self.from.iter().sum::<f64>();
                let way = if lift_cm > 0.0 { "Raise" } else { "Lower" };
                let by = speaker.value(Measure::Length, lift_cm.abs(), 0);
                format!("{way} {name} by {by}.")
            }
            "hang" => format!(
                "Hang {name} at {} instead of {}.",
                place(&self.to),
                place(&self.from)
            ),
            "programme" => match (self.to.first(), self.to.last()) {
                (Some(share), Some(period_s)) => format!(
                    "Let {name} run {:.0} s of each {period_s:.0} s, in turn with the other.",
                    share * period_s
                ),
                _ => String::new(),
            },
            "move" => format!(
                "Move {name} from {} to {}.",
                place(&self.from),
                place(&self.to)
            ),
            _ => {
                let flow_lph = self.to.first().copied().unwrap_or(0.0);
                let (at_cm, turn_deg) = self.hangs.unwrap_or_default();
                format!(
                    "Buy a pump of {} and hang it at {}, turned to {turn_deg:.0}°.",
                    speaker.value(Measure::Flow, flow_lph, 0),
                    speaker.at_short(at_cm, 0),
                )
            }
        }
    }
}

/// How a pump is turned from one aim (turn, tilt) to another.
fn turn_words(from: &[f64], to: &[f64]) -> String {
    let ([from_turn, from_tilt], [to_turn, to_tilt]) = (from, to) else {
        return String::new();
    };
    let by = (to_turn - from_turn + 180.0).rem_euclid(360.0) - 180.0;
    let tilt = to_tilt - from_tilt;
    let mut ways = Vec::new();
    if by.abs() > 0.5 {
        // Counter-clockwise seen from above.
        let way = if by > 0.0 {
            "counter-clockwise"
        } else {
            "clockwise"
        };
        ways.push(format!("by {:.0}° {way} seen from above", by.abs()));
    }
    if tilt.abs() > 0.5 {
        let way = if tilt > 0.0 { "up" } else { "down" };
        ways.push(format!("{:.0}° {way}", tilt.abs()));
    }
    ways.join(" and ")
}

/// What turns one layout into another; pumps bought come last.
pub fn deeds_between(from: &Layout, to: &Layout, buys: &[Pump]) -> Vec<Deed> {
    let mut deeds = Vec::new();
    for now in &to.pumps {
        if let Some(then) = from.pumps.iter().find(|pump| pump.id == now.id) {
            deeds.extend(pump_deeds(then, now));
        }
    }
    for now in &to.lamps {
        if let Some(then) = from.lamps.iter().find(|lamp| lamp.id == now.id) {
            deeds.extend(lamp_deeds(then, now));
        }
    }
    for now in &to.corals {
        let then = from.corals.iter().find(|coral| coral.id == now.id);
        if let Some(then) = then.filter(|then| then.at_cm != now.at_cm) {
            let (a, b) = (then.at_cm, now.at_cm);
            let name = named(&now.name, &now.entry.replace('_', " "), now.id);
            deeds.push(Deed {
                kind: "move",
                id: now.id,
                from: a.to_array().to_vec(),
                to: b.to_array().to_vec(),
                name,
                hangs: None,
            });
        }
    }
    for pump in buys {
        deeds.push(Deed {
            kind: "buy",
            id: pump.id,
            from: Vec::new(),
            to: vec![pump.flow_lph, pump.outlet_cm],
            name: "pump".to_owned(),
            hangs: Some((pump.at_cm, pump.turn_deg)),
        });
    }
    deeds
}

fn pump_deeds(then: &Pump, now: &Pump) -> Vec<Deed> {
    let name = named(&now.name, "pump", now.id);
    let mut deeds = Vec::new();
    if then.at_cm != now.at_cm {
        deeds.push(Deed {
            kind: "hang",
            id: now.id,
            from: then.at_cm.to_array().to_vec(),
            to: now.at_cm.to_array().to_vec(),
            name: name.clone(),
            hangs: None,
        });
    }
    if (then.turn_deg, then.tilt_deg) != (now.turn_deg, now.tilt_deg) {
        deeds.push(Deed {
            kind: "turn",
            id: now.id,
            from: vec![then.turn_deg, then.tilt_deg],
            to: vec![now.turn_deg, now.tilt_deg],
            name: name.clone(),
            hangs: None,
        });
    }
    if then.throttle != now.throttle {
        deeds.push(Deed {
            kind: "throttle",
            id: now.id,
            from: vec![then.throttle],
            to: vec![now.throttle],
            name: name.clone(),
            hangs: None,
        });
    }
    if then.programme != now.programme {
        let share_and_period = |pump: &Pump| match pump.programme {
            Programme::Steady => vec![1.0],
            Programme::Pulse { period_s, .. } | Programme::Alternate { period_s, .. } => {
                vec![pump.running_share(), period_s]
            }
        };
        deeds.push(Deed {
            kind: "programme",
            id: now.id,
            from: share_and_period(then),
            to: share_and_period(now),
            name,
            hangs: None,
        });
    }
    deeds
}

fn lamp_deeds(then: &Lamp, now: &Lamp) -> Vec<Deed> {
    let name = named(&now.name, "lamp", now.id);
    let mut deeds = Vec::new();
    if then.dim != now.dim {
        deeds.push(Deed {
            kind: "dim",
            id: now.id,
            from: vec![then.dim],
            to: vec![now.dim],
            name: name.clone(),
            hangs: None,
        });
    }
    let lift_cm = now.at_cm.z - then.at_cm.z;
    if lift_cm.abs() > 0.05 {
        deeds.push(Deed {
            kind: "height",
            id: now.id,
            from: vec![then.at_cm.z],
            to: vec![now.at_cm.z],
            name,
            hangs: None,
        });
    }
    deeds
}

fn named(name: &str, kind: &str, id: ItemId) -> String {
    if name.is_empty() {
        format!("{kind} {id}")
    } else {
        format!("{name:?}")
    }
}

/// What to mind with a plan: light that corals must get used to, gear that hangs
/// anew.
pub(super) fn cautions(
    (from, to): (&Layout, &Layout),
    (before, after): (&Tally, &Tally),
    scene: &Scene,
    catalog: &Catalog,
) -> Vec<String> {
    let mut cautions = Vec::new();
    let speaker = Speaker::new(scene, to, UnitSystem::Metric);
    for coral in &to.corals {
        let light = |tally: &Tally| tally.coral(coral.id).and_then(|state| state.ppfd_umol);
        let steps = match (catalog.entry(&coral.entry), light(before), light(after)) {
            (Some(entry), Some(then), Some(now)) => acclimation(entry, then, now),
            _ => None,
        };
        cautions.extend(steps.map(|steps| speaker.acclimation(&steps)));
    }
    let lifts = |lamp: &Lamp| {
        let then = from.lamps.iter().find(|other| other.id == lamp.id);
        then.is_some_and(|then| then.at_cm.z != lamp.at_cm.z)
    };
    if to.lamps.iter().any(lifts) {
        cautions.push(
            "Unplug a lamp before you hang it anew, check that hooks and cords carry it, and keep \
             its cable in a drip loop."
                .to_owned(),
        );
    }
    if from.pumps != to.pumps {
        cautions.push(
            "Unplug pumps before you reach into the water, and feed them from a circuit with a \
             residual-current device."
                .to_owned(),
        );
    }
    let runs_anew = |pump: &Pump| {
        let then = from.pumps.iter().find(|other| other.id == pump.id);
        then.is_some_and(|then| then.programme != pump.programme)
    };
    if to.pumps.iter().any(runs_anew) {
        cautions.push(
            "Only pumps that are made to start and stop may run in turn: ask their maker. A timed \
             socket wears others out, and they may start backwards."
                .to_owned(),
        );
    }
    if from.corals != to.corals {
        cautions.push(
            "Wear gloves to move corals; some zoanthids carry palytoxin, and many corals sting \
             each other."
                .to_owned(),
        );
    }
    cautions
}
