//! What is computed on: a study of every layout as it is today, and as it is
//! looked at, which may be some months ahead. Brought up to date once an edit;
//! a study is no change of the scene and no step to undo.

use std::sync::Arc;

use super::{Desk, Settings};
use crate::advice::{Pace, grown};
use crate::catalog::Catalog;
use crate::flow::fine_cell_m;
use crate::scene::{Layout, Scene};
use crate::study::{Limits, Study, StudySettings};
use crate::units::M_PER_CM;

/// Most months that can be looked ahead.
pub const MONTHS_MAX: f64 = 60.0;

/// Studies of all layouts of the newest scene, in its order.
pub(super) struct Studies {
    catalog: Arc<Catalog>,
    /// Edge of the flow cells, in m, if it is not left to the engine.
    cell_m: Option<f64>,
    scene: Arc<Scene>,
    /// Grows with every change of what follows.
    edit: u64,
    today: Vec<Arc<Study>>,
    months: f64,
    /// The same ones at no months.
    shown: Vec<Arc<Study>>,
}

impl Studies {
    /// Studies of a scene under these settings.
    pub(super) fn new(scene: &Arc<Scene>, catalog: Arc<Catalog>, settings: &Settings) -> Self {
        let mut studies = Self {
            catalog,
            cell_m: None,
            scene: Arc::clone(scene),
            edit: 1,
            today: Vec::new(),
            months: 0.0,
            shown: Vec::new(),
        };
        let cell_m = studies.cells_for(scene, settings);
        studies.today = studies.made(scene, &study_settings(settings, cell_m), &[]);
        studies.shown.clone_from(&studies.today);
        studies
    }

    /// The study of a layout as it is looked at.
    pub(super) fn shown_of(&self, idx: usize) -> &Arc<Study> {
        &self.shown[idx]
    }

    /// Brings the studies up to date.
    fn follow(&mut self, scene: &Arc<Scene>, settings: &Settings) {
        let cell_m = self.cells_for(scene, settings);
        let wanted = study_settings(settings, cell_m);
        let is_set = self.today.iter().all(|study| *study.settings() == wanted);
        let is_current = is_set && Arc::ptr_eq(&self.scene, scene);
        if is_current && self.months == settings.months {
            return;
        }
        self.edit += 1;
        if !is_current {
            self.today = self.made(scene, &wanted, &self.today);
            self.scene = Arc::clone(scene);
        }
        self.months = settings.months;
        self.shown = if self.months > 0.0 {
            let later = Arc::new(self.grown(scene));
            self.made(&later, &wanted, &self.today)
        } else {
            self.today.clone()
        };
    }

    /// Edge of the flow cells, in m, unless the engine is to choose.
    fn cells_for(&self, scene: &Scene, settings: &Settings) -> Option<f64> {
        let fine = || fine_cell_m(&scene.tank).filter(|_| settings.fine_cells);
        self.cell_m.or_else(fine)
    }

    /// The scene with every coral grown at the usual pace.
    fn grown(&self, scene: &Scene) -> Scene {
        let mut later = scene.clone();
        for layout in &mut later.layouts {
            *layout = grown(layout, &self.catalog, self.months, Pace::Usual);
        }
        later
    }

    fn made(
        &self,
        scene: &Arc<Scene>,
        settings: &StudySettings,
        before: &[Arc<Study>],
    ) -> Vec<Arc<Study>> {
        let made = |idx: usize| match before.get(idx) {
            Some(study) => (study.after(Arc::clone(scene), idx))
                .map(|study| study.with_settings(settings.clone())),
            None => Study::new(
                Arc::clone(scene),
                idx,
                Arc::clone(&self.catalog),
                settings.clone(),
            ),
        };
        // Each index is one of the scene's own.
        let studies = (0..scene.layouts.len()).filter_map(|idx| made(idx).ok());
        studies.map(Arc::new).collect()
    }
}

/// What estimates keep to, as the keeper has set it.
fn study_settings(settings: &Settings, cell_m: Option<f64>) -> StudySettings {
    StudySettings {
        limits: Limits {
            dead_limit_m_s: settings.dead_limit_cm_s * M_PER_CM,
            shade_share: settings.shade_share,
            ..Limits::default()
        },
        cell_m,
        on_card: settings.on_card,
        ..StudySettings::default()
    }
}

impl Desk {
    /// The same desk with flow cells of this edge, in m, instead of those that
    /// the engine chooses.
    #[must_use]
    pub fn with_cells(mut self, cell_m: f64) -> Self {
        self.studies.cell_m = Some(cell_m);
        self.follow_scene();
        self
    }

    /// What is known of corals, the keeper's own entries included.
    pub fn catalog(&self) -> &Arc<Catalog> {
        &self.studies.catalog
    }

    /// The study of the shown layout as it is today.
    pub fn study(&self) -> &Arc<Study> {
        &self.studies.today[self.layout_idx()]
    }

    /// The study of the shown layout as it is looked at: with every coral grown
    /// at the usual pace by the months of the settings. At no months it is that
    /// of today.
    pub fn shown_study(&self) -> &Arc<Study> {
        &self.studies.shown[self.layout_idx()]
    }

    /// Studies of all layouts as they are today, in the scene's order.
    pub(super) fn studies(&self) -> &[Arc<Study>] {
        &self.studies.today
    }

    /// Studies of all layouts as they are looked at, in the scene's order.
    pub(super) fn shown_studies(&self) -> &[Arc<Study>] {
        &self.studies.shown
    }

    /// The scene as it is looked at.
    pub fn shown_scene(&self) -> &Arc<Scene> {
        self.shown_study().scene()
    }

    /// The shown layout as it is looked at.
    pub fn shown_layout(&self) -> &Layout {
        self.shown_study().layout()
    }

    /// Brings the studies up to date with scene and settings, and with them
    /// what results are wanted of.
    pub(super) fn follow_scene(&mut self) {
        self.settings.months = self.settings.months.clamp(0.0, MONTHS_MAX);
        self.studies.follow(self.document.scene(), &self.settings);
        let keys = (self.flow_key(), self.light_key(), self.levels);
        let berths = self.berth_key();
        self.results.look_at(keys, berths, self.settings.is_live);
    }

    /// Which edit this is, for telling a later one from an earlier one.
    pub(super) fn n_edits(&self) -> u64 {
        self.studies.edit
    }
}
