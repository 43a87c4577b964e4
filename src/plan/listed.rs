//! Lays a display list on paper: the same marks as on the screen, names of
//! colors as inks, nibs as parts of a millimeter.

use glam::{DVec2, Vec2};

use super::ink::{self, Drawing, Pen, Stroke, Wash};
use super::labels::Labels;
use super::palette::{ACCENT, CORAL, GLOW, INK, PAPER, ROCK, Rgb, SAND, WATER_LINE};
use super::view::{Frame, View};
use crate::draw::{
    Area, Facts, Fill, Ink, Layer, Levels, Line, List, Mark, Mat, RockWish, Rocks, Shape, Show,
    Source, Spot, Subject, Vertex, mat,
};
use crate::scene::Coral;
use crate::study::Study;
use crate::units::{M_PER_CM, UnitSystem};

/// A nib on paper, in mm: lines are 0.2 to 0.45 mm wide.
pub(super) const NIB_MM: f64 = 0.22;

/// What the lists of a layout are made of, worked out once for all its views.
pub(super) struct Made<'a> {
    pub(super) study: &'a Study,
    pub(super) levels: Levels,
    pub(super) rocks: Rocks,
    facts: Facts,
    mats: Vec<Mat>,
}

impl<'a> Made<'a> {
    /// Of a layout whose views are cut at these levels.
    pub(super) fn new(study: &'a Study, levels: Levels) -> Self {
        let corals = study.layout().corals.iter();
        let mut was = Vec::new();
        let wish = RockWish {
            levels,
            nibs_per_cm: 1.0 / NIB_MM,
        };
        Self {
            study,
            levels,
            rocks: Rocks::whole(study, &wish),
            facts: Facts::new(study, None),
            mats: corals
                .filter_map(|coral| mat(study, coral, &mut was))
                .collect(),
        }
    }

    /// The same, cut elsewhere.
    pub(super) fn cut(&self, levels: Levels) -> Self {
        Self {
            study: self.study,
            levels,
            rocks: self.rocks.clone(),
            facts: self.facts.clone(),
            mats: self.mats.clone(),
        }
    }

    /// The list of a view on paper, in the units of its words.
    fn list(&self, view: View, mm_per_cm: f64, units: UnitSystem) -> List {
        let wish = RockWish {
            levels: self.levels,
            nibs_per_cm: mm_per_cm / NIB_MM,
        };
        let mut rocks = self.rocks.clone();
        rocks.complete(self.study, &wish);
        let source = Source {
            study: self.study,
            corals: self.study,
            facts: &self.facts,
            mats: &self.mats,
            rocks: &rocks,
            units,
        };
        List::new(&source, view, wish.nibs_per_cm)
    }
}

/// The list of a view and where it lies on paper.
pub(super) struct Listed<'a> {
    pub(super) frame: Frame,
    pub(super) made: &'a Made<'a>,
    list: List,
}

impl<'a> Listed<'a> {
    pub(super) fn new(frame: &Frame, made: &'a Made<'a>) -> Self {
        Self {
            frame: *frame,
            made,
            list: made.list(frame.view, frame.mm_per_cm, frame.units),
        }
    }

    /// The marks of a layer that are shown.
    pub(super) fn marks(&self, layer: Layer) -> impl Iterator<Item = &Mark> {
        let marks = self.list.layer(layer).iter();
        marks.filter(|mark| mark.show == Show::Always)
    }

    /// Lays down one mark.
    pub(super) fn lay_mark(&self, to: &mut Drawing, mark: &Mark) {
        lay(to, (&self.frame, self.panel()), mark);
    }

    /// Lays down the marks of some layers that are wanted.
    pub(super) fn lay(
        &self,
        to: &mut Drawing,
        layers: &[Layer],
        is_wanted: impl Fn(Subject) -> bool,
    ) {
        for layer in layers {
            for mark in self.marks(*layer).filter(|mark| is_wanted(mark.of)) {
                self.lay_mark(to, mark);
            }
        }
    }

    /// The part of the paper that the view takes, in mm: what a light cone or
    /// the sting of a coral reaches beyond the panes is not shown.
    fn panel(&self) -> Spot {
        let (frame, tank) = (&self.frame, &self.made.study.scene().tank);
        let size = frame.view.size_cm(tank).truncate();
        let mut panel = Spot::between(frame.on_paper(DVec2::ZERO), frame.on_paper(size));
        if frame.view != View::Top {
            // Lamps hang as high as they do.
            panel.low.y = f64::NEG_INFINITY;
        }
        panel
    }

    /// The layers over rock, without lamps where only water is shown.
    pub(super) fn lay_things(&self, to: &mut Drawing, with_lamps: bool) {
        const LAYERS: [Layer; 4] = [Layer::Corals, Layer::Fixed, Layer::Glass, Layer::Gear];
        self.lay(to, &LAYERS, |of| {
            with_lamps || !matches!(of, Subject::Lamp(_))
        });
    }

    /// Keys and names of corals, lamps and pumps, and what the list says of
    /// them; nothing lies on a jet.
    pub(super) fn label(
        &self,
        labels: &mut Labels,
        name_of: &dyn Fn(&Coral) -> String,
        with_lamps: bool,
    ) {
        let (frame, layout) = (&self.frame, self.made.study.layout());
        for coral in &layout.corals {
            let middle = frame.at(coral.at_cm + coral.facing * (coral.size_cm.z * 0.4));
            let reach_mm = coral.size_cm.x.max(coral.size_cm.y) / 2.0 * frame.mm_per_cm;
            labels.add(middle, reach_mm + 0.4, coral.id, &name_of(coral));
        }
        for lamp in layout.lamps.iter().filter(|_| with_lamps) {
            let face: Vec<DVec2> = lamp.face_cm().iter().map(|p| frame.at(*p)).collect();
            let low = face.iter().fold(DVec2::INFINITY, |low, p| low.min(*p));
            let high = face
                .iter()
                .fold(DVec2::NEG_INFINITY, |high, p| high.max(*p));
            // From above at a corner, where rock seldom is; else below its body.
            let at = match frame.view {
                View::Top => DVec2::new(low.x + 4.0, high.y),
                View::Side | View::End => DVec2::new(low.midpoint(high).x, high.y + 2.0),
            };
            labels.add(at, 0.3, lamp.id, &lamp.name);
        }
        for pump in &layout.pumps {
            labels.add(frame.at(pump.at_cm), 2.2, pump.id, &pump.name);
        }
        for mark in self.list.layer(Layer::Gear) {
            if let (Subject::Pump(_), Shape::Path { points, .. }) = (mark.of, &mark.shape) {
                avoid_line(
                    labels,
                    &points.iter().map(|p| at(frame, p)).collect::<Vec<_>>(),
                );
            }
        }
        for said in &self.list.labels {
            let is_wanted = with_lamps || !matches!(said.of, Subject::Lamp(_));
            if is_wanted && !said.is_quiet {
                labels.say(frame, said);
            }
        }
    }

    /// Keys and names of rocks.
    pub(super) fn label_rocks(&self, labels: &mut Labels) {
        for (rock, solid) in self.made.study.rocks() {
            let bounds = solid.bounds();
            let middle_cm = (bounds.min_m + bounds.max_m) / (2.0 * M_PER_CM);
            labels.add_rock(self.frame.at(middle_cm), rock.id, &rock.name);
        }
    }

    /// The openings of the pumps at their size, where the paper is as large as
    /// the tank.
    pub(super) fn draw_outlets(&self, to: &mut Drawing) {
        for pump in &self.made.study.layout().pumps {
            let radius_mm = pump.outlet_cm / 2.0 * self.frame.mm_per_cm;
            let pen = Pen::new(0.2, INK).dashed(1.0, 0.7);
            to.circle(self.frame.at(pump.at_cm), radius_mm, None, Some(pen));
        }
    }
}

/// Keeps labels off a line.
fn avoid_line(labels: &mut Labels, points: &[DVec2]) {
    const APART_MM: f64 = 1.4;
    for pair in points.windows(2) {
        let n = (pair[0].distance(pair[1]) / APART_MM).ceil().max(1.0);
        for k in 0..=n as u32 {
            labels.avoid(pair[0].lerp(pair[1], f64::from(k) / n), APART_MM / 2.0);
        }
    }
}

fn at(frame: &Frame, vertex: &Vertex) -> DVec2 {
    let off = DVec2::new(vertex.off.x, -vertex.off.y) * NIB_MM;
    frame.on_paper(vertex.at_cm) + off
}

/// An ink on white paper: a faint one is a lighter one, so that where two lines
/// cross nothing gets darker.
fn color(ink: Ink, strength: f64) -> Rgb {
    let Rgb(r, g, b) = full(ink);
    let Rgb(white_r, white_g, white_b) = PAPER;
    let mixed = |ink: u8, paper: u8| {
        let value = f64::from(ink) * strength + f64::from(paper) * (1.0 - strength);
        value.round().clamp(0.0, 255.0) as u8
    };
    Rgb(mixed(r, white_r), mixed(g, white_g), mixed(b, white_b))
}

fn full(ink: Ink) -> Rgb {
    match ink {
        Ink::Line => INK,
        Ink::Accent => ACCENT,
        Ink::Paper => PAPER,
        Ink::Coral => CORAL,
        Ink::Glow | Ink::Beam => GLOW,
        Ink::Water => WATER_LINE,
        Ink::Rock => ROCK,
        Ink::Sand => SAND,
    }
}

fn pen(pen: &crate::draw::Pen) -> Option<Pen> {
    let width_mm = pen.width * NIB_MM;
    let plain = Pen::new(width_mm, color(pen.ink, pen.strength));
    (pen.width > 0.0).then(|| match pen.line {
        Line::Full => plain,
        Line::Dashed([dash, gap]) => plain.dashed(dash * NIB_MM, gap * NIB_MM),
        Line::Dotted(apart) => {
            let dot_mm = width_mm.min(0.25);
            Pen {
                width_mm: dot_mm,
                ..plain
            }
            .dashed(dot_mm, apart * NIB_MM - dot_mm)
        }
    })
}

fn wash(fill: &Fill) -> Wash {
    Wash {
        color: full(fill.ink),
        opacity: fill.strength,
    }
}

/// Lays down one mark; lines end where the panel does.
fn lay(to: &mut Drawing, (frame, panel): (&Frame, Spot), mark: &Mark) {
    let (fill, pen) = (
        mark.fill.as_ref().map(wash),
        mark.pen.as_ref().and_then(pen),
    );
    let whole = strokes(frame, &mark.shape);
    let is_line = fill.is_none() && mark.of != Subject::Tank;
    let is_whole = |stroke: &Stroke| stroke.points_mm.iter().all(|p| is_in(&panel, *p));
    let strokes = if is_line && !whole.iter().all(is_whole) {
        let pieces = whole.into_iter().map(|stroke| clipped(stroke, &panel));
        pieces.flatten().collect()
    } else {
        whole
    };
    to.shape(strokes, fill, pen);
}

/// The curves of a shape on paper.
fn strokes(frame: &Frame, shape: &Shape) -> Vec<Stroke> {
    let open = |points_mm| Stroke {
        points_mm,
        is_closed: false,
    };
    let ring = |points_mm| Stroke {
        points_mm,
        is_closed: true,
    };
    match shape {
        Shape::Circle {
            at: middle,
            radius_cm,
            radius,
        } => {
            let radius_mm = radius_cm * frame.mm_per_cm + radius * NIB_MM;
            vec![ring(ink::ellipse(
                at(frame, middle),
                DVec2::splat(radius_mm),
            ))]
        }
        Shape::Path {
            points, is_closed, ..
        } => vec![Stroke {
            points_mm: points.iter().map(|point| at(frame, point)).collect(),
            is_closed: *is_closed,
        }],
        Shape::Area { at_cm, area } => {
            let Area { rings, .. } = area.as_ref();
            let rings = rings.iter().map(|it| ring(placed(frame, *at_cm, it)));
            rings.collect()
        }
        Shape::Lines { at_cm, lines } => {
            let lines = lines.iter().map(|it| open(placed(frame, *at_cm, it)));
            lines.collect()
        }
        Shape::Dots {
            at_cm,
            dots,
            radius,
        } => {
            let corners = [
                DVec2::ONE,
                DVec2::new(-1.0, 1.0),
                -DVec2::ONE,
                DVec2::new(1.0, -1.0),
            ];
            let dot = |at_mm: DVec2| ring(corners.map(|to| at_mm + to * radius * NIB_MM).to_vec());
            placed(frame, *at_cm, dots).into_iter().map(dot).collect()
        }
    }
}

/// Places that are counted from one of the view.
fn placed(frame: &Frame, at_cm: DVec2, points: &[Vec2]) -> Vec<DVec2> {
    let place = |p: &Vec2| frame.on_paper(at_cm + p.as_dvec2());
    points.iter().map(place).collect()
}

fn is_in(panel: &Spot, at_mm: DVec2) -> bool {
    at_mm.cmpge(panel.low).all() && at_mm.cmple(panel.high).all()
}

/// The pieces of a line that lie within a panel.
fn clipped(line: Stroke, panel: &Spot) -> Vec<Stroke> {
    let mut points = line.points_mm;
    if line.is_closed {
        points.extend(points.first().copied());
    }
    let mut pieces: Vec<Vec<DVec2>> = Vec::new();
    for pair in points.windows(2) {
        let Some([from, end]) = within(panel, [pair[0], pair[1]]) else {
            continue;
        };
        match pieces.last_mut() {
            Some(piece) if piece.last() == Some(&from) => piece.push(end),
            _ => pieces.push(vec![from, end]),
        }
    }
    let open = |points_mm| Stroke {
        points_mm,
        is_closed: false,
    };
    pieces.into_iter().map(open).collect()
}

/// The part of a straight line that lies within a panel.
///
/// **Source** Liang & Barsky 1984. MEMORY.
fn within(panel: &Spot, [from, end]: [DVec2; 2]) -> Option<[DVec2; 2]> {
    let way = end - from;
    let (mut first, mut last) = (0.0_f64, 1.0_f64);
    for axis in 0..2 {
        if way[axis] == 0.0 {
            if from[axis] < panel.low[axis] || from[axis] > panel.high[axis] {
                return None;
            }
            continue;
        }
        let low = (panel.low[axis] - from[axis]) / way[axis];
        let high = (panel.high[axis] - from[axis]) / way[axis];
        first = first.max(low.min(high));
        last = last.min(low.max(high));
    }
    let at = |share: f64| {
        if share == 0.0 {
            from
        } else {
            from + way * share
        }
    };
    let end = if last == 1.0 { end } else { at(last) };
    (first < last).then(|| [at(first), end])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_end_where_the_panel_does() {
        let panel = Spot {
            low: DVec2::new(0.0, f64::NEG_INFINITY),
            high: DVec2::new(10.0, 10.0),
        };
        let line = |points: &[(f64, f64)], is_closed| Stroke {
            points_mm: points.iter().map(|(x, y)| DVec2::new(*x, *y)).collect(),
            is_closed,
        };
        let out_and_back = line(&[(5.0, 5.0), (15.0, 5.0), (15.0, 8.0), (5.0, 8.0)], false);
        let pieces = clipped(out_and_back, &panel);
        assert_eq!(pieces.len(), 2, "{pieces:?}");
        assert_eq!(pieces[0].points_mm[1], DVec2::new(10.0, 5.0));
        assert_eq!(pieces[1].points_mm[0], DVec2::new(10.0, 8.0));
        // A ring about a corner keeps the quarter that lies inside.
        let ring = Stroke {
            points_mm: ink::ellipse(DVec2::new(10.0, 10.0), DVec2::splat(4.0)),
            is_closed: true,
        };
        let length: f64 = clipped(ring, &panel)
            .iter()
            .flat_map(|piece| piece.points_mm.windows(2))
            .map(|pair| pair[0].distance(pair[1]))
            .sum();
        let quarter = std::f64::consts::TAU;
        assert!((length - quarter).abs() < 0.05 * quarter, "{length}");
        assert!(clipped(line(&[(-4.0, 0.0), (-1.0, 9.0)], false), &panel).is_empty());
    }
}
