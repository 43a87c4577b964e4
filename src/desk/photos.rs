//! Photos under the drawing on the desk: read and decoded beside the window,
//! laid under a view in one step, brought along when the scene is saved.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::{Change, Command, Desk, Subject};
use crate::job::{Job, JobError, Update};
use crate::photo::Picture;
use crate::scene::{PhotoView, Underlay};
use crate::storage::{self, PhotoFiles};

/// The photos of the open scene.
#[derive(Default)]
pub(super) struct Photos {
    /// What the files hold, by the name that the scene gives them.
    files: PhotoFiles,
    /// Their dots, once they are decoded.
    pictures: BTreeMap<String, Arc<Picture>>,
    /// Those that lie beside no scene yet.
    new: Vec<String>,
    jobs: Vec<Job<News>>,
    /// Why the last one could not be brought in.
    fault: Option<String>,
}

/// What the work sends.
enum News {
    /// A picture that was brought in for a view.
    Brought(PhotoView, String, Arc<Vec<u8>>, Arc<Picture>),
    /// A picture of the scene that was opened.
    Read(String, Arc<Picture>),
}

impl Desk {
    /// Dots of a photo of the scene, once they are there.
    pub fn picture(&self, file: &str) -> Option<&Arc<Picture>> {
        self.photos.pictures.get(file)
    }

    /// Whether a photo is being read.
    pub fn reads_photos(&self) -> bool {
        !self.photos.jobs.is_empty()
    }

    /// Why the last photo could not be brought in.
    pub fn photo_fault(&self) -> Option<&str> {
        self.photos.fault.as_deref()
    }

    /// Photos that lie beside no scene yet, by name.
    pub fn new_photos(&self) -> PhotoFiles {
        let files = self.photos.files.iter();
        files
            .filter(|(file, _)| self.photos.new.contains(file))
            .map(|(file, bytes)| (file.clone(), Arc::clone(bytes)))
            .collect()
    }

    /// Takes in photos that were kept with unsaved work.
    pub fn take_photos(&mut self, files: PhotoFiles) {
        for (file, bytes) in files {
            self.decode_photo(file.clone(), Arc::clone(&bytes));
            self.photos.new.push(file.clone());
            self.photos.files.insert(file, bytes);
        }
    }

    /// Reads a picture to lay it under a view.
    pub(super) fn read_photo(&mut self, view: PhotoView, path: PathBuf) {
        self.photos.fault = None;
        let started = Job::start("photo", Arc::clone(&self.notify), move |context| {
            let bytes = storage::read_photo(&path)?;
            let picture = Picture::read(&bytes).map_err(|error| JobError::Photo {
                file: path.display().to_string(),
                source: error,
            })?;
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            let (bytes, picture) = (Arc::new(bytes), Arc::new(picture));
            context.publish(News::Brought(view, name.into_owned(), bytes, picture));
            Ok(())
        });
        match started {
            Ok(job) => self.photos.jobs.push(job),
            Err(error) => self.photos.fault = Some(error.to_string()),
        }
    }

    fn decode_photo(&mut self, file: String, bytes: Arc<Vec<u8>>) {
        let started = Job::start("photo", Arc::clone(&self.notify), move |context| {
            let picture = Picture::read(&bytes).map_err(|error| JobError::Photo {
                file: file.clone(),
                source: error,
            })?;
            context.publish(News::Read(file, Arc::new(picture)));
            Ok(())
        });
        match started {
            Ok(job) => self.photos.jobs.push(job),
            Err(error) => self.fail(
                Subject::Photo,
                "A photo could not be read",
                error.to_string(),
            ),
        }
    }

    /// Takes in what the work sent.
    pub(super) fn tend_photos(&mut self) {
        let mut news = Vec::new();
        for job in &mut self.photos.jobs {
            news.extend(job.poll());
        }
        self.photos.jobs.retain(|job| !job.is_over());
        for update in news {
            match update {
                Update::Partial(News::Brought(view, name, bytes, picture)) => {
                    self.lay_photo(view, &name, bytes, picture);
                }
                Update::Partial(News::Read(file, picture)) => {
                    self.photos.pictures.insert(file, picture);
                }
                Update::Failed(reason) => {
                    self.photos.fault = Some(reason.to_string());
                    self.fail(
                        Subject::Photo,
                        "A photo could not be read; nothing was changed",
                        reason.to_string(),
                    );
                }
                Update::Done => {}
            }
        }
    }

    /// Lays a picture under a view, in one step: at the plane where the view
    /// is cut, since that is where rock is drawn.
    fn lay_photo(
        &mut self,
        view: PhotoView,
        name: &str,
        bytes: Arc<Vec<u8>>,
        picture: Arc<Picture>,
    ) {
        let files = &self.photos.files;
        let is_other = |name: &str| files.get(name).is_some_and(|it| **it != *bytes);
        let (stem, ending) = name.rsplit_once('.').unwrap_or((name, "jpg"));
        let numbered = |n: u32| match n {
            1 => name.to_owned(),
            n => format!("{stem}-{n}.{ending}"),
        };
        let free = (1..u32::MAX).map(numbered).find(|name| !is_other(name));
        let file = free.unwrap_or_else(|| name.to_owned());
        if self.photos.files.insert(file.clone(), bytes).is_none() {
            self.photos.new.push(file.clone());
        }
        self.photos.pictures.insert(file.clone(), picture);
        let plane_cm = match view {
            PhotoView::Front => self.levels.depth_cm,
            PhotoView::Top => self.levels.height_cm,
        };
        self.settle(&Subject::Photo);
        let photo = Underlay::new(file, view, plane_cm);
        let change = Change::Underlay(view, Some(Box::new(photo)));
        self.run(Command::Edit(
            "lay a photo under the view".to_owned(),
            change,
        ));
    }

    /// Brings the photos into the folder of `scene_path`. Where another file
    /// has the name of one, the scene names ours by its new name.
    pub(super) fn bring_photos(&mut self, scene_path: &Path) {
        let folder = |path: &Path| path.parent().unwrap_or(Path::new("")).to_owned();
        let to = folder(scene_path);
        let is_home = self.document.path.as_deref().map(folder) == Some(to.clone());
        let scene = Arc::clone(self.document.scene());
        let (files, new) = (&self.photos.files, &self.photos.new);
        match storage::bring_photos(&scene, (&to, is_home), files, new) {
            Ok(renamed) => {
                self.photos.new.clear();
                if !renamed.is_empty() {
                    self.rename_photos(&renamed);
                }
            }
            Err(error) => self.fail(
                Subject::Photo,
                "A photo could not be saved beside the scene",
                error.to_string(),
            ),
        }
    }

    /// Leaves all photos out of the drawing, or brings them back.
    pub(super) fn switch_photos(&mut self) {
        let photos = self.document.scene().underlays.clone();
        if photos.is_empty() {
            return;
        }
        let hides = photos.iter().any(|photo| !photo.hidden);
        self.run(Command::Begin("show or hide photos".to_owned()));
        for mut photo in photos {
            photo.hidden = hides;
            let change = Change::Underlay(photo.view, Some(Box::new(photo)));
            self.run(Command::Change(change));
        }
        self.run(Command::End);
    }

    fn rename_photos(&mut self, renamed: &[(String, String)]) {
        let photos = &mut self.photos;
        for (before, now) in renamed {
            if let Some(bytes) = photos.files.get(before).cloned() {
                photos.files.insert(now.clone(), bytes);
            }
            if let Some(picture) = photos.pictures.get(before).cloned() {
                photos.pictures.insert(now.clone(), picture);
            }
        }
        self.document.edit("photo under another name", |scene| {
            storage::rename_photos(scene, renamed);
        });
    }

    /// The scene with the sums of its photos, as it is saved.
    pub(super) fn with_photo_sums(&self, scene: crate::scene::Scene) -> crate::scene::Scene {
        storage::with_photo_sums(scene, &self.photos.files)
    }

    /// Reads the photos that the scene names from beside its file; what is
    /// wrong with one is said, and the scene stays open.
    pub(super) fn read_photos(&mut self) {
        self.photos = Photos::default();
        let scene = Arc::clone(self.document.scene());
        let Some(folder) = self.document.path.as_deref().and_then(Path::parent) else {
            return;
        };
        let (files, faults) = storage::read_photos(&scene, folder);
        for fault in faults {
            let reason = format!("{:?}: {}", fault.file, fault.problem);
            self.fail(
                Subject::Photo,
                "The photo under the drawing is not as it was",
                reason,
            );
        }
        for (file, bytes) in &files {
            self.decode_photo(file.clone(), Arc::clone(bytes));
        }
        self.photos.files = files;
    }
}
