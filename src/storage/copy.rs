//! Files of several names (hard links): a new text moved into place would part
//! from the other names, so it is copied over the old one, and a copy can be
//! cut short. Until it is done the new text lies whole beside the file, and
//! whoever reads or saves next finishes what was begun.

use std::fs::{self, Metadata};
use std::io::{Result, Seek as _, Write as _};
use std::path::{Path, PathBuf};

use super::write::{PREVIOUS_SUFFIX, beside, through_links};
use super::{FILE_BYTES_MAX, guard::check_there};

/// What is put after a file's name to name the text that is being copied into it.
const COMING_SUFFIX: &str = ".coming";

/// Where the new text of `target` lies until it is copied.
pub(super) fn coming(target: &Path) -> PathBuf {
    beside(target, COMING_SUFFIX)
}

#[cfg(unix)]
pub(super) fn has_other_names(about: &Metadata) -> bool {
    use std::os::unix::fs::MetadataExt as _;
    about.nlink() > 1
}

#[cfg(not(unix))]
pub(super) fn has_other_names(_about: &Metadata) -> bool {
    false
}

/// Puts other bytes into a file that has several names, with those bytes at
/// [`coming`] meanwhile. Where they do not fit, what was there is put back: its
/// room is still its own.
pub(super) fn copy_into(target: &Path, bytes: &[u8]) -> Result<()> {
    let before = fs::read(target)?;
    let copied = put_into(target, bytes);
    let is_whole = copied.is_ok() || put_into(target, &before).is_ok();
    if is_whole {
        // A leftover is told by its text, so one that stays does no harm.
        drop(fs::remove_file(coming(target)));
    }
    copied
}

fn put_into(target: &Path, bytes: &[u8]) -> Result<()> {
    let mut file = fs::File::options().write(true).open(target)?;
    file.rewind()?;
    file.write_all(bytes)?;
    file.set_len(bytes.len() as u64)?;
    file.sync_all()
}

/// Finishes a copy into the file at `path` that was cut short, if there is one.
///
/// Only a file that begins as the new text and goes on as the version before is
/// such a copy; whatever else is there, is there because someone put it there.
#[tracing::instrument(level = "debug", skip_all, fields(path = %path.display()))]
pub(super) fn finish_copy(path: &Path) {
    let target = through_links(path);
    let coming = coming(&target);
    if !coming.exists() {
        return;
    }
    let read = |path: &Path| {
        let about = fs::metadata(path).ok()?;
        let is_usual = about.is_file() && about.len() <= FILE_BYTES_MAX;
        is_usual.then(|| fs::read(path).ok()).flatten()
    };
    let previous = beside(&target, PREVIOUS_SUFFIX);
    let (Some(new), Some(old), Some(here)) = (read(&coming), read(&previous), read(&target)) else {
        return;
    };
    if check_there(&target).is_ok() && is_cut_short(&here, &new, &old) {
        let finished = put_into(&target, &new);
        tracing::warn!(?finished, "a save that was cut short is finished");
        if finished.is_ok() {
            drop(fs::remove_file(&coming));
        }
    }
}

/// Whether `here` is what a copy of `new` over `old` has come to on its way.
fn is_cut_short(here: &[u8], new: &[u8], old: &[u8]) -> bool {
    let n_new = here.iter().zip(new).take_while(|(a, b)| a == b).count();
    let rest = &here[n_new..];
    let is_on_its_way = old.get(n_new..).unwrap_or_default() == rest;
    is_on_its_way && here != new && here != old
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_stage_of_a_copy_is_known_and_nothing_else_is() {
        let (short, long) = (b"abcd".as_slice(), b"xbcdefgh".as_slice());
        for (new, old) in [(short, long), (long, short)] {
            for n in 0..=new.len() {
                let mut here = old.to_vec();
                here.resize(n.max(old.len()), 0);
                here[..n].copy_from_slice(&new[..n]);
                let is_half = here != new && here != old;
                assert_eq!(is_cut_short(&here, new, old), is_half, "{n} bytes");
            }
            for other in [&b""[..], b"someone else's", b"xbcd?", b"abcdefgh?"] {
                assert!(!is_cut_short(other, new, old), "{other:?}");
            }
        }
    }

    #[test]
    fn a_copy_cut_short_is_finished_and_a_file_by_another_hand_is_left() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("reef.ron");
        let put = |path: &Path, text: &str| fs::write(path, text).expect("written");
        put(&beside(&path, PREVIOUS_SUFFIX), "the old text");
        put(&coming(&path), "our new one");
        put(&path, "theirs");
        finish_copy(&path);
        assert_eq!(fs::read(&path).expect("reads"), b"theirs", "left alone");
        put(&path, "our new text");
        finish_copy(&path);
        assert_eq!(fs::read(&path).expect("reads"), b"our new one", "finished");
        assert!(!coming(&path).exists(), "and tidied up");
    }
}
