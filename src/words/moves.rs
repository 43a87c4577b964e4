//! Steps from one layout to another, in words.

use crate::advice::{Move, MoveKind};
use crate::names::Speaker;
use crate::units::Measure;

/// A dry mass from which two people should lift, in kg.
///
/// **Source** COMMON PRACTICE: modules of at most 8 to 10 kg dry.
const HEAVY_KG: f64 = 10.0;

impl Speaker<'_> {
    /// One or two sentences for a step.
    pub fn step(&self, step: &Move) -> String {
        let name = self.names(&step.items);
        let place = step
            .place
            .as_ref()
            .map_or_else(String::new, |place| self.place(place));
        let at = step
            .pose
            .first()
            .map_or_else(String::new, |pose| self.at_short(pose.at_cm, 1));
        let mut text = match step.kind {
            MoveKind::TakeOff if step.is_wet => format!(
                "Unplug {name} and take it off. Unplug everything electrical before reaching in."
            ),
            MoveKind::TakeOff => format!("Switch off {name} and take it aside."),
            MoveKind::Unmount => format!(
                "Take off {name} ({place}) and keep it under water in the dark or in shade."
            ),
            MoveKind::Lift => format!(
                "Lift out {name} ({place}; {}). Look for animals under it first.{}",
                self.weights(step),
                heavy(step)
            ),
            MoveKind::Set => format!(
                "Set {name} in its place ({place}; {}; {}). It must not rock under a finger.{}",
                self.poses(step),
                self.weights(step),
                heavy(step)
            ),
            MoveKind::Mount => format!("Mount {name}: {place}, {at}."),
            MoveKind::PutOn => put_on(step, &name, &at),
            MoveKind::Ease => String::new(),
        };
        if step.parts_bonds {
            text.push_str(
                " Separate what is glued: the rocks go on apart or without some of them.",
            );
        }
        if let Some(plan) = &step.ease {
            if !text.is_empty() {
                text.push(' ');
            }
            text.push_str(&self.acclimation(plan));
        }
        text
    }

    fn weights(&self, step: &Move) -> String {
        let mass = |kg: Option<f64>| self.value(Measure::Mass, kg.unwrap_or(0.0), 1);
        format!("{} dry, {} in water", mass(step.dry_kg), mass(step.wet_kg))
    }

    /// Where the rocks of a body have their origins, and how they are turned.
    fn poses(&self, step: &Move) -> String {
        let one = |pose: &crate::advice::Pose| {
            let whose = match step.pose.len() {
                1 => "its origin".to_owned(),
                _ => format!("origin of {}", self.name(pose.item)),
            };
            format!(
                "{whose} at {}, turned {:.0}°, leaning {:.0}°",
                self.at_short(pose.at_cm, 1),
                pose.turn_deg,
                pose.tilt_deg
            )
        };
        step.pose.iter().map(one).collect::<Vec<_>>().join("; ")
    }
}

fn put_on(step: &Move, name: &str, at: &str) -> String {
    let (turn, tilt) = step
        .pose
        .first()
        .map_or((0.0, 0.0), |p| (p.turn_deg, p.tilt_deg));
    if step.is_wet {
        format!(
            "Put {name} at {at}, aimed {turn:.0}° about the vertical and {tilt:.0}° up; check \
                 its cable's drip loop."
        )
    } else {
        format!(
            "Hang {name} at {at}, with its second tether; start it dimmer if corals get more \
                 light now."
        )
    }
}

fn heavy(step: &Move) -> &'static str {
    if step.dry_kg.is_some_and(|kg| kg > HEAVY_KG) {
        " Heavy: lift it with two people."
    } else {
        ""
    }
}
