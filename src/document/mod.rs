//! A scene with its history and revision. It does no I/O and knows no screen.

mod history;

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

pub use history::History;

use crate::scene::Scene;

/// The open scene, where it lives, and how it came to be.
#[derive(Clone, Debug)]
pub struct Document {
    scene: Arc<Scene>,
    /// File it was read from or saved to.
    pub path: Option<PathBuf>,
    number: u64,
    revision: u64,
    saved: Option<Arc<Scene>>,
    history: History,
}

impl Document {
    /// A document that shows `scene` and has nothing to undo.
    pub fn new(scene: Scene, path: Option<PathBuf>) -> Self {
        static OPENED: AtomicU64 = AtomicU64::new(0);
        let scene = Arc::new(scene);
        Self {
            number: OPENED.fetch_add(1, Ordering::Relaxed),
            saved: Some(Arc::clone(&scene)),
            scene,
            path,
            revision: 0,
            history: History::default(),
        }
    }

    /// The scene as it stands now.
    pub fn scene(&self) -> &Arc<Scene> {
        &self.scene
    }

    /// Tells it from every other document of this run of the program.
    pub fn number(&self) -> u64 {
        self.number
    }

    /// Grows with every change, undo and redo included.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// Whether it differs from what was last read or saved.
    pub fn is_unsaved(&self) -> bool {
        self.saved
            .as_ref()
            .is_none_or(|saved| !Arc::ptr_eq(&self.scene, saved) && *self.scene != **saved)
    }

    /// Notes that the scene as it stands was written to `path`.
    pub fn mark_saved(&mut self, path: PathBuf) {
        self.path = Some(path);
        self.saved = Some(Arc::clone(&self.scene));
    }

    /// Notes that the scene as it stands is in no file of the keeper's, as
    /// after a recovery.
    pub fn mark_unsaved(&mut self) {
        self.saved = None;
    }

    /// Steps that can be undone and redone.
    pub fn history(&self) -> &History {
        &self.history
    }

    /// One change that is one step.
    pub fn edit(&mut self, label: &str, change: impl FnOnce(&mut Scene)) {
        self.begin(label);
        self.change(change);
        self.end();
    }

    /// Starts a gesture: all changes until [`Self::end`] are one step. A
    /// gesture that is still open is ended first.
    pub fn begin(&mut self, label: &str) {
        self.end();
        self.history.begin(label, &self.scene);
    }

    /// Changes the scene within a gesture (or as a step called "change").
    pub fn change(&mut self, change: impl FnOnce(&mut Scene)) {
        if !self.history.is_open() {
            self.history.begin("change", &self.scene);
        }
        change(Arc::make_mut(&mut self.scene));
        self.revision += 1;
    }

    /// Ends the gesture; nothing is kept of one that changed nothing.
    pub fn end(&mut self) {
        self.history.end(&self.scene);
    }

    /// Goes back to the scene before the open gesture.
    pub fn abandon(&mut self) {
        if let Some(before) = self.history.abandon() {
            self.scene = before;
            self.revision += 1;
        }
    }

    /// Takes the last step back; its label, or `None` if there is none.
    pub fn undo(&mut self) -> Option<String> {
        self.end();
        let (label, scene) = self.history.undo(&self.scene)?;
        self.scene = scene;
        self.revision += 1;
        Some(label)
    }

    /// Does the last undone step again; its label, or `None` if there is none.
    pub fn redo(&mut self) -> Option<String> {
        self.end();
        let (label, scene) = self.history.redo(&self.scene)?;
        self.scene = scene;
        self.revision += 1;
        Some(label)
    }

    /// Goes to the state after `n_past` of the kept steps.
    pub fn jump(&mut self, n_past: usize) {
        while self.history.past_labels().len() > n_past && self.undo().is_some() {}
        while self.history.past_labels().len() < n_past && self.redo().is_some() {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::{FORMAT, Layout, Sand, Sides, Tank, Water};

    fn scene() -> Scene {
        Scene {
            format: FORMAT,
            name: "start".to_owned(),
            tank: Tank {
                length_cm: 60.0,
                width_cm: 50.0,
                height_cm: 50.0,
                water_cm: 45.0,
                sand: Sand::default(),
                sides: Sides::default(),
                panes: crate::scene::Panes::default(),
                water: Water::default(),
                returns: vec![],
                overflow: None,
            },
            layouts: vec![Layout::default()],
            readings: vec![],
            animals: vec![],
            underlays: vec![],
        }
    }

    fn rename(document: &mut Document, name: &str) {
        let name = name.to_owned();
        document.change(|scene| scene.name = name);
    }

    #[test]
    fn a_gesture_of_many_changes_is_one_step() {
        let mut document = Document::new(scene(), None);
        document.begin("rename");
        for name in ["a", "ab", "abc"] {
            rename(&mut document, name);
        }
        document.end();
        assert_eq!(document.history().past_labels(), ["rename"], "one step");
        assert_eq!(
            document.undo().as_deref(),
            Some("rename"),
            "undone by its label"
        );
        assert_eq!(document.scene().name, "start", "back at the start");
        assert_eq!(document.redo().as_deref(), Some("rename"), "done again");
        assert_eq!(document.scene().name, "abc", "forward to the end");
    }

    #[test]
    fn a_gesture_that_changes_nothing_leaves_no_step() {
        let mut document = Document::new(scene(), None);
        document.begin("nothing");
        rename(&mut document, "else");
        rename(&mut document, "start");
        document.end();
        assert!(
            document.history().past_labels().is_empty(),
            "no step was kept"
        );
    }

    #[test]
    fn an_abandoned_gesture_is_as_if_it_never_was() {
        let mut document = Document::new(scene(), None);
        document.begin("drag");
        rename(&mut document, "dragged");
        document.abandon();
        assert_eq!(document.scene().name, "start", "put back");
        assert_eq!(document.undo(), None, "nothing to undo");
    }

    #[test]
    fn jumping_reaches_any_step_both_ways() {
        let mut document = Document::new(scene(), None);
        for name in ["one", "two", "three"] {
            document.edit(name, |scene| name.clone_into(&mut scene.name));
        }
        document.jump(1);
        assert_eq!(document.scene().name, "one", "after the first step");
        document.jump(3);
        assert_eq!(document.scene().name, "three", "after the last step");
    }

    #[test]
    fn saving_is_noticed_and_undo_after_it_counts_as_unsaved() {
        let mut document = Document::new(scene(), None);
        document.edit("rename", |scene| "new".clone_into(&mut scene.name));
        assert!(document.is_unsaved(), "changed since it was opened");
        document.mark_saved(PathBuf::from("reef.ron"));
        assert!(!document.is_unsaved(), "just saved");
        let _ = document.undo();
        assert!(document.is_unsaved(), "differs from the file again");
    }
}
