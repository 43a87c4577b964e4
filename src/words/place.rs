//! Where something is, in words: "behind the left island, low".

use crate::names::{Language, Speaker};
use crate::scene::finding::{Across, Along, Bearing, Level, Part, Place, Side, Spot};
use crate::scene::{SideName, Support};

impl Speaker<'_> {
    /// Where it is.
    pub fn place(&self, place: &Place) -> String {
        self.spot(&place.spot)
    }

    /// The same of a spot.
    pub fn spot(&self, spot: &Spot) -> String {
        match *spot {
            Spot::Rock { rock, side } => {
                let rock = self.name(rock);
                match side {
                    Side::Whole => rock,
                    Side::Top => format!("on top of {rock}"),
                    Side::Underside => format!("under {rock}"),
                    Side::Left => format!("on the left side of {rock}"),
                    Side::Right => format!("on the right side of {rock}"),
                    Side::Front => format!("on the front of {rock}"),
                    Side::Back => format!("on the back of {rock}"),
                    Side::Flanks => format!("on the flanks of {rock}"),
                }
            }
            Spot::Ledge { rock, number: 0 } => format!("under {}", self.name(rock)),
            Spot::Ledge { rock, number } => format!("under {}, ledge {number}", self.name(rock)),
            Spot::Sand { near: None, part } => format!("on the sand, {}", across_words(part)),
            Spot::Sand {
                near: Some((bearing, rock)),
                ..
            } => format!("on the sand {}", self.beside(bearing, rock, None)),
            Spot::Pane(side) => format!("at the {} pane", side_word(side)),
            Spot::Water {
                near,
                other,
                part,
                is_cornered,
            } => {
                let by = match near {
                    Some((_, rock)) if is_cornered => {
                        format!("{} by {}", across_words(part), self.name(rock))
                    }
                    Some((bearing, rock)) => self.beside(bearing, rock, other),
                    None => across_words(part),
                };
                format!("{by}, {}", level_words(part.level))
            }
            Spot::Item(id) => self.name(id),
            Spot::Tank => "the whole tank".to_owned(),
        }
    }

    fn beside(&self, bearing: Bearing, rock: u32, other: Option<u32>) -> String {
        let name = self.name(rock);
        match (bearing, other) {
            (Bearing::Between, Some(other)) => format!("between {name} and {}", self.name(other)),
            (Bearing::Above, _) => format!("above {name}"),
            (Bearing::Under, _) => format!("under {name}"),
            (Bearing::Behind, _) => format!("behind {name}"),
            (Bearing::InFront, _) => format!("in front of {name}"),
            (Bearing::LeftOf, _) => format!("left of {name}"),
            (Bearing::RightOf, _) => format!("right of {name}"),
            (Bearing::Between, None) => format!("by {name}"),
        }
    }

    /// A part of the tank, as in "back right corner, low".
    pub fn part(&self, part: Part) -> String {
        match self.language {
            Language::English => format!("{}, {}", across_words(part), level_words(part.level)),
        }
    }

    /// Where something would sit, as in "on the arch, left end, low".
    pub fn seat(&self, on: Support, place: &Place) -> String {
        let on = match on {
            Support::Rock(id) => self.name(id),
            Support::Sand => "the sand".to_owned(),
        };
        format!("on {on}, {}", self.place(place))
    }

    /// What something sits on.
    pub fn support(&self, on: Support) -> String {
        match on {
            Support::Rock(id) => self.name(id),
            Support::Sand => "sand".to_owned(),
        }
    }
}

fn across_words(part: Part) -> String {
    let end = match part.along {
        Along::Left => "left",
        Along::Middle | Along::All => "middle",
        Along::Right => "right",
    };
    let side = match part.across {
        Across::Front => "front",
        Across::Middle | Across::All => "middle",
        Across::Back => "back",
    };
    match (part.along, part.across) {
        (Along::All, Across::All) => "most of the tank".to_owned(),
        (Along::All, Across::Middle) => "along the middle of the tank".to_owned(),
        (Along::All, _) => format!("along the {side} glass"),
        (Along::Middle, Across::All) => "across the middle of the tank".to_owned(),
        (Along::Middle, Across::Middle) => "middle of the tank".to_owned(),
        (Along::Middle, _) => format!("middle of the {side}"),
        (_, Across::All | Across::Middle) => format!("{end} end"),
        _ => format!("{side} {end} corner"),
    }
}

fn level_words(level: Level) -> &'static str {
    match level {
        Level::Low => "low",
        Level::Middle => "at mid-height",
        Level::High => "high",
        Level::All => "bottom to top",
    }
}

pub(crate) fn side_word(side: SideName) -> &'static str {
    match side {
        SideName::Left => "left",
        SideName::Right => "right",
        SideName::Front => "front",
        SideName::Back => "back",
    }
}
