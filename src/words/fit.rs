//! How a coral fares at its place, in words.

use crate::advice::{Aspect, Strip, Verdict};
use crate::capitalized;
use crate::catalog::{Entry, Range};
use crate::names::Speaker;
use crate::notes;
use crate::scene::finding::{Figure, Note, Quantity};
use crate::scene::{ItemId, Mount};
use crate::units::Measure;

/// Distances that a fleshy coral keeps from rock, in cm. COMMON PRACTICE.
const FLESH_CLEAR_CM: [f64; 2] = [5.0, 10.0];

/// What is known of one aspect of a coral's place.
pub(crate) struct Facts<'f> {
    pub(crate) quantities: &'f [Quantity],
    pub(crate) notes: &'f [Note],
    pub(crate) neighbor: Option<ItemId>,
    pub(crate) entry: Option<&'f Entry>,
    pub(crate) mount: Mount,
}

impl Facts<'_> {
    fn get(&self, figure: Figure) -> Option<f64> {
        let found = self.quantities.iter().find(|q| q.figure == figure)?;
        Some(found.value)
    }

    fn has(&self, note: Note) -> bool {
        self.notes.contains(&note)
    }
}

/// A range of the catalog as it is spoken of.
struct Scale {
    value: Figure,
    low: Figure,
    high: Figure,
    noun: &'static str,
    decimals: usize,
    /// Against too little, and against too much.
    remedies: [&'static str; 2],
}

const LIGHT: Scale = Scale {
    value: Figure::Light,
    low: Figure::LightLow,
    high: Figure::LightHigh,
    noun: "light",
    decimals: 0,
    remedies: [
        "Put it higher or nearer the middle of a lamp, out of the shade.",
        "Put it lower or toward the edge of the light, and move it up in steps.",
    ],
};

const FLOW: Scale = Scale {
    value: Figure::Flow,
    low: Figure::FlowLow,
    high: Figure::FlowHigh,
    noun: "flow",
    decimals: 1,
    remedies: [
        "Aim a pump past it, or move it out from behind the rock.",
        "Move it out of the jet, or turn the pump aside or down.",
    ],
};

/// Digits after the point of a gap that is too small: one where whole
/// centimeters would make it look as wide as what is needed.
fn room_decimals(gap_cm: f64, wanted_cm: f64) -> usize {
    usize::from(gap_cm < wanted_cm && wanted_cm - gap_cm < 1.0)
}

impl Speaker<'_> {
    /// One sentence or two with value and range of an aspect.
    pub fn strip(&self, strip: &Strip, entry: &Entry) -> String {
        let quantities = strip.quantities();
        self.aspect(strip.what, &facts(strip, &quantities, entry))
    }

    /// What to do about it; empty if nothing is needed.
    pub fn strip_remedy(&self, strip: &Strip, entry: &Entry) -> String {
        let quantities = strip.quantities();
        self.aspect_remedy(strip.what, &facts(strip, &quantities, entry))
    }

    /// The sentences of all aspects, worst first.
    pub fn reasons(&self, fit: &crate::advice::Fit, entry: &Entry) -> Vec<String> {
        let mut order: Vec<&Strip> = fit.strips.iter().collect();
        order.sort_by(|a, b| a.score.total_cmp(&b.score));
        order
            .into_iter()
            .map(|strip| self.strip(strip, entry))
            .collect()
    }

    /// A value of a strip with its unit.
    pub fn strip_value(&self, strip: &Strip, value: f64) -> String {
        match strip.figure.measure() {
            Measure::Plain => format!("{}", (value * 10.0).round() / 10.0),
            measure => measure.text(value, self.units),
        }
    }

    pub(crate) fn aspect(&self, what: Aspect, facts: &Facts<'_>) -> String {
        match what {
            Aspect::Light => {
                let range = facts.entry.map(|entry| &entry.light_ppfd_umol);
                let text = self.range(&LIGHT, facts, range);
                match facts.get(Figure::Dose) {
                    Some(dose) => format!("{text} That is {dose:.1} mol/m² a day."),
                    None => text,
                }
            }
            Aspect::Flow => {
                let range = facts.entry.map(|entry| &entry.flow_cm_s);
                let text = self.range(&FLOW, facts, range);
                let text = match facts.get(Figure::Fluctuation) {
                    Some(by) => {
                        let by = self.value(Measure::Speed, by, 1);
                        format!("{text} It varies by {by}.")
                    }
                    None => text,
                };
                let moments = [self.over_program(facts), self.in_jet(facts)];
                let moments = moments.into_iter().flatten();
                moments.fold(text, |text, moment| format!("{text} {moment}"))
            }
            Aspect::Room => self.room(facts),
            Aspect::Mount => self.mount(facts),
            Aspect::Stability => stability(facts),
        }
    }

    pub(crate) fn aspect_remedy(&self, what: Aspect, facts: &Facts<'_>) -> String {
        let has_any = |notes: &[Note]| notes.iter().any(|note| facts.has(*note));
        let by_side = |scale: &Scale| {
            if has_any(&[Note::TooLittle, Note::SlowPhase]) {
                scale.remedies[0].to_owned()
            } else if has_any(&[Note::TooMuch, Note::FastPhase, Note::InJet]) {
                scale.remedies[1].to_owned()
            } else {
                String::new()
            }
        };
        match what {
            Aspect::Light => by_side(&LIGHT),
            Aspect::Flow => by_side(&FLOW),
            Aspect::Room => match (facts.get(Figure::Gap), facts.get(Figure::GapWanted)) {
                (Some(gap), Some(wanted)) if gap < wanted => {
                    // Rounded up: a way that does is told, and never none.
                    let by_cm = ((wanted - gap) * 10.0).ceil() / 10.0;
                    let by = self.value(Measure::Length, by_cm, room_decimals(gap, wanted));
                    format!("Move it {by} away.")
                }
                _ => String::new(),
            },
            Aspect::Mount if facts.has(Note::CloseToRock) => {
                let [least, better] = FLESH_CLEAR_CM.map(|cm| self.value(Measure::Length, cm, 0));
                format!("Keep it {least} and better {better} clear of rock.")
            }
            Aspect::Mount | Aspect::Stability => {
                let told = facts.notes.iter().map(|note| notes::seat_remedy(*note));
                told.into_iter()
                    .find(|text| !text.is_empty())
                    .unwrap_or_default()
                    .to_owned()
            }
        }
    }

    /// From which speed to which the pumps' programs take it.
    fn over_program(&self, facts: &Facts<'_>) -> Option<String> {
        let least = facts.get(Figure::SlowestPhase)?;
        let most = facts.get(Figure::FastestPhase)?;
        let end = |figure: Figure| {
            let limit = facts.get(figure).unwrap_or(0.0);
            self.value(Measure::Speed, limit, 0)
        };
        let judged = if facts.has(Note::FastPhase) {
            let high = end(Figure::FlowHigh);
            format!(
                ": the mean is right, but while it is fastest it is above the {high} that it bears"
            )
        } else if facts.has(Note::SlowPhase) {
            let low = end(Figure::FlowLow);
            format!(
                ": the mean is right, but for an hour or more it is below the {low} that it needs"
            )
        } else {
            String::new()
        };
        Some(format!(
            "Over the pumps' program its mean goes from {} to {}{judged}.",
            self.number(Measure::Speed, least, 1),
            self.value(Measure::Speed, most, 1),
        ))
    }

    /// What the estimate may make too slow.
    fn in_jet(&self, facts: &Facts<'_>) -> Option<String> {
        let jet = self.value(Measure::Speed, facts.get(Figure::JetSpeed)?, 0);
        Some(format!(
            "It is in a pump's jet, which brings up to {jet} where nothing slows it: more than \
             this estimate, whose cells mix a jet too early, and more than it bears."
        ))
    }

    fn range(&self, scale: &Scale, facts: &Facts<'_>, range: Option<&Range>) -> String {
        let measure = scale.value.measure();
        let ends = (facts.get(scale.low), facts.get(scale.high));
        let (Some(low), Some(high)) = ends else {
            return String::new();
        };
        let status = range.map_or("", |range| range.basis.status.words());
        let (from, to) = (self.number(measure, low, 0), self.value(measure, high, 0));
        let span = format!("{from} to {to} ({status})");
        let noun = scale.noun;
        let Some(value) = facts.get(scale.value) else {
            return format!("No {noun} figure yet; it wants {span}.");
        };
        let shown = self.value(measure, value, scale.decimals);
        if facts.has(Note::TooLittle) {
            let missing = 100.0 * (1.0 - value / low);
            format!("Too little {noun}: {shown}, {missing:.0} % below {span}.")
        } else if facts.has(Note::TooMuch) {
            let excess = 100.0 * (value / high - 1.0);
            format!("Too much {noun}: {shown}, {excess:.0} % above {span}.")
        } else {
            let number = self.number(measure, value, scale.decimals);
            let noun = capitalized(noun);
            format!("{noun} {number}, likes {span}: good.")
        }
    }

    fn room(&self, facts: &Facts<'_>) -> String {
        let Some(neighbor) = facts.neighbor else {
            return "No other coral is in the tank.".to_owned();
        };
        let name = self.name(neighbor);
        let gap = facts.get(Figure::Gap).unwrap_or(0.0);
        let wanted = facts.get(Figure::GapWanted).unwrap_or(0.0);
        if wanted <= 0.0 {
            return format!("It may touch {name}.");
        }
        let decimals = room_decimals(gap, wanted);
        // Rounded down, as the way to go is rounded up.
        let gap_cm = match decimals {
            0 => gap.max(0.0),
            _ => (gap.max(0.0) * 10.0).floor() / 10.0,
        };
        let shown = self.value(Measure::Length, gap_cm, decimals);
        let needed = self.number(Measure::Length, wanted, decimals);
        let only = if gap >= wanted { "" } else { "Only " };
        format!("{only}{shown} to {name}, {needed} needed (common practice).")
    }

    fn mount(&self, facts: &Facts<'_>) -> String {
        let mount = mount_subject(facts.mount);
        let mass = |figure: Figure| {
            let grams = facts.get(figure).unwrap_or(0.0);
            self.value(Measure::SmallMass, grams, 0)
        };
        let place = facts.entry.map_or("", |entry| &entry.place.text);
        let fault = facts.notes.first().copied();
        match fault {
            Some(Note::FleshyOnRock) => "It is fleshy and tears on rock.".to_owned(),
            Some(Note::BelongsOnSand) => format!("It belongs on sand ({place})."),
            Some(Note::FleshyRubs) => {
                "It is fleshy: its flesh must not rub on rough rock.".to_owned()
            }
            Some(Note::BelongsOnRock) => format!("It belongs on rock ({place})."),
            Some(Note::CloseToRock) => "It swells and stands close to rock.".to_owned(),
            Some(Note::RimBuried) => "Its rim is buried.".to_owned(),
            Some(Note::NothingHoldsIt) => "Nothing holds it under an overhang.".to_owned(),
            Some(Note::NeverGlued) => {
                "It is never glued: it moves, holds on by itself, or tears.".to_owned()
            }
            Some(Note::TooSteep) => format!(
                "{mount} holds on slopes of up to {:.0}°; this one has {:.0}°.",
                facts.get(Figure::SlopeHeld).unwrap_or(0.0),
                facts.get(Figure::Slope).unwrap_or(0.0)
            ),
            Some(Note::HangsFromNothing) => format!(
                "It hangs from nothing: the seat has a slope of {:.0}° only.",
                facts.get(Figure::Slope).unwrap_or(0.0)
            ),
            Some(Note::DoesNotHang) => "It does not hang.".to_owned(),
            Some(Note::NoSandThere) => "There is no sand to set it into.".to_owned(),
            Some(Note::NoHoldInSand) => format!("{mount} has nothing to hold on to in sand."),
            Some(Note::TooHeavy) => format!(
                "At about {} it is too heavy: {mount} holds about {}.",
                mass(Figure::Mass),
                mass(Figure::MassHeld)
            ),
            Some(Note::UnusualMount) => {
                let usual = facts.entry.map_or("", |entry| &entry.seat_text);
                format!("{mount} is not its usual mount ({usual}).")
            }
            _ => format!("{mount} holds it: about {}.", mass(Figure::Mass)),
        }
    }
}

fn stability(facts: &Facts<'_>) -> String {
    let margin = facts.get(Figure::Stability).unwrap_or(0.0);
    let wanted = facts.get(Figure::StabilityWanted).unwrap_or(0.0);
    if facts.has(Note::MayTopple) {
        format!("It may topple or slide: margin {margin:.1}, and {wanted:.1} is wanted.")
    } else if facts.has(Note::BarelyStands) {
        format!("It barely stands: margin {margin:.1}, and {wanted:.1} is wanted.")
    } else {
        format!("It stands by itself: margin {margin:.1}.")
    }
}

fn facts<'f>(strip: &'f Strip, quantities: &'f [Quantity], entry: &'f Entry) -> Facts<'f> {
    Facts {
        quantities,
        notes: &strip.notes,
        neighbor: strip.neighbor,
        entry: Some(entry),
        mount: strip.mount,
    }
}

/// A mount as the subject of a sentence.
fn mount_subject(mount: Mount) -> &'static str {
    match mount {
        Mount::Plug => "A plug",
        Mount::Gel => "Gel",
        Mount::Putty => "Putty",
        Mount::GelAndPutty => "Gel with putty",
        Mount::Wedge => "A wedge",
        Mount::Thread => "A thread",
        Mount::Rod => "A rod",
        Mount::Hang => "Hanging",
        Mount::Sand => "Sand",
        Mount::Rubble => "A loose stone",
        Mount::Loose => "Its own weight",
        Mount::Foot => "Its own foot",
    }
}

/// The name of a mount.
pub fn mount_word(mount: Mount) -> &'static str {
    match mount {
        Mount::Plug => "plug",
        Mount::Gel => "gel",
        Mount::Putty => "putty",
        Mount::GelAndPutty => "gel and putty",
        Mount::Wedge => "wedge",
        Mount::Thread => "thread",
        Mount::Rod => "rod",
        Mount::Hang => "hung",
        Mount::Sand => "sand",
        Mount::Rubble => "rubble",
        Mount::Loose => "loose",
        Mount::Foot => "its foot",
    }
}

/// What an aspect is called.
pub fn aspect_word(what: Aspect) -> &'static str {
    match what {
        Aspect::Light => "light",
        Aspect::Flow => "flow",
        Aspect::Room => "room",
        Aspect::Mount => "mount",
        Aspect::Stability => "hold",
    }
}

/// How a coral sits, as an adverb.
pub fn verdict_adverb(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Bad => "badly",
        Verdict::Poor => "poorly",
        Verdict::Fair => "fairly",
        Verdict::Good => "well",
        Verdict::Unknown => "not known",
    }
}
