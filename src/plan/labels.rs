//! Key numbers and names beside things, set so that they do not overlap.

use glam::DVec2;

use super::face;
use super::ink::{Drawing, Face, Hand, Pen, Wash};
use super::palette::{ASIDE, INK, PAPER};
use crate::scene::ItemId;

/// Height of a label's letters, in mm.
const SIZE_MM: f64 = 2.6;
/// Between key number and name, in mm.
const GAP_MM: f64 = 0.6;
/// Longest label, in mm.
const ROOM_MM: f64 = 30.0;

struct Label {
    at_mm: DVec2,
    reach_mm: f64,
    key: String,
    name: String,
    face: Face,
}

/// Labels of one drawing.
#[derive(Default)]
pub(super) struct Labels {
    labels: Vec<Label>,
    /// What else must stay readable: its middle and how far it reaches.
    obstacles: Vec<(DVec2, f64)>,
    /// Whether names are written beside the key numbers.
    with_names: bool,
}

#[derive(Clone, Copy)]
struct Rect {
    low: DVec2,
    high: DVec2,
}

impl Rect {
    fn overlap(&self, other: &Self) -> f64 {
        let both = self.high.min(other.high) - self.low.max(other.low);
        both.x.max(0.0) * both.y.max(0.0)
    }
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
        self.labels.push(Label {
            at_mm,
            reach_mm: reach_mm.min(12.0),
            key: key.to_string(),
            name: name.to_owned(),
            face: Face::Regular,
        });
    }

    /// Keeps labels off something round.
    pub(super) fn avoid(&mut self, at_mm: DVec2, reach_mm: f64) {
        self.obstacles.push((at_mm, reach_mm));
    }

    /// A rock, its name in italics.
    pub(super) fn add_rock(&mut self, at_mm: DVec2, key: ItemId, name: &str) {
        self.add(at_mm, 0.0, key, name);
        if let Some(label) = self.labels.last_mut() {
            label.face = Face::Italic;
        }
    }

    /// Writes them, each where it overlaps least with what is written already
    /// and with the things themselves, within `(low, high)`.
    pub(super) fn draw(self, to: &mut Drawing, within: (DVec2, DVec2)) {
        let things: Vec<Rect> = self
            .labels
            .iter()
            .map(|label| Rect {
                low: label.at_mm - label.reach_mm.min(3.0),
                high: label.at_mm + label.reach_mm.min(3.0),
            })
            .collect();
        let taken = |(at, reach): &(DVec2, f64)| Rect {
            low: *at - *reach,
            high: *at + *reach,
        };
        let mut written: Vec<Rect> = self.obstacles.iter().map(taken).collect();
        for label in &self.labels {
            let name = if self.with_names && !label.name.is_empty() {
                let room = ROOM_MM - key_width(&label.key);
                face::shortened(&label.name, label.face, SIZE_MM, room)
            } else {
                String::new()
            };
            let wide = key_width(&label.key) + GAP_MM + face::width(&name, label.face, SIZE_MM);
            let best = places(label, wide)
                .enumerate()
                .map(|(rank, rect)| {
                    let over = written.iter().map(|other| 4.0 * rect.overlap(other));
                    let on_things = things.iter().map(|thing| rect.overlap(thing));
                    let out = outside(&rect, within);
                    let cost: f64 = over.chain(on_things).sum::<f64>() + 20.0 * out;
                    (cost + 0.02 * rank as f64, rect)
                })
                .min_by(|a, b| a.0.total_cmp(&b.0));
            if let Some((_, rect)) = best {
                write(to, &rect, label, &name);
                written.push(rect);
            }
        }
    }
}

fn key_width(key: &str) -> f64 {
    face::width(key, Face::Bold, SIZE_MM)
}

/// Places around a thing, the better liked first.
fn places(label: &Label, wide: f64) -> impl Iterator<Item = Rect> + use<> {
    let (at, reach) = (label.at_mm, label.reach_mm);
    let size = DVec2::new(wide + 0.8, SIZE_MM + 0.4);
    let rings = [0.4, 2.2, 5.0, 9.0, 14.0];
    rings.into_iter().flat_map(move |extra| {
        let away = reach + extra;
        let slant = 0.75 * away;
        [
            at + DVec2::new(away, -size.y / 2.0),
            at + DVec2::new(slant, -slant - size.y),
            at + DVec2::new(slant, slant),
            at + DVec2::new(-size.x / 2.0, -away - size.y),
            at + DVec2::new(-size.x / 2.0, away),
            at + DVec2::new(-slant - size.x, -slant - size.y),
            at + DVec2::new(-slant - size.x, slant),
            at + DVec2::new(-away - size.x, -size.y / 2.0),
        ]
        .map(|low| Rect {
            low,
            high: low + size,
        })
    })
}

/// Area of a label outside the frame.
fn outside(rect: &Rect, (low, high): (DVec2, DVec2)) -> f64 {
    let size = rect.high - rect.low;
    let frame = Rect { low, high };
    size.x * size.y - rect.overlap(&frame)
}

fn write(to: &mut Drawing, rect: &Rect, label: &Label, name: &str) {
    let middle = (rect.low + rect.high) / 2.0;
    let nearest = label.at_mm.clamp(rect.low, rect.high);
    let way = nearest - label.at_mm;
    // A leader where the label stands off.
    if way.length() > label.reach_mm + 1.5 {
        let from = label.at_mm + way.normalize_or_zero() * (label.reach_mm * 0.7);
        to.line(from, nearest, Pen::new(0.12, ASIDE));
    }
    let paper = Wash {
        color: PAPER,
        opacity: 0.82,
    };
    to.rect(rect.low, rect.high, Some(paper), None);
    let base = DVec2::new(rect.low.x + 0.4, middle.y + SIZE_MM * 0.33);
    to.text(base, label.key.clone(), Hand::new(Face::Bold, SIZE_MM, INK));
    let after = base + DVec2::new(key_width(&label.key) + GAP_MM, 0.0);
    to.text(after, name, Hand::new(label.face, SIZE_MM, INK));
}
