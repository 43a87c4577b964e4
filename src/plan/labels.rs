//! Key numbers, names and words beside things, each where it covers no other.

use glam::DVec2;

use super::face;
use super::ink::{Drawing, Face, Hand, Pen, Wash};
use super::palette::{ACCENT, ASIDE, INK, PAPER};
use super::view::Frame;
use crate::draw::{About, Label as Said, Near, Spot, Taken, Wanted, place};
use crate::scene::ItemId;

/// Height of a label's letters, in mm.
const SIZE_MM: f64 = 2.6;
/// Height of the letters of words about things, in mm.
const SAID_MM: f64 = 2.4;
/// Between key number and name, in mm.
const GAP_MM: f64 = 0.6;
/// Longest label, in mm.
const ROOM_MM: f64 = 30.0;
/// Paper around the letters, across and upright, in mm: both sides together.
const AROUND_MM: DVec2 = DVec2::new(0.8, 0.4);
/// Distances from a thing at which its label is tried, in mm.
const AWAY_MM: [f64; 8] = [0.4, 2.2, 5.0, 9.0, 14.0, 20.0, 27.0, 35.0];
/// Sides of a thing, the better liked first; y points downwards.
const SIDES: [DVec2; 8] = [
    DVec2::new(1.0, 0.0),
    DVec2::new(1.0, -1.0),
    DVec2::new(1.0, 1.0),
    DVec2::new(0.0, -1.0),
    DVec2::new(0.0, 1.0),
    DVec2::new(-1.0, -1.0),
    DVec2::new(-1.0, 1.0),
    DVec2::new(-1.0, 0.0),
];

/// What is written.
enum Text {
    /// A key number and, where there is room, a name.
    Key {
        at_mm: DVec2,
        reach_mm: f64,
        key: String,
        name: String,
        face: Face,
    },
    /// Words about a thing.
    Said { text: String, hand: Hand },
}

/// Labels of one drawing.
#[derive(Default)]
pub(super) struct Labels {
    labels: Vec<(Text, Wanted)>,
    /// What else must stay readable.
    obstacles: Vec<Spot>,
    /// Whether names are written beside the key numbers.
    with_names: bool,
}

impl Labels {
    pub(super) fn new(with_names: bool) -> Self {
        Self {
            labels: Vec::new(),
            obstacles: Vec::new(),
            with_names,
        }
    }

    /// A thing at a place that reaches so far around it.
    pub(super) fn add(&mut self, at_mm: DVec2, reach_mm: f64, key: ItemId, name: &str) {
        self.add_key((at_mm, reach_mm.min(12.0)), key, (name, Face::Regular));
    }

    /// A rock, its name in italics.
    pub(super) fn add_rock(&mut self, at_mm: DVec2, key: ItemId, name: &str) {
        self.add_key((at_mm, 0.0), key, (name, Face::Italic));
    }

    fn add_key(
        &mut self,
        (at_mm, reach_mm): (DVec2, f64),
        key: ItemId,
        (name, face): (&str, Face),
    ) {
        const RANK: i32 = 1;
        self.avoid(at_mm, reach_mm.min(3.0));
        let key = key.to_string();
        let name = if self.with_names && !name.is_empty() {
            face::shortened(name, face, SIZE_MM, ROOM_MM - key_width(&key))
        } else {
            String::new()
        };
        let high = SIZE_MM + AROUND_MM.y;
        let short = key_width(&key) + GAP_MM + AROUND_MM.x;
        let wide = short + face::width(&name, face, SIZE_MM);
        let mut sizes = vec![DVec2::new(wide, high)];
        if !name.is_empty() {
            sizes.push(DVec2::new(short, high));
        }
        let wanted = Wanted {
            sizes,
            near: Near::Around {
                at: at_mm,
                away: AWAY_MM.map(|away| reach_mm + away).to_vec(),
                sides: SIDES.to_vec(),
            },
            rank: RANK,
            may_cover: true,
        };
        let text = Text::Key {
            at_mm,
            reach_mm,
            key,
            name,
            face,
        };
        self.labels.push((text, wanted));
    }

    /// What is said of a thing beside it, as on the screen.
    pub(super) fn say(&mut self, frame: &Frame, said: &Said) {
        let color = match said.about {
            About::Jet { .. } => ACCENT,
            About::Height => ASIDE,
        };
        let hand = Hand::new(Face::Regular, SAID_MM, color);
        let wide = face::width(&said.text, hand.face, hand.size_mm);
        let size = DVec2::new(wide, SAID_MM) + AROUND_MM;
        let at = frame.on_paper(said.at_cm);
        let near = match said.about {
            About::Jet { from_cm } => Near::Tip {
                from: frame.on_paper(from_cm),
                tip: at,
                away: DVec2::new(1.1, 1.6),
            },
            About::Height => Near::Around {
                at,
                away: vec![2.0, 5.0, 9.0],
                sides: vec![DVec2::NEG_Y, DVec2::new(1.0, -1.0), DVec2::new(-1.0, -1.0)],
            },
        };
        let wanted = Wanted {
            sizes: vec![size],
            near,
            rank: 0,
            may_cover: false,
        };
        let text = said.text.clone();
        self.labels.push((Text::Said { text, hand }, wanted));
    }

    /// Keeps labels off something.
    pub(super) fn avoid(&mut self, at_mm: DVec2, reach_mm: f64) {
        self.obstacles
            .push(Spot::about(at_mm, DVec2::splat(2.0 * reach_mm)));
    }

    /// Writes them within a panel: key numbers and names first, rather over a
    /// thing than not at all, but never over each other.
    pub(super) fn draw(self, to: &mut Drawing, panel: Spot) {
        let wanted: Vec<Wanted> = self
            .labels
            .iter()
            .map(|(_, wanted)| wanted.clone())
            .collect();
        let taken = Taken {
            panel,
            words: &[],
            things: &self.obstacles,
            apart: 0.0,
        };
        let placed = place(&wanted, taken);
        let placed = self.labels.iter().zip(placed);
        let placed = placed.filter_map(|((text, _), found)| Some((text, found?)));
        let placed: Vec<_> = placed.collect();
        // No leader runs over words.
        for (text, found) in &placed {
            lead(to, &found.spot, text);
        }
        for (text, found) in placed {
            write(to, &found.spot, text, found.size == 0);
        }
    }
}

fn key_width(key: &str) -> f64 {
    face::width(key, Face::Bold, SIZE_MM)
}

/// A leader where the label stands off.
fn lead(to: &mut Drawing, spot: &Spot, text: &Text) {
    let Text::Key {
        at_mm, reach_mm, ..
    } = text
    else {
        return;
    };
    let nearest = at_mm.clamp(spot.low, spot.high);
    let way = nearest - *at_mm;
    if way.length() > reach_mm + 1.5 {
        let from = *at_mm + way.normalize_or_zero() * (reach_mm * 0.7);
        to.line(from, nearest, Pen::new(0.12, ASIDE));
    }
}

fn write(to: &mut Drawing, spot: &Spot, text: &Text, is_whole: bool) {
    let paper = Wash {
        color: PAPER,
        opacity: 0.82,
    };
    to.rect(spot.low, spot.high, Some(paper), None);
    let base = |size_mm: f64| {
        let left = spot.low.x + AROUND_MM.x / 2.0;
        DVec2::new(left, spot.middle().y + size_mm * 0.33)
    };
    match text {
        Text::Said { text, hand } => to.text(base(hand.size_mm), text.clone(), *hand),
        Text::Key {
            key, name, face, ..
        } => {
            let base = base(SIZE_MM);
            to.text(base, key.clone(), Hand::new(Face::Bold, SIZE_MM, INK));
            if is_whole {
                let after = base + DVec2::new(key_width(key) + GAP_MM, 0.0);
                to.text(after, name.clone(), Hand::new(*face, SIZE_MM, INK));
            }
        }
    }
}
