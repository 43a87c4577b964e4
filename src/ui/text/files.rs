//! Words about files: what is there already, who else has one open, and what
//! a program that failed has left.

use std::path::Path;

words! {
    PATH_MESH = "scanned rock (OBJ, STL, PLY, GLB)";
    MESH_FILES = "mesh of a scan";
    PAGE_SCANNED = "a scanned rock";
    SCAN_UNIT = "unit of the mesh";
    SCAN_UP = "axis that is up";
    SCAN_RUNNING = "being read and closed …";
    SCAN_REFUSED = "This mesh cannot become a rock:";
    SCAN_PLACE = "set it into the tank";
    SCAN_LEAVE = "leave it";
    PAGE_TAKEN = "a file of this name";
    OTHER_NAME = "another name";
    REPLACE_IT = "replace it";
    IS_OPEN_FILE = "This is the open scene's own file; pick another name";
    PAGE_CHANGED = "changed by someone else";
    KEEP_BOTH = "keep both";
    KEEP_BOTH_WORDS = "Saves yours beside it under a new name and leaves the other as it is.";
    TAKE_THEIRS = "open the changed one";
    TAKE_THEIRS_WORDS = "Yours is kept on this machine and offered at the next start.";
    KEEP_OURS = "save over it";
    KEEP_OURS_WORDS = "The changed one stays beside yours, with .previous after its name.";
    OPEN_ELSEWHERE = "This file is open in another window as well";
    CRASHED = "Bommie failed in an earlier run";
    CRASHED_WORDS = "A report of it is kept on this machine: version, system, the scene in figures, the last commands and the place in the program; no names and no words of yours. Copy it into a bug report if you like.";
    COPY_REPORT = "copy the report";
    COPY_DIAGNOSTICS = "copy diagnostics";
    COPY_DIAGNOSTICS_TIP = "Version, system, the scene in figures and the last commands, for a bug report; no names and no words of yours";
    DIAGNOSTICS_COPIED = "The diagnostics are ready to be pasted";
    FOR_BUGS = "If something is wrong";
}

/// Whether to replace what is there.
pub fn taken_question(path: &Path) -> String {
    let what = if path.is_dir() {
        "This folder has things in it. Files of the same names are replaced"
    } else {
        "There is a file of this name already"
    };
    format!("{what}: {}", path.display())
}

/// Which of two versions to keep.
pub fn changed_question(path: &Path) -> String {
    format!(
        "Someone else changed this file since it was opened here; nothing is written yet: {}",
        path.display()
    )
}

/// Who has the file open.
pub fn other_window(name: &str, age: &str) -> String {
    format!("{name} opened it {age}. Whoever saves last is asked which of the two to keep.")
}
