//! Files under the keeper's hands while others change them: nothing is lost,
//! and nothing is written over without a word.

#![expect(clippy::expect_used, reason = "a broken premise fails the test")]

use std::fs;
use std::path::{Path, PathBuf};

use bommie::desk::{Action, Desk, NoticeKind};
use bommie::document::Document;
use bommie::scene::{Scene, Spread};
use bommie::storage::{self, PREVIOUS_SUFFIX, demos, load, parse, scene_text};

use std::sync::Arc;

fn demo() -> Scene {
    let demo = demos().first().expect("there is a demo");
    parse(demo.text, demo.file).expect("it reads").scene
}

fn desk_on(path: &Path) -> Desk {
    let mut desk = Desk::new(Document::new(demo(), None), Arc::new(|| {}));
    assert!(desk.open(path), "it opens");
    desk
}

fn rename(desk: &mut Desk, name: &str) {
    let path = desk.document().path.clone();
    // As the window does it: a change of the open document.
    let change = bommie::desk::Change::Name(name.to_owned());
    desk.run(bommie::desk::Command::Edit("rename".to_owned(), change));
    assert_eq!(desk.document().path, path, "the same file");
}

fn data(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data")
        .join(name);
    fs::read_to_string(path).expect("it is there")
}

struct Folder(tempfile::TempDir);

impl Folder {
    fn new() -> Self {
        Self(tempfile::tempdir().expect("a folder"))
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn put(&self, name: &str, scene: &Scene) -> PathBuf {
        let path = self.path(name);
        fs::write(&path, scene_text(scene).expect("writes")).expect("written");
        path
    }

    fn read(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).expect("reads")
    }
}

#[test]
fn a_file_that_someone_else_changed_is_not_written_over() {
    let folder = Folder::new();
    let path = folder.put("reef.ron", &demo());
    let mut desk = desk_on(&path);
    rename(&mut desk, "ours");
    let mut theirs = demo();
    "theirs".clone_into(&mut theirs.name);
    folder.put("reef.ron", &theirs);
    assert!(desk.is_other_on_disk(&path), "it is seen");
    desk.look_at_disk();
    desk.look_at_disk();
    let told = desk
        .notices()
        .iter()
        .filter(|it| it.kind == NoticeKind::Warning);
    assert_eq!(told.count(), 1, "and told once: {:?}", desk.notices());
    assert!(!desk.save_to(path.clone()), "not saved");
    desk.run(bommie::desk::Command::Action(Action::Save));
    assert_eq!(
        load(&path).expect("reads").scene.name,
        "theirs",
        "untouched"
    );
    assert!(desk.document().is_unsaved(), "ours is still here");
    // With a yes, theirs is kept beside ours.
    assert!(desk.save_over(path.clone()), "saved");
    assert_eq!(load(&path).expect("reads").scene.name, "ours", "ours");
    let previous = folder.path(&format!("reef.ron{PREVIOUS_SUFFIX}"));
    assert_eq!(
        load(&previous).expect("reads").scene.name,
        "theirs",
        "theirs"
    );
    // From then on it is ours again.
    rename(&mut desk, "newer");
    assert!(desk.save_to(path.clone()), "saved without a question");
    // Touched or written again with the same words, it is no other file.
    let same = folder.read("reef.ron");
    fs::write(&path, same).expect("written");
    rename(&mut desk, "newest");
    assert!(desk.save_to(path), "saved without a question");
}

#[test]
fn a_folder_that_vanished_loses_nothing() {
    let folder = Folder::new();
    fs::create_dir(folder.path("sub")).expect("made");
    let path = folder.put("sub/reef.ron", &demo());
    let mut desk = desk_on(&path);
    rename(&mut desk, "ours");
    fs::remove_dir_all(folder.path("sub")).expect("gone");
    assert!(!desk.save_to(path), "not saved");
    let told = desk.notices().last().expect("it is told");
    assert!(
        told.details.contains("its folder does not exist"),
        "{told:?}"
    );
    assert!(!told.details.contains(".part"), "{told:?}");
    assert!(desk.document().is_unsaved(), "it counts as unsaved");
    assert_eq!(desk.scene().name, "ours", "and is still here");
    assert!(desk.save_to(folder.path("else.ron")), "saved elsewhere");
}

fn lamp_file(scene: &Scene) -> &str {
    let lamp = &scene.layouts[0].lamps[0];
    match &lamp.spread {
        Spread::Measured { file, .. } => file,
        Spread::Beam { .. } => panic!("the lamp is measured"),
    }
}

fn with_lamp_file(name: &str) -> Scene {
    let mut scene = demo();
    scene.layouts[0].lamps[0].spread = Spread::measured(name.to_owned());
    scene
}

#[test]
fn a_scene_saved_elsewhere_takes_its_lamp_files_along() {
    let folder = Folder::new();
    for sub in ["old", "new", "full"] {
        fs::create_dir(folder.path(sub)).expect("made");
    }
    let (ours, theirs) = (data("light_cos80.ies"), data("light_cos120.ies"));
    fs::write(folder.path("old/panel.ies"), &ours).expect("written");
    fs::write(folder.path("full/panel.ies"), &theirs).expect("written");
    let path = folder.put("old/reef.ron", &with_lamp_file("panel.ies"));
    let mut desk = desk_on(&path);
    assert!(desk.save_to(folder.path("new/reef.ron")), "saved elsewhere");
    assert_eq!(
        folder.read("new/panel.ies"),
        ours,
        "the lamp file came along"
    );
    // Where another file has its name, both stay, and each scene keeps its own.
    assert!(
        desk.save_to(folder.path("full/reef.ron")),
        "saved elsewhere"
    );
    assert_eq!(folder.read("full/panel.ies"), theirs, "theirs is untouched");
    let saved = load(&folder.path("full/reef.ron")).expect("reads").scene;
    let name = lamp_file(&saved);
    assert_ne!(name, "panel.ies", "ours has another name");
    assert_eq!(folder.read(&format!("full/{name}")), ours, "and is whole");
    let reopened = desk_on(&folder.path("full/reef.ron"));
    assert!(reopened.notices().is_empty(), "{:?}", reopened.notices());
    // A scene moved by hand to where another file has the name is told of.
    fs::copy(folder.path("new/reef.ron"), folder.path("full/moved.ron")).expect("copied");
    let moved = desk_on(&folder.path("full/moved.ron"));
    let told = moved.notices().first().expect("a word");
    assert!(
        told.summary.contains("another file than before"),
        "{told:?}"
    );
    fs::remove_file(folder.path("full/panel.ies")).expect("gone");
    let lost = desk_on(&folder.path("full/moved.ron"));
    let told = lost.notices().first().expect("a word");
    assert!(told.summary.contains("could not be read"), "{told:?}");
}

#[test]
fn two_lamp_files_of_one_name_stay_two() {
    let folder = Folder::new();
    for (sub, file) in [("a", "light_cos80.ies"), ("b", "light_cos120.ies")] {
        fs::create_dir(folder.path(sub)).expect("made");
        fs::write(folder.path(&format!("{sub}/lamp.ies")), data(file)).expect("written");
    }
    let mut desk = Desk::new(Document::new(demo(), None), Arc::new(|| {}));
    let lamps: Vec<_> = desk.layout().lamps.iter().map(|lamp| lamp.id).collect();
    assert!(lamps.len() >= 2, "the demo has two lamps");
    for (lamp, sub) in lamps.iter().zip(["a", "b"]) {
        desk.run(bommie::desk::Command::Select(vec![*lamp]));
        desk.import_measured(&folder.path(&format!("{sub}/lamp.ies")));
    }
    let kept = desk.new_lamp_files();
    assert_eq!(kept.len(), 2, "both are kept with unsaved work");
    assert!(desk.save_to(folder.path("reef.ron")), "saved");
    let saved = load(&folder.path("reef.ron")).expect("reads").scene;
    let beside = storage::read_beside(&saved, folder.0.path());
    assert!(beside.faults.is_empty(), "{beside:?}");
    let mut texts: Vec<String> = beside.texts.into_values().collect();
    let mut wanted = vec![data("light_cos80.ies"), data("light_cos120.ies")];
    texts.sort();
    wanted.sort();
    assert_eq!(texts, wanted, "each lamp has its own");
    assert!(
        desk.new_lamp_files().is_empty(),
        "they lie beside the scene now"
    );
}

#[cfg(feature = "gui")]
mod shown {
    use super::*;
    use crate::hand::{click, enter, press, start, window};
    use bommie::ui::{Start, text};
    use egui::{Key, Modifiers, Role};
    use egui_kittest::kittest::Queryable as _;

    fn open_window(path: &Path, folder: &Path) -> crate::hand::Window {
        window(Start {
            path: Some(path.to_owned()),
            folder: Some(folder.to_owned()),
            ..start(false)
        })
    }

    #[test]
    fn two_windows_on_one_file_lose_nothing() {
        let folder = Folder::new();
        let path = folder.put("reef.ron", &demo());
        let data = folder.path("data");
        let mut first = open_window(&path, &data);
        let mut second = open_window(&path, &data);
        let told = second.state().desk().notices().to_vec();
        let word = told.iter().find(|it| it.summary == text::OPEN_ELSEWHERE);
        let word = word.expect("the second one is told");
        let name = format!("process {}", std::process::id());
        assert!(word.details.contains(&name), "by name: {word:?}");
        for (window, thing) in [(&mut first, "arch"), (&mut second, "slab")] {
            click(window, Role::Button, thing);
        }
        press(&mut first, Modifiers::COMMAND, Key::S);
        let theirs = load(&path).expect("reads").scene;
        assert_eq!(theirs, *crate::hand::scene(&first), "the first one saved");
        press(&mut second, Modifiers::COMMAND, Key::S);
        assert_eq!(
            load(&path).expect("reads").scene,
            theirs,
            "not yet written over"
        );
        click(&mut second, Role::Button, text::KEEP_BOTH);
        assert_eq!(load(&path).expect("reads").scene, theirs, "theirs stays");
        let both = load(&folder.path("reef-2.ron"))
            .expect("ours is beside it")
            .scene;
        assert_eq!(both, *crate::hand::scene(&second), "whole");
        assert!(!second.state().desk().document().is_unsaved(), "and saved");
    }

    #[test]
    fn the_changed_file_can_be_opened_and_ours_is_kept() {
        let folder = Folder::new();
        let path = folder.put("reef.ron", &demo());
        let data = folder.path("data");
        let mut window = open_window(&path, &data);
        click(&mut window, Role::Button, "arch");
        let ours = crate::hand::scene(&window);
        let mut theirs = demo();
        "theirs".clone_into(&mut theirs.name);
        folder.put("reef.ron", &theirs);
        press(&mut window, Modifiers::COMMAND, Key::S);
        click(&mut window, Role::Button, text::TAKE_THEIRS);
        assert_eq!(crate::hand::scene(&window).name, "theirs", "opened");
        drop(window);
        let kept = storage::leftovers(&data);
        assert!(
            kept.iter().any(|it| it.scene == *ours),
            "ours is offered next time"
        );
    }

    #[test]
    fn a_typed_name_that_is_taken_is_asked_about() {
        let folder = Folder::new();
        let mut window = window(start(false));
        let taken = folder.path("mine.ron");
        fs::write(&taken, "something else").expect("written");
        press(&mut window, Modifiers::COMMAND, Key::S);
        let words = taken.display().to_string();
        enter(&mut window, Role::TextInput, text::PATH_NAME, &words);
        assert_eq!(folder.read("mine.ron"), "something else", "not yet");
        click(&mut window, Role::Button, text::REPLACE_IT);
        let saved = load(&taken).expect("it is a scene now").scene;
        assert_eq!(saved, *crate::hand::scene(&window), "with a yes");
        let previous = folder.read(&format!("mine.ron{PREVIOUS_SUFFIX}"));
        assert_eq!(previous, "something else", "kept even so");
    }

    #[test]
    fn a_crash_is_told_at_the_next_start_and_diagnostics_can_be_copied() {
        let folder = Folder::new();
        let data = folder.path("data");
        fs::create_dir(&data).expect("made");
        fs::write(data.join("crash-77.txt"), "Bommie ended\n").expect("written");
        let path = folder.put("reef.ron", &demo());
        let mut window = open_window(&path, &data);
        window.get_by_label(text::CRASHED);
        click(&mut window, Role::Button, text::COPY_REPORT);
        click(&mut window, Role::Link, text::LET_GO);
        assert!(window.query_by_label(text::CRASHED).is_none(), "put away");
        assert!(!data.join("crash-77.txt").exists(), "and gone");
        press(&mut window, Modifiers::NONE, Key::F1);
        let link = window.get_by_role_and_label(Role::Link, text::COPY_DIAGNOSTICS);
        link.scroll_to_me();
        window.run_steps(3);
        click(&mut window, Role::Link, text::COPY_DIAGNOSTICS);
        let said = window.state().desk().notices().to_vec();
        let is_said = said.iter().any(|it| it.summary == text::DIAGNOSTICS_COPIED);
        assert!(is_said, "{said:?}");
    }
}
