//! Distances that a builder checks, in words.

use crate::advice::{Between, Distance};
use crate::names::Speaker;
use crate::units::{M_PER_CM, Measure};

impl Speaker<'_> {
    /// What a distance is of: "rock 1 to the left glass".
    pub fn between(&self, distance: &Distance) -> String {
        let name = self.bare_names(&distance.items);
        match distance.between {
            Between::LeftPane => format!("{name} to the left glass"),
            Between::RightPane => format!("{name} to the right glass"),
            Between::FrontPane => format!("{name} to the front glass"),
            Between::BackPane => format!("{name} to the back glass"),
            Between::Surface => format!("top of {name} to the surface"),
            Between::Outlet => format!("outlet of {name} to the nearest rock or coral"),
            Between::Rim => format!("rim of the tank to the farthest foot of {name}"),
        }
    }

    /// What is wanted of it: "at least 5 cm".
    pub fn wanted(&self, distance: &Distance) -> String {
        let most_or_least = match distance.between {
            Between::Rim => "at most",
            _ => "at least",
        };
        let wanted_cm = distance.wanted_m / M_PER_CM;
        format!(
            "{most_or_least} {}",
            self.value(Measure::Length, wanted_cm, 0)
        )
    }

    /// The whole of it: "rock 1 to the left glass: 3.2 cm, at least 5 cm wanted".
    pub fn distance(&self, distance: &Distance) -> String {
        let is = self.value(Measure::Length, distance.distance_m / M_PER_CM, 1);
        format!(
            "{}: {is}, {} wanted",
            self.between(distance),
            self.wanted(distance)
        )
    }
}
