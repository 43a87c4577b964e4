//! The booklet for moving day, to be read with wet hands: safety first, what
//! is needed, then steps with a picture and a box to tick each.

use glam::DVec2;

use super::ink::{Drawing, Face, Hand, Pen};
use super::pages::EDGE_MM;
use super::palette::{ACCENT, ASIDE, INK, RULE};
use super::table::Block;
use super::{Document, Paper, booklet_picture, booklet_words, face};
use crate::advice::Move;
use crate::scene::{Layout, Scene};
use crate::units::UnitSystem;

/// Height of letters, in mm: 14.2 points, to be read at arm's length.
pub(super) const LETTER_MM: f64 = 5.0;
const TITLE_MM: f64 = 7.0;
const LEADING: f64 = 1.22;
/// Edge of a box to tick, in mm.
const BOX_MM: f64 = 6.0;
/// Most steps on one sheet.
const STEPS_MAX: usize = 8;
/// Head and foot of a sheet, in mm.
const HEAD_MM: f64 = 15.0;
const FOOT_MM: f64 = 9.0;
/// Room between two steps, in mm.
const GAP_MM: f64 = 5.0;

/// How a sheet is held.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Held {
    /// On its short side.
    #[default]
    Upright,
    /// On its long side.
    Across,
}

/// What a booklet is made of.
#[derive(Clone, Copy)]
pub struct BookletInput<'a> {
    /// The scene.
    pub scene: &'a Scene,
    /// The layout that is in the tank now.
    pub from: &'a Layout,
    /// The layout to be built.
    pub to: &'a Layout,
    /// The way from one to the other.
    pub steps: &'a [Move],
    /// Paper to print on.
    pub paper: Paper,
    /// How it is held.
    pub held: Held,
    /// Units of its words.
    pub units: UnitSystem,
}

/// The booklet: pages only.
pub(super) fn booklet(input: &BookletInput<'_>, stamp: String) -> Document {
    let title = format!("Moving day: {}", input.scene.name);
    let mut press = Press::new(input);
    for chapter in booklet_words::before(input) {
        press.list(&chapter);
    }
    press.steps(input);
    press.list(&booklet_words::after(input));
    Document {
        title: title.clone(),
        subtitle: format!("from “{}” to “{}”", input.from.name, input.to.name),
        paper: input.paper,
        blocks: press.finish(&title, &stamp),
        stamp,
    }
}

/// A list of things to do or to have, each with a box.
pub(super) struct Chapter {
    pub(super) title: String,
    /// What stands above the list.
    pub(super) lead: String,
    /// Things, each with whether it is a caution.
    pub(super) items: Vec<(String, bool)>,
}

struct Press {
    size_mm: DVec2,
    n_columns: usize,
    pages: Vec<Drawing>,
    /// Where the next thing goes: column and height.
    column: usize,
    y_mm: f64,
}

impl Press {
    fn new(input: &BookletInput<'_>) -> Self {
        let DVec2 { x, y } = input.paper.size_mm();
        let (size_mm, n_columns) = match input.held {
            Held::Across => (DVec2::new(x, y), 2),
            Held::Upright => (DVec2::new(y, x), 1),
        };
        Self {
            size_mm,
            n_columns,
            pages: Vec::new(),
            column: 0,
            y_mm: 0.0,
        }
    }

    fn bottom_mm(&self) -> f64 {
        self.size_mm.y - EDGE_MM - FOOT_MM
    }

    fn column_mm(&self) -> f64 {
        let room_mm = self.size_mm.x - 2.0 * EDGE_MM - GAP_MM * (self.n_columns - 1) as f64;
        room_mm / self.n_columns as f64
    }

    fn left_mm(&self) -> f64 {
        EDGE_MM + self.column as f64 * (self.column_mm() + GAP_MM)
    }

    fn open_page(&mut self, title: &str) {
        let mut page = Drawing::new(self.size_mm, title);
        let hand = Hand::new(Face::Bold, TITLE_MM, INK);
        let room_mm = self.size_mm.x - 2.0 * EDGE_MM;
        let shown = face::shortened(title, hand.face, hand.size_mm, room_mm);
        page.text(DVec2::new(EDGE_MM, EDGE_MM + TITLE_MM), shown, hand);
        let under = EDGE_MM + TITLE_MM + 3.0;
        let (a, b) = (EDGE_MM, self.size_mm.x - EDGE_MM);
        page.line(
            DVec2::new(a, under),
            DVec2::new(b, under),
            Pen::new(0.4, INK),
        );
        self.pages.push(page);
        self.column = 0;
        self.y_mm = EDGE_MM + HEAD_MM;
    }

    /// Makes room for something so high: the next column, or a new page. The
    /// flag says that a page was opened.
    fn need(&mut self, high_mm: f64, title: &str) -> bool {
        if self.y_mm + high_mm <= self.bottom_mm() {
            return false;
        }
        if self.column + 1 < self.n_columns {
            self.column += 1;
            self.y_mm = EDGE_MM + HEAD_MM;
            return false;
        }
        self.open_page(title);
        true
    }

    fn lines(&mut self, lines: &[String], (x_mm, y_mm): (f64, f64), hand: Hand) {
        let Some(page) = self.pages.last_mut() else {
            return;
        };
        for (k, line) in lines.iter().enumerate() {
            let base = y_mm + LETTER_MM + k as f64 * LETTER_MM * LEADING;
            page.text(DVec2::new(x_mm, base), line.clone(), hand);
        }
    }

    fn tick_box(&mut self, x_mm: f64, y_mm: f64) {
        if let Some(page) = self.pages.last_mut() {
            let corner = DVec2::new(x_mm, y_mm);
            let pen = Some(Pen::new(0.4, INK));
            page.rect(corner, corner + BOX_MM, None, pen);
        }
    }

    /// A chapter from a new page on.
    fn list(&mut self, chapter: &Chapter) {
        self.open_page(&chapter.title);
        let plain = Hand::new(Face::Regular, LETTER_MM, INK);
        let lead = face::wrapped(&chapter.lead, Face::Italic, LETTER_MM, self.column_mm());
        let aside = Hand::new(Face::Italic, LETTER_MM, ASIDE);
        if !chapter.lead.is_empty() {
            self.lines(&lead, (self.left_mm(), self.y_mm), aside);
            self.y_mm += lead.len() as f64 * LETTER_MM * LEADING + GAP_MM;
        }
        let inset_mm = BOX_MM + 3.0;
        for (text, is_caution) in &chapter.items {
            let room_mm = self.column_mm() - inset_mm;
            let face = if *is_caution {
                Face::Bold
            } else {
                Face::Regular
            };
            let lines = face::wrapped(text, face, LETTER_MM, room_mm);
            let high_mm = (lines.len() as f64 * LETTER_MM * LEADING).max(BOX_MM) + 3.0;
            self.need(high_mm, &chapter.title);
            self.tick_box(self.left_mm(), self.y_mm);
            let color = if *is_caution { ACCENT } else { INK };
            let hand = Hand {
                face,
                color,
                ..plain
            };
            self.lines(&lines, (self.left_mm() + inset_mm, self.y_mm), hand);
            self.y_mm += high_mm;
        }
    }

    /// The steps, at most [`STEPS_MAX`] a sheet.
    fn steps(&mut self, input: &BookletInput<'_>) {
        let title = format!("From “{}” to “{}”", input.from.name, input.to.name);
        self.open_page(&title);
        if input.steps.is_empty() {
            let words = vec!["Nothing has to be moved.".to_owned()];
            let hand = Hand::new(Face::Regular, LETTER_MM, INK);
            return self.lines(&words, (self.left_mm(), self.y_mm), hand);
        }
        let column_mm = self.column_mm();
        let inset_mm = BOX_MM + 3.0;
        let wide_mm = 0.36 * column_mm;
        let tank = &input.scene.tank;
        // As high as the tank is deep at that width, and no cube out of bounds.
        let high_mm = (wide_mm - 2.0) * tank.width_cm / tank.length_cm + 2.0;
        let picture_mm = DVec2::new(wide_mm, high_mm.min(0.3 * column_mm));
        let pictures = booklet_picture::Pictures::new(input, picture_mm);
        let room_mm = column_mm - inset_mm - picture_mm.x - 4.0;
        let levels_cm = booklet_words::water_levels(input);
        let mut n_here = 0;
        for (idx, (step, water_cm)) in input.steps.iter().zip(levels_cm).enumerate() {
            let words = booklet_words::step(input, step, water_cm);
            let head = format!("{}  {}", idx + 1, words.title);
            let head = face::wrapped(&head, Face::Bold, LETTER_MM, room_mm);
            let mut body = Vec::new();
            for line in &words.lines {
                body.extend(face::wrapped(line, Face::Regular, LETTER_MM, room_mm));
            }
            let n_lines = (head.len() + body.len()) as f64;
            let high_mm = (n_lines * LETTER_MM * LEADING + 1.0).max(picture_mm.y) + GAP_MM;
            if n_here == STEPS_MAX {
                self.open_page(&title);
                n_here = 0;
            } else if self.need(high_mm, &title) {
                n_here = 0;
            }
            n_here += 1;
            let (left, top) = (self.left_mm(), self.y_mm);
            self.tick_box(left, top);
            let text_mm = left + inset_mm;
            self.lines(&head, (text_mm, top), Hand::new(Face::Bold, LETTER_MM, INK));
            let below = top + head.len() as f64 * LETTER_MM * LEADING + 0.5;
            self.lines(
                &body,
                (text_mm, below),
                Hand::new(Face::Regular, LETTER_MM, INK),
            );
            let corner = DVec2::new(left + column_mm - picture_mm.x, top);
            if let Some(page) = self.pages.last_mut() {
                page.lay_figure(pictures.of(step), corner);
                let rule = top + high_mm - GAP_MM / 2.0;
                let (a, b) = (DVec2::new(left, rule), DVec2::new(left + column_mm, rule));
                page.line(a, b, Pen::new(0.15, RULE));
            }
            self.y_mm += high_mm;
        }
    }

    fn finish(self, title: &str, stamp: &str) -> Vec<Block> {
        let count = self.pages.len();
        let hand = Hand::new(Face::Regular, LETTER_MM, ASIDE);
        let number = |(idx, page): (usize, Drawing)| {
            let mut page = page;
            let DVec2 { x: wide, y: high } = page.size_mm;
            let foot = high - EDGE_MM;
            let sheet = format!("sheet {} of {count}", idx + 1);
            let sheet_mm = face::width(&sheet, hand.face, hand.size_mm);
            let room_mm = wide - 2.0 * EDGE_MM - sheet_mm - 6.0;
            // Which scene it is, so that sheets of two days are not mixed.
            let scene = stamp.split(" · ").nth(1).unwrap_or(stamp);
            let words = format!("{title}, {scene}");
            let words = face::shortened(&words, hand.face, hand.size_mm, room_mm);
            page.text(DVec2::new(EDGE_MM, foot), words, hand);
            page.text(DVec2::new(wide - EDGE_MM, foot), sheet, hand.ending());
            Block::Page(page)
        };
        self.pages.into_iter().enumerate().map(number).collect()
    }
}
