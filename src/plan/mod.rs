//! The plan on paper: drawings to scale, tables and cautions as one document,
//! as PDF, HTML, SVG
//! and PNG. It makes bytes and text and writes no files.
//!
//! A drawing is pure data in mm ([`Drawing`]); all outputs are made of
//! the same one. The same input gives the same bytes: no clock is read.

use bommie_advice as advice;
use bommie_draw as draw;
use bommie_flow as flow;
use bommie_light as light;
use bommie_model::{catalog, geometry, scene, study, units};
use bommie_words as words;

mod booklet;
mod booklet_picture;
mod booklet_tape;
mod booklet_words;
mod contents;
mod face;
mod glass;
mod html;
mod ink;
mod labels;
mod lid;
mod listed;
mod listing;
mod pages;
pub mod palette;
mod pdf;
mod png;
mod readings;
mod rocks;
mod sheet;
mod solid;
mod svg;
mod table;
mod versus;
mod view;
mod wash;

pub use bommie_draw::{Levels, View};
pub use booklet::{BookletInput, Held};
pub use ink::{Anchor, Drawing, Face, Figure, Hand, Mark, Pen, Stroke, Wash};
pub use pdf::PdfError;
pub use png::PngError;
pub use sheet::Picture;
pub use table::{Block, Cell, Column, Table};
pub use view::{Frame, scale_for};
pub use wash::WashKind;

use glam::DVec2;
use listed::Made;

use crate::advice::{AdviceInput, Berth, Finding};
use crate::catalog::{Catalog, Entry};
use crate::light::LightSolver;
use crate::scene::{Coral, Scene};
use crate::units::UnitSystem;
use crate::words::Speaker;

/// Paper to print on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// ISO 216: 210 × 297 mm.
    #[default]
    A4,
    /// ANSI A: 8.5 × 11 in.
    Letter,
}

impl Paper {
    /// Width and height of a sheet that lies on its long side, in mm.
    pub fn size_mm(self) -> DVec2 {
        match self {
            Self::A4 => DVec2::new(297.0, 210.0),
            Self::Letter => DVec2::new(279.4, 215.9),
        }
    }
}

/// Places that are kept in mind for one catalog entry.
#[derive(Clone, Copy, Debug)]
pub struct BerthList<'a> {
    /// The entry.
    pub entry: &'a Entry,
    /// Its places, best first.
    pub berths: &'a [Berth],
}

/// The way between the layout of a plan and another one.
#[derive(Clone, Copy)]
pub struct Way<'a> {
    /// The other layout; with the light of both, corals are brought from one
    /// light to the other.
    pub other: &'a AdviceInput<'a>,
    /// Whether the way comes from there; else it leads there.
    pub is_from: bool,
}

/// What a plan is made of.
#[derive(Clone, Copy)]
pub struct PlanInput<'a> {
    /// Scene, layout and fields.
    pub advice: &'a AdviceInput<'a>,
    /// Light anywhere, for the light wash.
    pub solver: Option<&'a LightSolver>,
    /// What was noticed, worst first.
    pub findings: &'a [Finding],
    /// Places for corals to come.
    pub berths: &'a [BerthList<'a>],
    /// Another layout, if the way between the two is asked for.
    pub way: Option<Way<'a>>,
    /// What keeps a part away or makes it doubtful.
    pub notes: &'a [String],
    /// Paper to print on.
    pub paper: Paper,
    /// Units of all values.
    pub units: UnitSystem,
    /// Whether tiles at full size are added, to lay on the lid.
    pub with_tiles: bool,
    /// Where the views are cut, as on the screen; chosen by the layout without.
    pub levels: Option<Levels>,
}

impl PlanInput<'_> {
    /// Where the views are cut.
    fn levels(&self) -> Levels {
        let chosen = || Levels::of_layout(self.advice.scene, self.advice.layout);
        self.levels.unwrap_or_else(chosen)
    }
}

impl<'a> PlanInput<'a> {
    /// Who says things on the plan.
    pub(crate) fn speaker(&self) -> Speaker<'a> {
        let speaker = Speaker::new(self.advice.scene, self.advice.layout, self.units);
        match self.way {
            Some(way) => speaker.knowing(way.other.layout),
            None => speaker,
        }
    }
}

/// A document: drawings and tables in order.
#[derive(Clone, Debug, PartialEq)]
pub struct Document {
    /// What stands in its head.
    pub title: String,
    /// What stands beside it.
    pub subtitle: String,
    /// What it was made from, in the foot.
    pub stamp: String,
    /// Paper to print on.
    pub paper: Paper,
    /// Its parts.
    pub blocks: Vec<Block>,
}

impl Document {
    /// The plan of a layout.
    pub fn new(input: &PlanInput<'_>) -> Self {
        contents::plan(input)
    }

    /// Two layouts of one scene side by side, and the way from one to the other.
    pub fn comparison(first: &PlanInput<'_>, second: &PlanInput<'_>) -> Self {
        contents::comparison(first, second)
    }

    /// The booklet for moving day, which is pages only.
    pub fn booklet(input: &BookletInput<'_>) -> Self {
        booklet::booklet(input, contents::stamp(input.scene))
    }

    /// As a PDF file, without a date: the same document gives the same bytes.
    ///
    /// # Errors
    /// [`PdfError`], which no document is known to cause.
    pub fn pdf(&self) -> Result<Vec<u8>, PdfError> {
        let title = format!("{}: {}", self.title, self.subtitle);
        pdf::pdf(&title, &self.pages())
    }

    /// As one HTML file that needs no other.
    pub fn html(&self) -> String {
        html::html(self)
    }

    /// Its tables with file names that say what they hold, after the headings
    /// above them: no two are the same.
    pub fn tables(&self) -> Vec<(String, &Table)> {
        let (mut title, mut named) = (String::new(), Vec::<(String, &Table)>::new());
        for block in &self.blocks {
            match block {
                Block::Heading(text, _) => title.clone_from(text),
                Block::Table(table) => {
                    let plain = file_word(&title);
                    let taken = |name: &str| named.iter().any(|(other, _)| other == name);
                    let numbered = (2..).map(|n| format!("{plain}-{n}"));
                    let mut names = std::iter::once(plain.clone()).chain(numbered);
                    let name = names.find(|name| !taken(name)).unwrap_or(plain);
                    named.push((name, table));
                }
                _ => {}
            }
        }
        named
    }

    /// Its printed pages as drawings.
    pub fn pages(&self) -> Vec<Drawing> {
        pages::pages(self)
    }
}

/// One view of a layout as a drawing; none where its wash has no field.
pub fn picture(input: &PlanInput<'_>, picture: &Picture) -> Option<Drawing> {
    let level_cm = picture.level_cm;
    let levels = Levels {
        top_cm: level_cm,
        side_cm: level_cm,
        end_cm: level_cm,
    };
    let made = Made::new(input.advice.study, levels);
    sheet::picture(input, &made, picture)
}

/// Every view at one scale, bare and with each wash that there is, with a name
/// for its file.
pub fn pictures(input: &PlanInput<'_>) -> Vec<(String, Drawing)> {
    let levels = input.levels();
    let made = Made::new(input.advice.study, levels);
    let scale = picture_scale(input.advice.scene);
    let washes = [None, Some(WashKind::Flow), Some(WashKind::Light)];
    let all = View::ALL
        .into_iter()
        .flat_map(|view| washes.map(|wash| (view, wash)));
    all.filter_map(|(view, wash)| {
        let wanted = Picture {
            view,
            wash,
            level_cm: levels.of(view),
            scale,
        };
        let word = wash.map_or("plan", WashKind::word);
        Some((
            format!("{word}-{}", view.word()),
            sheet::picture(input, &made, &wanted)?,
        ))
    })
    .collect()
}

/// The scale at which the tank's longest side is at most 24 cm on paper.
pub fn picture_scale(scene: &Scene) -> f64 {
    let tank = &scene.tank;
    let size = DVec2::new(tank.length_cm.max(tank.width_cm), tank.height_cm);
    scale_for(size, DVec2::splat(240.0))
}

/// Words as part of a file's name: small letters, digits and hyphens.
pub fn file_word(words: &str) -> String {
    let letters = words
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { ' ' });
    let plain: String = letters.flat_map(char::to_lowercase).collect();
    plain.split_whitespace().collect::<Vec<_>>().join("-")
}

/// What a coral is called: by its keeper, else by the trade.
fn coral_name(catalog: &Catalog, coral: &Coral) -> String {
    if !coral.name.is_empty() {
        return coral.name.clone();
    }
    let entry = catalog.entry(&coral.entry);
    entry.map_or_else(|| coral.entry.clone(), |entry| entry.plain_name.clone())
}
