//! The file that the log goes to.

use std::fs::{self, File, OpenOptions};
use std::path::Path;

use super::write::way_out;
use super::{StorageError, make_folder};

/// The log of this and of earlier runs.
const LOG_FILE: &str = "log.txt";
/// What was the log before it grew too long.
const EARLIER_FILE: &str = "log-earlier.txt";
/// A log longer than this is put aside when the program starts, in bytes.
const LOG_BYTES_MAX: u64 = 1 << 20;

/// Opens the log in `folder`, which is made where it is missing, to write
/// behind what is there. A long one is put aside, in place of the one put
/// aside before.
///
/// # Errors
/// [`StorageError`] when the folder or the file cannot be made.
pub fn open_log(folder: &Path) -> Result<File, StorageError> {
    make_folder(folder)?;
    let path = folder.join(LOG_FILE);
    let failed = |source: std::io::Error| StorageError::Write {
        path: path.clone(),
        way_out: way_out(&source),
        source,
    };
    if fs::metadata(&path).is_ok_and(|about| about.len() > LOG_BYTES_MAX) {
        fs::rename(&path, folder.join(EARLIER_FILE)).map_err(failed)?;
    }
    let opened = OpenOptions::new().create(true).append(true).open(&path);
    opened.map_err(failed)
}

#[cfg(test)]
mod tests {
    use std::io::Write as _;

    use super::*;

    #[test]
    fn a_log_is_gone_on_with_and_a_long_one_put_aside() {
        let folder = tempfile::tempdir().expect("a folder");
        let mut log = open_log(folder.path()).expect("it opens");
        log.write_all(b"first\n").expect("it is written");
        let mut log = open_log(folder.path()).expect("it opens again");
        log.write_all(&vec![b'x'; 1 << 20]).expect("it is written");
        let text = fs::read(folder.path().join(LOG_FILE)).expect("it is there");
        assert!(text.starts_with(b"first\nxxx"), "the second goes on");
        drop(open_log(folder.path()).expect("it opens once more"));
        let bytes = fs::metadata(folder.path().join(LOG_FILE)).map(|about| about.len());
        assert_eq!(bytes.expect("a new one"), 0, "begun anew");
        let aside = fs::read(folder.path().join(EARLIER_FILE)).expect("it is there");
        assert_eq!(aside, text, "nothing is lost");
    }
}
