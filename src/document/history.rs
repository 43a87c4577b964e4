//! Whole-scene snapshots, one a gesture, with labels.

use std::sync::Arc;

use crate::scene::Scene;

/// Steps kept; a snapshot shares nothing but is small (a few tens of kB).
const STEPS_MAX: usize = 500;

/// A label and the scene on its far side.
#[derive(Clone, Debug)]
struct Step {
    label: String,
    scene: Arc<Scene>,
}

/// What can be undone and redone.
#[derive(Clone, Debug, Default)]
pub struct History {
    past: Vec<Step>,
    future: Vec<Step>,
    open: Option<Step>,
}

impl History {
    /// Labels of the steps that can be undone, oldest first.
    pub fn past_labels(&self) -> Vec<&str> {
        self.past.iter().map(|step| step.label.as_str()).collect()
    }

    /// Label of the step that undo takes back next.
    pub fn last_label(&self) -> Option<&str> {
        self.past.last().map(|step| step.label.as_str())
    }

    /// Labels of the steps that can be redone, next first.
    pub fn future_labels(&self) -> Vec<&str> {
        self.future
            .iter()
            .rev()
            .map(|step| step.label.as_str())
            .collect()
    }

    /// Whether a gesture is under way.
    pub fn is_open(&self) -> bool {
        self.open.is_some()
    }

    pub(super) fn begin(&mut self, label: &str, scene: &Arc<Scene>) {
        self.open = Some(Step {
            label: label.to_owned(),
            scene: Arc::clone(scene),
        });
    }

    pub(super) fn end(&mut self, scene: &Arc<Scene>) {
        let Some(step) = self.open.take() else { return };
        if Arc::ptr_eq(&step.scene, scene) || *step.scene == **scene {
            return;
        }
        self.future.clear();
        if self.past.len() == STEPS_MAX {
            self.past.remove(0);
        }
        self.past.push(step);
    }

    pub(super) fn abandon(&mut self) -> Option<Arc<Scene>> {
        self.open.take().map(|step| step.scene)
    }

    pub(super) fn undo(&mut self, now: &Arc<Scene>) -> Option<(String, Arc<Scene>)> {
        let step = self.past.pop()?;
        self.future.push(Step {
            label: step.label.clone(),
            scene: Arc::clone(now),
        });
        Some((step.label, step.scene))
    }

    pub(super) fn redo(&mut self, now: &Arc<Scene>) -> Option<(String, Arc<Scene>)> {
        let step = self.future.pop()?;
        self.past.push(Step {
            label: step.label.clone(),
            scene: Arc::clone(now),
        });
        Some((step.label, step.scene))
    }
}
