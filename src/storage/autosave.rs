//! Unsaved work, kept in the user's data folder: written whole while working,
//! found again after a crash.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use directories::ProjectDirs;

use super::{PhotoFiles, StorageError, parse, read_text, scene_text, write_bytes};
use crate::scene::Scene;

/// First words of the line that says which file the work belongs to.
const ORIGIN_MARK: &str = "// work on ";
/// Ending of the work itself.
const WORK_ENDING: &str = "ron";
/// Ending of the file that a running program keeps locked.
const LOCK_ENDING: &str = "lock";
/// Ending of the folder of lamp files and photos that belong to the work.
const LAMPS_ENDING: &str = "lamps";

/// The folder for this user's settings and unsaved work, if the system names one.
pub fn data_folder() -> Option<PathBuf> {
    ProjectDirs::from("", "", "bommie").map(|dirs| dirs.data_dir().to_owned())
}

/// A lock without work that is older than this belongs to nobody who starts.
const LOCK_AGE_MIN: Duration = Duration::from_mins(1);

/// Unsaved work of a program that ended.
#[derive(Clone, Debug, PartialEq)]
pub struct Leftover {
    /// Where it lies.
    pub path: PathBuf,
    /// The work.
    pub scene: Scene,
    /// The file that it was work on, if there was one.
    pub origin: Option<PathBuf>,
    /// How long ago it was written.
    pub age: Duration,
    /// Lamp files that lie beside no scene yet, by name.
    pub lamp_files: BTreeMap<String, String>,
    /// Photos that lie beside no scene yet, by name.
    pub photos: PhotoFiles,
}

/// Unsaved work that is to be kept.
#[derive(Clone, Copy, Debug)]
pub struct Work<'a> {
    /// The scene.
    pub scene: &'a Scene,
    /// Lamp files that lie beside no scene yet, by name.
    pub lamp_files: &'a BTreeMap<String, String>,
    /// Photos that lie beside no scene yet, by name.
    pub photos: &'a PhotoFiles,
}

/// Where one running program keeps its unsaved work. Its lock file is held
/// locked, so that another program can tell that the work is not left over.
#[derive(Debug)]
pub struct Autosave {
    path: PathBuf,
    lock_path: PathBuf,
    _lock: File,
}

impl Autosave {
    /// A place of its own in `folder`, which is made where it is missing.
    ///
    /// # Errors
    /// [`StorageError::Write`] when the folder or a file in it cannot be made.
    pub fn start(folder: &Path) -> Result<Self, StorageError> {
        let failed = |source: std::io::Error| StorageError::Write {
            path: folder.to_owned(),
            way_out: "unsaved work is not kept; save often",
            source,
        };
        fs::create_dir_all(folder).map_err(failed)?;
        sweep_locks(folder);
        let (lock, lock_path) = tempfile::Builder::new()
            .prefix("work-")
            .suffix(&format!(".{LOCK_ENDING}"))
            .tempfile_in(folder)
            .map_err(failed)?
            .keep()
            .map_err(|error| failed(error.error))?;
        lock.lock().map_err(failed)?;
        Ok(Self {
            path: lock_path.with_extension(WORK_ENDING),
            lock_path,
            _lock: lock,
        })
    }

    /// Where the work is written.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Takes the work away, because it is saved or not wanted.
    pub fn forget(&self) {
        // Where there is none, there is nothing to take away.
        drop(fs::remove_file(&self.path));
        drop(fs::remove_dir_all(self.path.with_extension(LAMPS_ENDING)));
    }
}

impl Drop for Autosave {
    fn drop(&mut self) {
        if !self.path.exists() {
            drop(fs::remove_file(&self.lock_path));
        }
    }
}

/// Writes unsaved work, whole or not at all.
///
/// # Errors
/// As [`write_bytes`].
pub fn write_work(path: &Path, work: Work<'_>, origin: Option<&Path>) -> Result<(), StorageError> {
    let beside = path.with_extension(LAMPS_ENDING);
    if !work.lamp_files.is_empty() || !work.photos.is_empty() {
        super::make_folder(&beside)?;
    }
    for (file, text) in work.lamp_files {
        write_bytes(&beside.join(file), text.as_bytes())?;
    }
    for (file, bytes) in work.photos {
        // One photo keeps its name, and its bytes are not written every time.
        let target = beside.join(file);
        let about = fs::metadata(&target);
        if !about.is_ok_and(|about| about.len() == bytes.len() as u64) {
            write_bytes(&target, bytes)?;
        }
    }
    let mut text = String::new();
    if let Some(origin) = origin.and_then(Path::to_str)
        && !origin.contains('\n')
    {
        text = format!("{ORIGIN_MARK}{origin}\n");
    }
    text.push_str(&scene_text(work.scene)?);
    write_bytes(path, text.as_bytes())
}

/// Work in `folder` that no running program holds, newest first. What cannot
/// be read is left where it is.
pub fn leftovers(folder: &Path) -> Vec<Leftover> {
    let Ok(entries) = fs::read_dir(folder) else {
        return Vec::new();
    };
    let mut found: Vec<Leftover> = entries
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|ending| ending == WORK_ENDING))
        .filter(|path| path.file_name().is_some_and(is_work_name))
        .filter(|path| !is_held(&path.with_extension(LOCK_ENDING)))
        .filter_map(|path| read_leftover(&path))
        .collect();
    found.sort_by_key(|left| left.age);
    found
}

/// Takes left-over work away.
pub fn forget_leftover(leftover: &Leftover) {
    drop(fs::remove_file(&leftover.path));
    drop(fs::remove_file(leftover.path.with_extension(LOCK_ENDING)));
    drop(fs::remove_dir_all(
        leftover.path.with_extension(LAMPS_ENDING),
    ));
}

/// Takes away locks that programs left which had nothing unsaved. One that was
/// made just now may belong to a program that is about to lock it.
fn sweep_locks(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else {
        return;
    };
    for path in entries.flatten().map(|entry| entry.path()) {
        let is_lock = path.extension().is_some_and(|ending| ending == LOCK_ENDING)
            && path.file_name().is_some_and(is_work_name);
        let made = fs::metadata(&path).and_then(|about| about.modified());
        let is_old = made.is_ok_and(|made| made.elapsed().is_ok_and(|age| age > LOCK_AGE_MIN));
        if is_lock && is_old && !path.with_extension(WORK_ENDING).exists() && !is_held(&path) {
            drop(fs::remove_file(&path));
        }
    }
}

fn is_work_name(name: &std::ffi::OsStr) -> bool {
    name.to_str().is_some_and(|name| name.starts_with("work-"))
}

fn is_held(lock_path: &Path) -> bool {
    File::open(lock_path).is_ok_and(|file| file.try_lock().is_err())
}

fn read_leftover(path: &Path) -> Option<Leftover> {
    let written = fs::metadata(path).and_then(|about| about.modified()).ok()?;
    let text = read_text(path).ok()?;
    let scene = parse(&text, &path.display().to_string()).ok()?.scene;
    let first = text.lines().next().unwrap_or_default();
    let beside = path.with_extension(LAMPS_ENDING);
    let lamp_files = super::read_beside(&scene, &beside).texts;
    let (photos, _) = super::read_photos(&scene, &beside);
    Some(Leftover {
        path: path.to_owned(),
        scene,
        origin: first.strip_prefix(ORIGIN_MARK).map(PathBuf::from),
        age: SystemTime::now()
            .duration_since(written)
            .unwrap_or_default(),
        lamp_files,
        photos,
    })
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::scene::{PhotoView, Underlay};
    use crate::storage::demos;

    fn scene() -> Scene {
        parse(demos()[0].text, demos()[0].file)
            .expect("the demo reads")
            .scene
    }

    #[test]
    fn work_of_a_running_program_is_not_left_over_and_of_an_ended_one_is() {
        let folder = tempfile::tempdir().expect("a folder");
        let running = Autosave::start(folder.path()).expect("a place");
        let origin = PathBuf::from("/reefs/mine.ron");
        let mut scene = scene();
        scene.layouts[0].lamps[0].spread = crate::scene::Spread::measured("a.ies".to_owned());
        let lamps = BTreeMap::from([("a.ies".to_owned(), "IESNA".to_owned())]);
        let photo = Underlay::new("tank.jpg".to_owned(), PhotoView::Front, 20.0);
        scene.underlays.push(photo);
        let photos = PhotoFiles::from([("tank.jpg".to_owned(), Arc::new(vec![255, 216]))]);
        let work = Work {
            scene: &scene,
            lamp_files: &lamps,
            photos: &photos,
        };
        write_work(running.path(), work, Some(&origin)).expect("written");
        assert!(leftovers(folder.path()).is_empty(), "it is still held");
        drop(running);
        let found = leftovers(folder.path());
        assert_eq!(found.len(), 1, "now it is left over");
        assert_eq!(found[0].scene, scene, "whole");
        assert_eq!(found[0].lamp_files, lamps, "with its lamp files");
        assert_eq!(found[0].photos, photos, "with its photos");
        assert_eq!(found[0].origin.as_ref(), Some(&origin), "with its file");
        forget_leftover(&found[0]);
        let left = fs::read_dir(folder.path()).expect("folder").count();
        assert_eq!(left, 0, "nothing stays behind");
    }

    #[test]
    fn a_program_that_saved_leaves_nothing() {
        let folder = tempfile::tempdir().expect("a folder");
        let running = Autosave::start(folder.path()).expect("a place");
        let work = Work {
            scene: &scene(),
            lamp_files: &BTreeMap::new(),
            photos: &PhotoFiles::new(),
        };
        write_work(running.path(), work, None).expect("written");
        running.forget();
        drop(running);
        let left = fs::read_dir(folder.path()).expect("folder").count();
        assert_eq!(left, 0, "neither work nor lock");
    }

    #[test]
    fn old_locks_without_work_are_swept_and_held_ones_stay() {
        let folder = tempfile::tempdir().expect("a folder");
        let running = Autosave::start(folder.path()).expect("a place");
        let old = SystemTime::now() - 2 * LOCK_AGE_MIN;
        let dead = folder.path().join("work-dead.lock");
        let other = folder.path().join("mine.lock");
        for path in [&dead, &other] {
            fs::write(path, "").expect("written");
        }
        for path in [&dead, &other, &running.lock_path] {
            let file = File::options().write(true).open(path).expect("opens");
            file.set_modified(old).expect("made old");
        }
        let next = Autosave::start(folder.path()).expect("a place");
        assert!(!dead.exists(), "left by a dead program");
        assert!(other.exists(), "not ours");
        assert!(running.lock_path.exists(), "held by a running one");
        assert!(next.lock_path.exists(), "its own");
    }

    #[test]
    fn half_a_file_is_not_offered_and_not_lost() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("work-x.ron");
        fs::write(&path, "(format: 1, name:").expect("written");
        assert!(leftovers(folder.path()).is_empty(), "not offered");
        assert!(path.exists(), "not lost");
    }
}
