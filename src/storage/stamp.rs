//! What a file held when it was last read or written, so that a change by
//! someone else is noticed before anything is written over it.

use std::fs;
use std::path::{Path, PathBuf};

use super::FILE_BYTES_MAX;

/// Sum over bytes: Fowler, Noll and Vo's hash 1a with 64 bits (RFC 9923). It
/// tells changes, not forgeries.
pub fn sum_of(bytes: &[u8]) -> u64 {
    const OFFSET: u64 = 0xcbf2_9ce4_8422_2325;
    const PRIME: u64 = 0x0100_0000_01b3;
    let fold = |sum: u64, byte: &u8| (sum ^ u64::from(*byte)).wrapping_mul(PRIME);
    bytes.iter().fold(OFFSET, fold)
}

/// The sum as it stands in files.
pub fn sum_words(bytes: &[u8]) -> String {
    format!("{:016x}", sum_of(bytes))
}

/// What stands on disk, against what was there when it was last looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OnDisk {
    /// No file is there.
    Gone,
    /// The same bytes.
    Same,
    /// Other bytes, or something that is not to be read.
    Other,
}

/// Compares the file at `path` with the sum that it had.
pub fn on_disk(path: &Path, known: Option<u64>) -> OnDisk {
    let Ok(about) = fs::metadata(path) else {
        return OnDisk::Gone;
    };
    if !about.is_file() || about.len() > FILE_BYTES_MAX {
        return OnDisk::Other;
    }
    match fs::read(path) {
        Ok(bytes) if Some(sum_of(&bytes)) == known => OnDisk::Same,
        _ => OnDisk::Other,
    }
}

/// A path beside `path` that no file has: its name with a number.
pub fn free_beside(path: &Path) -> PathBuf {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let ending = path.extension().map(|ending| ending.to_string_lossy());
    let ending = ending.map_or_else(String::new, |ending| format!(".{ending}"));
    let numbered = |n: u32| path.with_file_name(format!("{stem}-{n}{ending}"));
    (2..u32::MAX)
        .map(numbered)
        .find(|path| !path.exists())
        .unwrap_or_else(|| path.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Test vectors of RFC 9923, appendix C.
    #[test]
    fn the_sum_is_the_published_one() {
        assert_eq!(sum_of(b""), 0xcbf2_9ce4_8422_2325, "nothing");
        assert_eq!(sum_of(b"a"), 0xaf63_dc4c_8601_ec8c, "a letter");
        assert_eq!(sum_of(b"foobar"), 0x8594_4171_f739_67e8, "a word");
    }

    #[test]
    fn a_change_is_seen_and_a_touch_is_not() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("reef.ron");
        assert_eq!(on_disk(&path, None), OnDisk::Gone, "not yet there");
        fs::write(&path, "one").expect("written");
        let sum = Some(sum_of(b"one"));
        fs::write(&path, "one").expect("written again");
        assert_eq!(on_disk(&path, sum), OnDisk::Same, "the same words");
        fs::write(&path, "two").expect("written");
        assert_eq!(on_disk(&path, sum), OnDisk::Other, "other words");
        assert_eq!(on_disk(folder.path(), sum), OnDisk::Other, "a folder");
        let free = free_beside(&path);
        assert_eq!(free.file_name().expect("a name"), "reef-2.ron");
        fs::write(&free, "").expect("written");
        let next = free_beside(&path);
        assert_eq!(next.file_name().expect("a name"), "reef-3.ron");
    }
}
