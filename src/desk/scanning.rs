//! A scanned rock on its way into the scene: the mesh is read and made into a
//! shape beside the window; the keeper sees its size before it is placed.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::{Change, Command, Desk};
use crate::job::{Job, Update};
use crate::scan::{self, Imported, Mesh, Wishes};
use crate::scene::Item;
use crate::storage::read_bytes;

/// The mesh that is being brought in.
#[derive(Default)]
pub(super) struct Scanning {
    path: PathBuf,
    wishes: Wishes,
    mesh: Option<Arc<Mesh>>,
    job: Option<Job<News>>,
    found: Option<Arc<Imported>>,
    fault: Option<String>,
}

/// What the work sends.
enum News {
    Mesh(Arc<Mesh>),
    Shape(Arc<Imported>),
}

/// How far a mesh has come on its way in.
#[derive(Clone, Debug)]
pub struct ScanStatus<'a> {
    /// Its file.
    pub path: &'a Path,
    /// What the keeper said of it.
    pub wishes: Wishes,
    /// The shape by these wishes, once it is there.
    pub found: Option<&'a Imported>,
    /// Why there is none.
    pub fault: Option<&'a str>,
    /// Whether it is being worked on.
    pub is_running: bool,
}

impl Desk {
    /// The mesh that is being brought in.
    pub fn scan(&self) -> ScanStatus<'_> {
        let scanning = &self.scanning;
        ScanStatus {
            path: &scanning.path,
            wishes: scanning.wishes,
            found: scanning.found.as_deref(),
            fault: scanning.fault.as_deref(),
            is_running: scanning.job.is_some(),
        }
    }

    /// Reads a mesh and makes a shape of it; another one on its way is dropped.
    pub(super) fn read_scan(&mut self, path: PathBuf) {
        self.scanning = Scanning {
            path,
            ..Scanning::default()
        };
        self.start_scanning();
    }

    /// Makes the shape anew by what the keeper says of the mesh.
    pub(super) fn wish_scan(&mut self, wishes: Wishes) {
        self.scanning.wishes = wishes;
        self.start_scanning();
    }

    fn start_scanning(&mut self) {
        let scanning = &mut self.scanning;
        if let Some(job) = scanning.job.take() {
            job.cancel();
        }
        (scanning.found, scanning.fault) = (None, None);
        let (path, wishes) = (scanning.path.clone(), scanning.wishes);
        let known = scanning.mesh.clone();
        let started = Job::start("scan", Arc::clone(&self.notify), move |context| {
            let mesh = if let Some(mesh) = known {
                mesh
            } else {
                let bytes = read_bytes(&path, scan::BYTES_MAX)?;
                Arc::new(Mesh::read(&path.to_string_lossy(), &bytes)?)
            };
            context.publish(News::Mesh(Arc::clone(&mesh)));
            let stop = std::sync::atomic::AtomicBool::new(false);
            let found = scan::import(&mesh, wishes, &|share| {
                let goes_on = context.progress(share);
                stop.fetch_or(!goes_on, std::sync::atomic::Ordering::Relaxed);
                goes_on
            });
            if !stop.into_inner() {
                context.publish(News::Shape(Arc::new(found?)));
            }
            Ok(())
        });
        match started {
            Ok(job) => scanning.job = Some(job),
            Err(error) => scanning.fault = Some(error.to_string()),
        }
    }

    /// Takes in what the work sent.
    pub(super) fn tend_scanning(&mut self) {
        let Some(job) = &mut self.scanning.job else {
            return;
        };
        let (updates, is_over) = (job.poll(), job.is_over());
        if is_over {
            self.scanning.job = None;
        }
        for update in updates {
            match update {
                Update::Partial(News::Mesh(mesh)) => self.scanning.mesh = Some(mesh),
                Update::Partial(News::Shape(found)) => self.scanning.found = Some(found),
                Update::Failed(reason) => self.scanning.fault = Some(reason.to_string()),
                Update::Done => {}
            }
        }
    }

    /// Sets the shape into the shown layout as a rock, in one step.
    pub(super) fn place_scan(&mut self) {
        let scanning = std::mem::take(&mut self.scanning);
        let Some(found) = scanning.found else {
            return;
        };
        let room = (&self.scene().tank, self.layout());
        let mut rock = scan::rock(found.scan.clone(), room, None);
        let stem = scanning.path.file_stem().unwrap_or_default();
        let name: String = stem.to_string_lossy().chars().take(60).collect();
        if !name.is_empty() {
            rock.name = name;
        }
        let add = Change::Add(Box::new(Item::Rock(rock)));
        self.run(Command::Edit("bring in a scanned rock".to_owned(), add));
    }

    /// Leaves the mesh where it is.
    pub(super) fn drop_scan(&mut self) {
        if let Some(job) = std::mem::take(&mut self.scanning).job {
            job.cancel();
        }
    }
}
