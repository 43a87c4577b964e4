//! What the readings say of lamps, water, panes and pumps, worked out beside
//! the window. The keeper sees it before it is taken over, in one step that
//! undo takes back.

use std::path::Path;
use std::sync::Arc;

use super::{Change, Command, Desk, Notice, NoticeKind, Subject};
use crate::improve::calibrate::{Calibration, calibrate};
use crate::improve::{TableError, readings_from_csv};
use crate::job::{Job, JobError, Update};
use crate::scene::{IssueSeverity, Reading, check};
use crate::storage::read_text;

/// The running work, and what the last one was about.
#[derive(Default)]
pub(super) struct Calibrating {
    job: Option<Job<Calibration>>,
    /// The readings and the layout's name.
    about: (Vec<Reading>, String),
}

impl Desk {
    /// Starts the work for the layout that is shown; a running one is left to
    /// finish.
    pub(super) fn start_calibrating(&mut self) {
        if self.calibrating.job.is_some() {
            return;
        }
        self.results.calibration = None;
        let (study, measured) = (Arc::clone(self.study()), Arc::clone(&self.measured));
        let started = Job::start("calibration", Arc::clone(&self.notify), move |context| {
            let found = calibrate(&study, &measured)?;
            context.publish(found);
            Ok(())
        });
        match started {
            Ok(job) => {
                let name = self.layout().name.clone();
                self.calibrating = Calibrating {
                    job: Some(job),
                    about: (self.scene().readings.clone(), name),
                };
            }
            Err(error) => self.fail(
                Subject::Readings,
                "The readings could not be looked at",
                error.to_string(),
            ),
        }
    }

    /// Whether readings are being looked at.
    pub fn is_calibrating(&self) -> bool {
        self.calibrating.job.is_some()
    }

    /// Takes in what was found; what was found of other readings is let go.
    pub(super) fn tend_calibrating(&mut self) {
        let (readings, layout) = &self.calibrating.about;
        let is_of_now = self.scene().readings == *readings && self.layout().name == *layout;
        if !is_of_now {
            self.results.calibration = None;
        }
        let Some(job) = &mut self.calibrating.job else {
            return;
        };
        let (updates, is_over) = (job.poll(), job.is_over());
        if is_over {
            self.calibrating.job = None;
        }
        for update in updates {
            match update {
                Update::Partial(_) if !is_of_now => {
                    let text = "The readings were changed meanwhile: look at them again";
                    self.tell(Notice::new(NoticeKind::Warning, text).about(Subject::Readings));
                }
                Update::Partial(found) => {
                    if found.found.is_empty() {
                        let text = "The readings fix no value; there are too few, or they lie in \
                                    no lamp's light";
                        self.tell(Notice::new(NoticeKind::Warning, text).about(Subject::Readings));
                    }
                    self.results.calibration = Some(Arc::new(found));
                }
                Update::Failed(reason) => {
                    self.fail(
                        Subject::Readings,
                        "The readings fix nothing",
                        reason.to_string(),
                    );
                }
                Update::Done => {}
            }
        }
    }

    /// Takes in a table of readings, all or none; one step to undo.
    pub(super) fn read_readings(&mut self, path: &Path) {
        match self.readings_of_table(path) {
            Ok(found) if found.is_empty() => {
                let reason = format!("{}: the table has no reading", path.display());
                self.fail(Subject::Readings, "No reading was taken in", reason);
            }
            Ok(found) => {
                let n = found.len();
                let mut readings = self.scene().readings.clone();
                readings.extend(found);
                let change = Change::Readings(readings);
                self.run(Command::Edit("take in readings".to_owned(), change));
                let text = match n {
                    1 => "One reading was taken in".to_owned(),
                    n => format!("{n} readings were taken in"),
                };
                self.tell(Notice::new(NoticeKind::Done, text).about(Subject::Readings));
            }
            Err(error) => {
                let reason = format!("{}: {error}", path.display());
                self.fail(Subject::Readings, "No reading was taken in", reason);
            }
        }
    }

    fn readings_of_table(&self, path: &Path) -> Result<Vec<Reading>, JobError> {
        let text = read_text(path)?;
        let found = readings_from_csv(&text, self.scene(), self.layout())?;
        let mut scene = crate::scene::Scene::clone(self.scene());
        scene.readings.extend(found.iter().cloned());
        let fault = check(&scene)
            .into_iter()
            .find(|issue| issue.severity == IssueSeverity::Error);
        match fault {
            Some(fault) => Err(TableError::NoTable {
                reason: fault.to_string(),
            }
            .into()),
            None => Ok(found),
        }
    }
}
