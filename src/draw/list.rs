//! The display list: marks in the order in which they are laid down, each
//! knowing what it is of, and the words that go with them.

use std::sync::Arc;

use glam::{DVec2, Vec2};

use crate::area::Area;
use crate::facts::Facts;
use crate::mats::Mat;
use crate::rocks::Rocks;
use crate::said::{self, Label};
use crate::scene::ItemId;
use crate::study::Study;
use crate::units::UnitSystem;
use crate::view::View;
use crate::{coral, gear, glass, rock};

/// What a mark is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Subject {
    /// Panes, water line and bed.
    Tank,
    /// The tank's overflow.
    Overflow,
    /// A return, by its place in the tank's list.
    Return(usize),
    /// A pump.
    Pump(ItemId),
    /// A lamp.
    Lamp(ItemId),
    /// A coral.
    Coral(ItemId),
    /// A rock as it is seen.
    Rock(ItemId),
    /// What the view's cut goes through of a rock.
    Section(ItemId),
}

/// What is laid down together: a backend lays washes and the things of the hand
/// between them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Layer {
    /// Sand from above, under all that is seen there.
    Floor,
    /// The bed, in the upright views.
    Bed,
    /// Rocks with what the cut goes through, farther ones first.
    Rocks,
    /// Corals, farther ones first.
    Corals,
    /// Overflow and returns.
    Fixed,
    /// Water line and panes.
    Glass,
    /// Lamps and pumps.
    Gear,
}

impl Layer {
    /// All of them, from below.
    pub const ALL: [Self; 7] = [
        Self::Floor,
        Self::Bed,
        Self::Rocks,
        Self::Corals,
        Self::Fixed,
        Self::Glass,
        Self::Gear,
    ];
}

/// A color by what it is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ink {
    /// Lines and facts.
    Line,
    /// What moves water, and what a keeper can act on.
    Accent,
    /// What is drawn on.
    Paper,
    /// Living tissue.
    Coral,
    /// The glowing face of a lamp.
    Glow,
    /// Where a lamp's light goes.
    Beam,
    /// The surface of the water.
    Water,
    /// Rock; a backend that shades it does so within what has this fill.
    Rock,
    /// Sand.
    Sand,
}

/// What fills a shape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fill {
    /// Color.
    pub ink: Ink,
    /// 0 clear to 1 opaque.
    pub strength: f64,
}

/// How a line runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Line {
    /// Without a gap.
    Full,
    /// In dashes: lengths of dash and gap, in nibs.
    Dashed([f64; 2]),
    /// In dots as wide as the pen: from one to the next, in nibs.
    Dotted(f64),
}

/// What a shape is drawn with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pen {
    /// Color.
    pub ink: Ink,
    /// 0 clear to 1 opaque.
    pub strength: f64,
    /// Width, in nibs; nothing is drawn of a pen without one.
    pub width: f64,
    /// How it runs.
    pub line: Line,
    /// Whether it shows when its thing is pointed at or selected.
    pub lights: bool,
}

/// A place of a drawing: a place of the view, and a shift from there that stays
/// as long at any scale.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Vertex {
    /// Right and up, in cm.
    pub at_cm: DVec2,
    /// Right and up, in nibs.
    pub off: DVec2,
}

/// A shape of the view.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// Points that are joined in order.
    Path {
        /// The points.
        points: Vec<Vertex>,
        /// Whether the last is joined to the first.
        is_closed: bool,
        /// A place that sees all of a closed one: what fills it may be laid
        /// around that. A convex one needs none.
        hub: Option<Vertex>,
    },
    /// A circle.
    Circle {
        /// Its middle.
        at: Vertex,
        /// The part of its radius that is to scale, in cm.
        radius_cm: f64,
        /// The part of its radius that is not, in nibs.
        radius: f64,
    },
    /// An area between closed curves.
    Area {
        /// What its places are counted from, in cm.
        at_cm: DVec2,
        /// The area.
        area: Arc<Area>,
    },
    /// Open lines.
    Lines {
        /// What their places are counted from, in cm.
        at_cm: DVec2,
        /// The lines, in cm.
        lines: Arc<Vec<Vec<Vec2>>>,
    },
    /// Small dots.
    Dots {
        /// What their places are counted from, in cm.
        at_cm: DVec2,
        /// Their middles, in cm.
        dots: Arc<Vec<Vec2>>,
        /// Their radius, in nibs.
        radius: f64,
    },
}

/// When a mark is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Show {
    /// Always.
    Always,
    /// While its thing is pointed at or selected.
    WhenLit,
}

/// One thing on the drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// What it is of.
    pub of: Subject,
    /// What it is laid down with.
    pub layer: Layer,
    /// When it is shown.
    pub show: Show,
    /// Its shape.
    pub shape: Shape,
    /// What fills it.
    pub fill: Option<Fill>,
    /// What it is drawn with.
    pub pen: Option<Pen>,
}

/// What a list is made of.
#[derive(Clone, Copy)]
pub struct Source<'a> {
    /// The layout: tank, pumps and lamps.
    pub study: &'a Study,
    /// The corals to draw; of another month where growth is looked at.
    pub corals: &'a Study,
    /// What follows from the layout.
    pub facts: &'a Facts,
    /// Mats as they lie over their rocks.
    pub mats: &'a [Mat],
    /// The layout's rocks as drawn.
    pub rocks: &'a Rocks,
    /// The units of its words.
    pub units: UnitSystem,
}

/// What is drawn of a view of the tank.
#[derive(Clone, Debug, PartialEq)]
pub struct List {
    /// The view.
    pub view: View,
    /// Nibs a centimeter that it was made for.
    pub nibs_per_cm: f64,
    /// Its marks by layers, in the order in which they are laid down.
    layers: [Vec<Mark>; Layer::ALL.len()],
    /// Its words, the more urgent ones first.
    pub labels: Vec<Label>,
}

impl List {
    /// The list of a view, to be shown at a scale: small things are drawn larger
    /// than they are, so that they can be seen, and those too short to be seen
    /// are left out.
    pub fn new(source: &Source<'_>, view: View, nibs_per_cm: f64) -> Self {
        let mut list = Self {
            view,
            nibs_per_cm: nibs_per_cm.max(1e-6),
            layers: Default::default(),
            labels: Vec::new(),
        };
        glass::draw(&mut list, source);
        coral::draw(&mut list, source);
        gear::draw(&mut list, source);
        list.lay_rocks(source.study, source.rocks);
        list.labels = said::labels(source, view, list.nibs_per_cm);
        list
    }

    /// Takes the marks of rocks anew, where nothing but their drawings or the
    /// levels have changed.
    pub fn lay_rocks(&mut self, study: &Study, rocks: &Rocks) {
        self.layers[Layer::Rocks as usize] = rock::marks(self.view, study, rocks);
    }

    /// The marks of a layer, in the order in which they are laid down.
    pub fn layer(&self, layer: Layer) -> &[Mark] {
        &self.layers[layer as usize]
    }

    /// All marks, in the order in which they are laid down.
    pub fn marks(&self) -> impl Iterator<Item = &Mark> {
        self.layers.iter().flatten()
    }

    /// Lays down one more.
    pub(crate) fn push(&mut self, mark: Mark) {
        self.layers[mark.layer as usize].push(mark);
    }

    /// Length of so many nibs, in cm.
    pub(crate) fn cm(&self, nibs: f64) -> f64 {
        nibs / self.nibs_per_cm
    }

    /// A shape with what it is drawn with.
    pub(crate) fn add(
        &mut self,
        (of, layer): (Subject, Layer),
        shape: Shape,
        fill: Option<Fill>,
        pen: Option<Pen>,
    ) {
        self.push(Mark {
            of,
            layer,
            show: Show::Always,
            shape,
            fill,
            pen,
        });
    }
}

impl Fill {
    /// An opaque fill.
    pub const fn full(ink: Ink) -> Self {
        Self { ink, strength: 1.0 }
    }
}

impl Pen {
    /// A full line that shows when its thing is pointed at.
    pub const fn new(width: f64, ink: Ink) -> Self {
        Self {
            ink,
            strength: 1.0,
            width,
            line: Line::Full,
            lights: true,
        }
    }

    /// The same, fainter.
    pub const fn faint(self, strength: f64) -> Self {
        Self { strength, ..self }
    }

    /// The same, running otherwise.
    pub const fn run(self, line: Line) -> Self {
        Self { line, ..self }
    }

    /// The same, whether its thing is pointed at or not.
    pub const fn steady(self) -> Self {
        Self {
            lights: false,
            ..self
        }
    }

    /// The pen of a thing that is pointed at or selected: the accent, wider and
    /// clearer.
    pub fn lit(self) -> Self {
        const WIDER: f64 = 0.6;
        if !self.lights {
            return self;
        }
        Self {
            ink: Ink::Accent,
            strength: (2.0 * self.strength).min(1.0),
            width: self.width + WIDER,
            ..self
        }
    }
}

impl Vertex {
    /// A place of the view.
    pub const fn at(at_cm: DVec2) -> Self {
        Self {
            at_cm,
            off: DVec2::ZERO,
        }
    }

    /// The same, shifted by nibs.
    pub const fn off(self, off: DVec2) -> Self {
        Self { off, ..self }
    }
}

impl Shape {
    /// An open line through places of the view.
    pub(crate) fn line(points: impl IntoIterator<Item = DVec2>) -> Self {
        Self::path(points.into_iter().map(Vertex::at))
    }

    /// An open line.
    pub(crate) fn path(points: impl IntoIterator<Item = Vertex>) -> Self {
        Self::Path {
            points: points.into_iter().collect(),
            is_closed: false,
            hub: None,
        }
    }

    /// A closed convex shape.
    pub(crate) fn convex(points: impl IntoIterator<Item = Vertex>) -> Self {
        Self::Path {
            points: points.into_iter().collect(),
            is_closed: true,
            hub: None,
        }
    }

    /// A circle of so many nibs.
    pub(crate) fn dot(at_cm: DVec2, radius: f64) -> Self {
        Self::Circle {
            at: Vertex::at(at_cm),
            radius_cm: 0.0,
            radius,
        }
    }
}
