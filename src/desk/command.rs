//! What a panel can ask the desk to do.

use std::path::PathBuf;

use crate::advice::BerthFilters;
use crate::desk::{Action, Change, Levels, Notice, PaperWish, Place, Settings};
use crate::improve::search::ImproveOptions;
use crate::scan::Wishes;
use crate::scene::{ItemId, PhotoView, Scene};

/// One request; [`crate::desk::Desk::run`] is the only place that acts on it.
#[derive(Clone, Debug, PartialEq)]
pub enum Command {
    /// A named action from the table.
    Action(Action),
    /// Selects exactly these items.
    Select(Vec<ItemId>),
    /// Starts a gesture with the label that undo will show.
    Begin(String),
    /// Changes the scene within the gesture.
    Change(Change),
    /// Ends the gesture.
    End,
    /// Ends the gesture as if it had not been.
    Abandon,
    /// A whole gesture of one change.
    Edit(String, Change),
    /// Goes to the state after this many kept steps.
    JumpTo(usize),
    /// Shows another layout.
    ShowLayout(usize),
    /// Cuts the views elsewhere.
    SetLevels(Levels),
    /// Shows berths for this catalog entry, or for none.
    ChooseEntry(Option<String>),
    /// Asks only for these berths.
    FilterBerths(BerthFilters),
    /// Sets the shown layout against this one, or ends that.
    CompareWith(Option<usize>),
    /// Asks what could live at a place, or at none.
    AskPlace(Option<Place>),
    /// Finds what the readings say of lamps, water, panes and pumps.
    Calibrate,
    /// Searches for what to change before anything is bought.
    Improve(Box<ImproveOptions>),
    /// Works out what goes still when a pump or the power fails.
    TryOutage,
    /// Looks at the shown layout on finer cells, beside its estimate.
    TryFiner,
    /// Forgets what the readings were found to say.
    DropCalibration,
    /// Takes in a table of readings (CSV).
    ReadReadings(PathBuf),
    /// Reads a mesh and makes a shape of it.
    ReadScan(PathBuf),
    /// Says what the mesh does not: unit and way up.
    WishScan(Wishes),
    /// Sets the shape into the layout as a rock.
    PlaceScan,
    /// Leaves the mesh where it is.
    DropScan,
    /// Reads a picture to lay it under a view.
    ReadPhoto(PhotoView, PathBuf),
    /// Takes the keeper's choices.
    SetSettings(Box<Settings>),
    /// Opens a file in place of the open scene.
    Open(PathBuf),
    /// Opens a scene that is in no file, such as a demo or a new tank.
    OpenScene(Box<Scene>),
    /// Saves to this file.
    SaveTo(PathBuf),
    /// Reads an IES file for the selected lamp.
    ImportMeasured(PathBuf),
    /// Wants something on paper.
    PutOnPaper(Box<PaperWish>),
    /// Shows a message.
    Tell(Box<Notice>),
    /// Puts the message at this index away.
    PutAway(usize),
}

impl Command {
    /// Its name alone, without what it is about.
    pub fn name(&self) -> &'static str {
        match self {
            Self::Action(action) => action.label(),
            Self::Select(..) => "select",
            Self::Begin(..) => "begin",
            Self::Change(..) => "change",
            Self::End => "end",
            Self::Abandon => "abandon",
            Self::Edit(..) => "edit",
            Self::JumpTo(..) => "jump to",
            Self::ShowLayout(..) => "show layout",
            Self::SetLevels(..) => "set levels",
            Self::ChooseEntry(..) => "choose entry",
            Self::FilterBerths(..) => "filter berths",
            Self::CompareWith(..) => "compare with",
            Self::AskPlace(..) => "ask place",
            Self::SetSettings(..) => "set settings",
            Self::Open(..) => "open",
            Self::OpenScene(..) => "open scene",
            Self::SaveTo(..) => "save to",
            Self::ImportMeasured(..) => "import measured",
            Self::Calibrate => "calibrate",
            Self::Improve(..) => "improve",
            Self::TryOutage => "try outage",
            Self::TryFiner => "try finer",
            Self::DropCalibration => "drop calibration",
            Self::ReadReadings(..) => "read readings",
            Self::ReadScan(..) => "read scan",
            Self::WishScan(..) => "wish scan",
            Self::PlaceScan => "place scan",
            Self::DropScan => "drop scan",
            Self::ReadPhoto(..) => "read photo",
            Self::PutOnPaper(..) => "put on paper",
            Self::Tell(..) => "tell",
            Self::PutAway(..) => "close notice",
        }
    }
}
