//! Every command that needs no further data, once: label, key, tooltip, group.
//! Menu, searchable list, help page and shortcuts are made from this table.

mod table;

use table::TABLE;

/// A named action.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "the table below says what each does")]
pub enum Action {
    NewTank,
    OpenDemo,
    Open,
    Save,
    SaveAs,
    SavePicture,
    OnPaper,
    Quit,
    Undo,
    Redo,
    Copy,
    Paste,
    Duplicate,
    Remove,
    SelectAll,
    SelectNone,
    Mirror,
    TurnLeft,
    TurnRight,
    LetDown,
    Lock,
    AlignLeft,
    AlignMiddle,
    AlignRight,
    AlignFront,
    AlignBack,
    AlignTops,
    AlignBottoms,
    DistributeAcross,
    DistributeDepth,
    ScaleUp,
    ScaleDown,
    Bond,
    Hide,
    ShowAll,
    Rename,
    AddBoulder,
    AddSlab,
    AddPillar,
    AddArch,
    AddLedge,
    AddRubble,
    DrawRock,
    CutOpening,
    ImportRock,
    Photo,
    PhotoShown,
    AddPump,
    AddReturn,
    AddPanel,
    AddPendant,
    AddTube,
    AddBar,
    AddCoral,
    AddAnimal,
    AddReading,
    WashFlow,
    WashLight,
    WashFit,
    WashNone,
    LightOnSurfaces,
    WashFlowChange,
    WashLightChange,
    WashFitChange,
    Tracers,
    FitSheet,
    ZoomIn,
    ZoomOut,
    ZoomSelection,
    ZoomFinding,
    FillTop,
    FillSide,
    FillEnd,
    FillSolid,
    AllViews,
    FoldPanels,
    MonthsOn,
    MonthsBack,
    Today,
    Improve,
    DayAndWeek,
    Charts,
    ProposePump,
    StopWork,
    FinerCells,
    LooksFiner,
    OnCard,
    Readings,
    PlaceReading,
    ReadReadings,
    MeasuredLamp,
    NextFinding,
    PreviousFinding,
    GrowthList,
    LivesHere,
    CopyLayout,
    RenameLayout,
    RemoveLayout,
    NextLayout,
    LayoutLeft,
    LayoutRight,
    Compare,
    Commands,
    Help,
    About,
    UnitsSwitch,
    NightSheet,
    LargerText,
    SmallerText,
    UsualText,
    LessMotion,
    History,
    Stocklist,
}

/// Where an action stands in the menu.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ActionGroup {
    /// Files.
    Scene,
    /// Changing what is drawn.
    Edit,
    /// Adding things.
    Add,
    /// What the sheet shows.
    View,
    /// Estimates and advice.
    Advice,
    /// Arrangements.
    Layout,
    /// About the program.
    Program,
}

impl ActionGroup {
    /// Its word in the menu.
    pub fn label(self) -> &'static str {
        match self {
            Self::Scene => "scene",
            Self::Edit => "edit",
            Self::Add => "add",
            Self::View => "view",
            Self::Advice => "advice",
            Self::Layout => "layout",
            Self::Program => "program",
        }
    }
}

/// One row of the table: action, group, label, key, tooltip.
struct Row(
    Action,
    ActionGroup,
    &'static str,
    &'static str,
    &'static str,
);

impl Action {
    /// All actions in the order of the menu.
    pub fn all() -> impl Iterator<Item = Self> {
        TABLE.iter().map(|row| row.0)
    }

    fn row(self) -> &'static Row {
        // A test below sees to it that every action has its row.
        TABLE.iter().find(|row| row.0 == self).unwrap_or(&TABLE[0])
    }

    /// Its words in the menu and the searchable list.
    pub fn label(self) -> &'static str {
        self.row().2
    }

    /// Its key, such as `Ctrl+Shift+Z`; empty for none.
    pub fn key(self) -> &'static str {
        self.row().3
    }

    /// What it does, in a sentence.
    pub fn tip(self) -> &'static str {
        self.row().4
    }

    /// Where it stands in the menu.
    pub fn group(self) -> ActionGroup {
        self.row().1
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_and_labels_are_used_once_and_the_table_is_whole() {
        for (i, row) in TABLE.iter().enumerate() {
            for other in &TABLE[i + 1..] {
                assert_ne!(row.0, other.0, "{} stands twice", row.2);
                assert_ne!(row.2, other.2, "label used twice");
                assert!(
                    row.3.is_empty() || row.3 != other.3,
                    "key {} used twice",
                    row.3
                );
            }
        }
        // The last variant's number counts the variants before it.
        assert_eq!(
            TABLE.len(),
            Action::Stocklist as usize + 1,
            "every action has a row"
        );
    }
}
