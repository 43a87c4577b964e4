//! A drawing as pure data, in mm on paper: what SVG, HTML and PDF are made of,
//! so that nothing is drawn twice.

use std::ops::Range;

use glam::DVec2;

use super::palette::Rgb;

/// A typeface of the document.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Face {
    /// Running text.
    Regular,
    /// Captions, and what is by the way.
    Italic,
    /// Headings.
    Bold,
}

/// Which point of a text lies at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Its start.
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

/// How a text looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hand {
    /// Typeface.
    pub face: Face,
    /// Height of the letters' body, in mm.
    pub size_mm: f64,
    /// Color.
    pub color: Rgb,
    /// Which point of it lies at its place.
    pub anchor: Anchor,
    /// Turn counter-clockwise, in degrees.
    pub turn_deg: f64,
}

/// A line's look.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pen {
    /// Width, in mm.
    pub width_mm: f64,
    /// Color.
    pub color: Rgb,
    /// Lengths of dash and gap, in mm; a full line without.
    pub dash_mm: Option<[f64; 2]>,
}

/// A fill's look.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wash {
    /// Color.
    pub color: Rgb,
    /// 0 clear to 1 opaque.
    pub opacity: f64,
}

/// Points that are joined in order.
#[derive(Clone, Debug, PartialEq)]
pub struct Stroke {
    /// The points, in mm, y downwards from the upper left corner.
    pub points_mm: Vec<DVec2>,
    /// Whether the last is joined to the first.
    pub is_closed: bool,
}

/// One thing on the paper.
#[derive(Clone, Debug, PartialEq)]
pub enum Mark {
    /// Lines and areas; areas follow the even-odd rule.
    Shape {
        /// Its curves.
        strokes: Vec<Stroke>,
        /// What fills it.
        fill: Option<Wash>,
        /// What it is drawn with.
        pen: Option<Pen>,
    },
    /// A line of text.
    Text {
        /// Where its anchor's base line is, in mm.
        at_mm: DVec2,
        /// The text.
        text: String,
        /// How it looks.
        hand: Hand,
    },
}

/// A drawing on paper.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawing {
    /// Width and height, in mm.
    pub size_mm: DVec2,
    /// What it shows, in a few words.
    pub title: String,
    /// What those hear who do not see it; nothing where its words say it all.
    pub alt: String,
    /// In the order in which they are laid down.
    pub marks: Vec<Mark>,
    /// Pictures within it that have words of their own.
    pub figures: Vec<Figure>,
}

/// A picture within a drawing: which marks it is made of, and what those hear
/// who do not see it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Figure {
    /// Its marks, by their place in [`Drawing::marks`].
    pub marks: Range<usize>,
    /// Its words.
    pub alt: String,
}

impl Pen {
    /// A full line.
    pub const fn new(width_mm: f64, color: Rgb) -> Self {
        Self {
            width_mm,
            color,
            dash_mm: None,
        }
    }

    /// The same line in dashes.
    pub const fn dashed(self, dash_mm: f64, gap_mm: f64) -> Self {
        Self {
            dash_mm: Some([dash_mm, gap_mm]),
            ..self
        }
    }
}

impl Wash {
    /// An opaque fill.
    pub const fn full(color: Rgb) -> Self {
        Self {
            color,
            opacity: 1.0,
        }
    }
}

impl Hand {
    /// Text that starts at its place.
    pub const fn new(face: Face, size_mm: f64, color: Rgb) -> Self {
        Self {
            face,
            size_mm,
            color,
            anchor: Anchor::Start,
            turn_deg: 0.0,
        }
    }

    /// The same, centered on its place.
    pub const fn centered(self) -> Self {
        Self {
            anchor: Anchor::Middle,
            ..self
        }
    }

    /// The same, ending at its place.
    pub const fn ending(self) -> Self {
        Self {
            anchor: Anchor::End,
            ..self
        }
    }
}

impl Drawing {
    /// An empty drawing.
    pub fn new(size_mm: DVec2, title: impl Into<String>) -> Self {
        Self {
            size_mm,
            title: title.into(),
            alt: String::new(),
            marks: Vec::new(),
            figures: Vec::new(),
        }
    }

    /// A straight line.
    pub fn line(&mut self, from_mm: DVec2, to_mm: DVec2, pen: Pen) {
        self.path(vec![from_mm, to_mm], pen);
    }

    /// An open line through points.
    pub fn path(&mut self, points_mm: Vec<DVec2>, pen: Pen) {
        let stroke = Stroke {
            points_mm,
            is_closed: false,
        };
        self.shape(vec![stroke], None, Some(pen));
    }

    /// Closed curves, filled by the even-odd rule.
    pub fn area(&mut self, rings_mm: Vec<Vec<DVec2>>, fill: Option<Wash>, pen: Option<Pen>) {
        let ring = |points_mm| Stroke {
            points_mm,
            is_closed: true,
        };
        self.shape(rings_mm.into_iter().map(ring).collect(), fill, pen);
    }

    /// Any lines and areas.
    pub fn shape(&mut self, strokes: Vec<Stroke>, fill: Option<Wash>, pen: Option<Pen>) {
        if strokes.iter().any(|stroke| stroke.points_mm.len() > 1) {
            self.marks.push(Mark::Shape { strokes, fill, pen });
        }
    }

    /// An upright rectangle between two corners.
    pub fn rect(&mut self, a_mm: DVec2, b_mm: DVec2, fill: Option<Wash>, pen: Option<Pen>) {
        let ring = vec![
            a_mm,
            DVec2::new(b_mm.x, a_mm.y),
            b_mm,
            DVec2::new(a_mm.x, b_mm.y),
        ];
        self.area(vec![ring], fill, pen);
    }

    /// A circle.
    pub fn circle(&mut self, at_mm: DVec2, radius_mm: f64, fill: Option<Wash>, pen: Option<Pen>) {
        self.area(vec![ellipse(at_mm, DVec2::splat(radius_mm))], fill, pen);
    }

    /// A line of text.
    pub fn text(&mut self, at_mm: DVec2, text: impl Into<String>, hand: Hand) {
        let plain = |c: char| if c.is_control() { ' ' } else { c };
        let text: String = text.into().chars().map(plain).collect();
        if !text.is_empty() {
            self.marks.push(Mark::Text { at_mm, text, hand });
        }
    }

    /// A line with a slim head at its end.
    pub fn arrow(&mut self, from_mm: DVec2, to_mm: DVec2, head_mm: f64, pen: Pen) {
        let along = (to_mm - from_mm).normalize_or(DVec2::X);
        let base = to_mm - along * head_mm;
        let side = along.perp() * head_mm * 0.28;
        self.line(from_mm, base, pen);
        self.area(
            vec![vec![to_mm, base + side, base - side]],
            Some(Wash::full(pen.color)),
            None,
        );
    }

    /// Parallel lines at 45° over closed curves, `gap_mm` apart.
    pub fn hatch(&mut self, rings_mm: &[Vec<DVec2>], gap_mm: f64, pen: Pen) {
        let strokes = hatching(rings_mm, gap_mm);
        self.shape(strokes, None, Some(pen));
    }

    /// Lays another drawing on this one, its corner at `at_mm`.
    pub fn lay(&mut self, other: Self, at_mm: DVec2) {
        if !self.alt.is_empty() && !other.alt.is_empty() {
            self.alt.push(' ');
        }
        self.alt.push_str(&other.alt);
        let n_before = self.marks.len();
        self.figures
            .extend(other.figures.into_iter().map(|figure| Figure {
                marks: figure.marks.start + n_before..figure.marks.end + n_before,
                ..figure
            }));
        self.marks.extend(other.marks.into_iter().map(|mark| {
            let mut mark = mark;
            match &mut mark {
                Mark::Shape { strokes, .. } => {
                    let points = strokes.iter_mut().flat_map(|s| s.points_mm.iter_mut());
                    points.for_each(|point| *point += at_mm);
                }
                Mark::Text { at_mm: place, .. } => *place += at_mm,
            }
            mark
        }));
    }

    /// Lays a picture into this drawing that keeps words of its own, read
    /// where it lies among the other marks.
    pub fn lay_figure(&mut self, mut picture: Self, at_mm: DVec2) {
        let alt = std::mem::take(&mut picture.alt);
        let start = self.marks.len();
        self.lay(picture, at_mm);
        let marks = start..self.marks.len();
        self.figures.push(Figure { marks, alt });
    }
}

/// An ellipse as a closed curve.
pub(super) fn ellipse(at_mm: DVec2, radii_mm: DVec2) -> Vec<DVec2> {
    let n = (radii_mm.max_element() * 12.0).clamp(16.0, 90.0) as usize;
    (0..n)
        .map(|k| {
            let turn = std::f64::consts::TAU * k as f64 / n as f64;
            at_mm + DVec2::from_angle(turn) * radii_mm
        })
        .collect()
}

/// Pieces of lines at 45° that lie inside closed curves (even-odd).
fn hatching(rings_mm: &[Vec<DVec2>], gap_mm: f64) -> Vec<Stroke> {
    const LINES_MAX: i64 = 4_000;
    // Across the lines, and along them.
    let (across, along) = (
        DVec2::new(1.0, 1.0).normalize(),
        DVec2::new(1.0, -1.0).normalize(),
    );
    let places = rings_mm.iter().flatten().map(|p| p.dot(across));
    let (low, high) = places.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| {
        (l.min(p), h.max(p))
    });
    if low >= high || gap_mm <= 0.0 {
        return Vec::new();
    }
    let (first, last) = ((low / gap_mm).ceil() as i64, (high / gap_mm).floor() as i64);
    let mut strokes = Vec::new();
    for k in first..=last.min(first + LINES_MAX) {
        let level = k as f64 * gap_mm;
        let mut crossings: Vec<f64> = rings_mm
            .iter()
            .flat_map(|ring| edges(ring))
            .filter_map(|(a, b)| {
                let (from, to) = (a.dot(across) - level, b.dot(across) - level);
                ((from > 0.0) != (to > 0.0)).then(|| a.lerp(b, from / (from - to)).dot(along))
            })
            .collect();
        crossings.sort_by(f64::total_cmp);
        for pair in crossings.chunks_exact(2) {
            let at = |t: f64| across * level + along * t;
            strokes.push(Stroke {
                points_mm: vec![at(pair[0]), at(pair[1])],
                is_closed: false,
            });
        }
    }
    strokes
}

fn edges(ring: &[DVec2]) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
    let next = ring.iter().cycle().skip(1);
    ring.iter().copied().zip(next.copied())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hatching_stays_inside_and_leaves_holes_free() {
        let square = |low: f64, high: f64| {
            vec![
                DVec2::new(low, low),
                DVec2::new(high, low),
                DVec2::new(high, high),
                DVec2::new(low, high),
            ]
        };
        let rings = [square(0.0, 10.0), square(4.0, 6.0)];
        let strokes = hatching(&rings, 0.5);
        let length: f64 = strokes
            .iter()
            .map(|s| s.points_mm[0].distance(s.points_mm[1]))
            .sum();
        // Lines half a millimeter apart over 100 − 4 mm²; the sum over lines
        // is that integral by the midpoint-free rule, within a line's length.
        assert!((length * 0.5 - 96.0).abs() < 2.0, "covers {}", length * 0.5);
        for stroke in &strokes {
            let middle = (stroke.points_mm[0] + stroke.points_mm[1]) / 2.0;
            let in_hole =
                middle.cmpgt(DVec2::splat(4.0)).all() && middle.cmplt(DVec2::splat(6.0)).all();
            assert!(!in_hole, "a line in the hole at {middle}");
        }
    }

    #[test]
    fn what_is_laid_down_moves_whole() {
        let mut one = Drawing::new(DVec2::splat(10.0), "one");
        one.line(DVec2::ZERO, DVec2::ONE, Pen::new(0.1, Rgb(0, 0, 0)));
        let mut two = Drawing::new(DVec2::splat(20.0), "two");
        two.lay(one, DVec2::new(5.0, 6.0));
        let Mark::Shape { strokes, .. } = &two.marks[0] else {
            panic!("a line");
        };
        assert_eq!(strokes[0].points_mm[1], DVec2::new(6.0, 7.0), "moved");
    }
}
