//! Words about what goes on paper.

use crate::desk::{PaperKind, PaperStatus};
use crate::plan::{Held, Paper};

words! {
    PAGE_PAPER = "plan on paper";
    PATH_PAPER = "Where to save what goes on paper";
    PDF_FILES = "PDF documents";
    HTML_FILES = "HTML pages";
    PLAN_FILE = "plan";
    COMPARISON_FILE = "comparison";
    BOOKLET_FILE = "moving-day";
    PAPER_HELD = "held";
    PAPER_WHAT = "what";
    PAPER_SIZE = "paper";
    PAPER_WAY = "the tank now";
    PAPER_NO_WAY = "as in this layout";
    PAPER_AGAINST = "against";
    PAPER_BERTHS = "best places for";
    PAPER_NO_BERTHS = "none";
    PAPER_LID = "top view at full size, in tiles for the lid";
    PAPER_LID_ROW = "for the lid";
    SAVE_PDF = "save as PDF";
    SAVE_HTML = "save as a web page";
    CHOOSE_FOLDER = "save into a folder";
    PAPER_WAITS = "It is made as soon as flow and light have settled; go on working meanwhile. Ctrl+. stops it.";
    PAPER_NEEDS_LAYOUT = "There is only one layout. Duplicate it (Ctrl+L) and change the copy.";
}

/// What can be put on paper.
pub const PAPER_KINDS: [(PaperKind, &str); 4] = [
    (PaperKind::Plan, "the plan"),
    (PaperKind::Comparison, "a comparison"),
    (PaperKind::MovingDay, "moving day"),
    (PaperKind::Parts, "single drawings and tables"),
];

/// Papers to print on.
pub const PAPERS: [(Paper, &str); 2] = [(Paper::A4, "A4"), (Paper::Letter, "Letter")];

/// How the sheets of a booklet are held.
pub const HELDS: [(Held, &str); 2] = [(Held::Upright, "upright"), (Held::Across, "across")];

/// What a kind of document holds.
pub const fn paper_words(kind: PaperKind) -> &'static str {
    match kind {
        PaperKind::Plan => {
            "Drawings to scale, flow and light, what was noticed, what stands where, what it weighs, cautions, and a sheet to lay on the lid. If the tank is still as in another layout: each step from there, in order."
        }
        PaperKind::Comparison => {
            "Both layouts beside each other with flow and light, the figures, what becomes of each coral, and each step from the other layout to this one."
        }
        PaperKind::MovingDay => {
            "A booklet to be read with wet hands: safety, what is needed, and each step from the layout that the tank is in now to this one, with a picture, places as a tape measures them and a box to tick."
        }
        PaperKind::Parts => {
            "Every view bare and with each wash as SVG and PNG, every table of the plan as CSV."
        }
    }
}

/// Where something for paper stands, if anywhere.
pub const fn paper_status(status: PaperStatus) -> Option<&'static str> {
    match status {
        PaperStatus::Idle => None,
        PaperStatus::Waiting => Some("plan waits for the estimates"),
        PaperStatus::Making => Some("plan is being made"),
    }
}
