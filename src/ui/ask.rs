//! What a panel can ask of the window itself, beside commands to the desk.

use std::path::PathBuf;

use glam::DVec3;

use crate::desk::{Action, PaperWish};
use crate::scene::{PhotoView, Scene};
use crate::storage::{CrashReport, Leftover};
use crate::ui::filing::Resolution;
use crate::ui::pages::Page;
use crate::ui::sheet::Dropped;

/// One wish to the window.
#[derive(Clone, Debug)]
pub enum Ask {
    /// Do what the table says.
    Do(Action),
    /// Add what was dragged from the shelf where it was let go.
    Drop(Dropped),
    /// Bring this place (in m) into the middle of the sheet.
    FlyTo(DVec3, DVec3),
    /// Show a page over the sheet.
    Show(Box<Page>),
    /// Put the page away.
    Close,
    /// Replace the open scene, after a question if there is unsaved work.
    Replace(Next),
    /// Go on with what waited for the answer about unsaved work.
    GoOn(Next),
    /// Save first, then go on.
    SaveThen(Next),
    /// A path was given by hand.
    Path(PathFor, PathBuf),
    /// A path was given, and what is there may be replaced.
    Chosen(PathFor, PathBuf),
    /// What to keep of a file that someone else changed, and what is next.
    Resolve(Resolution, PathBuf, Option<Next>),
    /// Take the report of an earlier failure away.
    LetReportGo(Box<CrashReport>),
    /// Put what helps to find a fault where it can be pasted from.
    CopyDiagnostics,
    /// Ask for a path.
    Whereto(PathFor),
    /// Open left-over work.
    Recover(Box<Leftover>),
    /// Take left-over work away.
    LetGo(Box<Leftover>),
    /// Place this coral.
    PlaceCoral(String),
    /// Show where this entry would do well.
    Berths(String),
    /// Say what this entry has to be handled with.
    Caution(String),
    /// Make the selected coral one of this entry.
    SetEntry(String),
    /// Stand on the finding at this index.
    Finding(usize),
    /// Look so many months ahead.
    Months(f64),
    /// Draw the line between two layouts, or put it away.
    SwipeLine,
    /// Show this list below the sheet.
    List(Below),
}

/// What the panel below the sheet lists.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Below {
    /// What was noticed.
    #[default]
    Findings,
    /// What growth brings.
    Growth,
    /// The shown layout set against another one.
    Compare,
}

/// What comes onto the desk next.
#[derive(Clone, Debug)]
pub enum Next {
    /// A file.
    File(PathBuf),
    /// A scene that is in no file.
    Scene(Box<Scene>),
    /// Ask for a file.
    AskFile,
    /// Nothing: the program ends.
    Quit,
}

/// What is written for paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PaperFile {
    /// A PDF file.
    Pdf,
    /// An HTML file.
    Html,
    /// A folder with drawings and tables.
    Folder,
}

/// What a path is wanted for.
#[derive(Clone, Debug)]
pub enum PathFor {
    /// To open a scene.
    Open,
    /// To save the scene, and then to go on.
    Save(Option<Next>),
    /// To save a picture of the window.
    Picture,
    /// To read a measured lamp.
    Lamp,
    /// To read a scanned rock.
    Mesh,
    /// To read a table of readings.
    Readings,
    /// To save the charts as a table.
    Charts,
    /// To lay a photo under this view.
    Photo(PhotoView),
    /// To put this on paper, as files of this kind.
    Paper(Box<PaperWish>, PaperFile),
}
