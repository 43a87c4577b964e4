//! What may be written where: the one gate that every file goes through on
//! its way to disk.

use std::fs::{self, FileType, Metadata};
use std::path::{Path, PathBuf};

use super::StorageError;
use super::write::{put, try_folder};

/// Longest name of a file, in bytes; what file systems of today take at most.
const NAME_BYTES_MAX: usize = 255;
/// Room in a name for [`super::PREVIOUS_SUFFIX`].
const NAME_BYTES_KEPT: usize = super::PREVIOUS_SUFFIX.len();
/// Longest path, in bytes; Linux takes no more in one word.
const PATH_BYTES_MAX: usize = 4095;

/// What a command must not write over.
///
/// Files that were read are kept whatever is wished, so are devices, pipes,
/// folders and write-protected files. Any other file that is there is replaced
/// only with an explicit yes.
#[derive(Clone, Debug, Default)]
pub struct WriteGuard {
    inputs: Vec<PathBuf>,
    may_replace: bool,
}

impl WriteGuard {
    /// A guard that lets files be replaced, or does not.
    pub fn new(may_replace: bool) -> Self {
        Self {
            inputs: Vec::new(),
            may_replace,
        }
    }

    /// Notes a file that is read, so that nothing is written over it.
    pub fn keep(&mut self, input: &Path) {
        if let Ok(path) = fs::canonicalize(input) {
            self.inputs.push(path);
        }
    }

    /// Whether a file may be written to `path`, as far as can be told before
    /// the work is done: its name, what is there now, and the folder.
    ///
    /// # Errors
    /// As [`Self::write`].
    pub fn check(&self, path: &Path) -> Result<(), StorageError> {
        check_target(path)?;
        self.check_free(path)?;
        try_folder(path)
    }

    /// Whether any of `names` is there in `folder` already, or the folder
    /// cannot hold them.
    ///
    /// # Errors
    /// [`StorageError::Taken`] names them all; else as [`Self::write`].
    pub fn check_in(&self, folder: &Path, names: &[&str]) -> Result<(), StorageError> {
        if fs::metadata(folder).is_ok_and(|about| !about.is_dir()) {
            return Err(StorageError::NoFolder {
                path: folder.to_owned(),
            });
        }
        let mut taken = Vec::new();
        for name in names {
            let path = folder.join(name);
            check_target(&path)?;
            match self.check_free(&path) {
                Err(StorageError::Taken { .. }) => taken.push(*name),
                other => other?,
            }
        }
        match taken.as_slice() {
            [] if folder.is_dir() => try_folder(&folder.join("x")),
            [] => Ok(()),
            [only] => Err(StorageError::Taken {
                path: folder.join(only),
            }),
            several => Err(StorageError::SeveralTaken {
                folder: folder.to_owned(),
                names: several.join(", "),
            }),
        }
    }

    /// Writes a whole file at once, where that may be.
    ///
    /// # Errors
    /// [`StorageError::IsInput`], [`StorageError::Taken`],
    /// [`StorageError::NotAFile`], [`StorageError::IsFolder`],
    /// [`StorageError::Protected`], [`StorageError::BadName`],
    /// [`StorageError::Write`]; what is there is then as it was.
    pub fn write(&self, path: &Path, bytes: &[u8]) -> Result<(), StorageError> {
        check_target(path)?;
        self.check_free(path)?;
        put(path, bytes)
    }

    fn check_free(&self, path: &Path) -> Result<(), StorageError> {
        let Ok(real) = fs::canonicalize(path) else {
            return Ok(());
        };
        if self.inputs.iter().any(|input| is_same(input, &real)) {
            return Err(StorageError::IsInput {
                path: path.to_owned(),
            });
        }
        if self.may_replace {
            Ok(())
        } else {
            Err(StorageError::Taken {
                path: path.to_owned(),
            })
        }
    }
}

/// Whether two names lead to one file, hard links included.
fn is_same(a: &Path, b: &Path) -> bool {
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt as _;
        if let (Ok(a), Ok(b)) = (fs::metadata(a), fs::metadata(b)) {
            return (a.dev(), a.ino()) == (b.dev(), b.ino());
        }
    }
    a == b
}

/// Refuses a target that no file of this program may ever go to.
pub(super) fn check_target(path: &Path) -> Result<(), StorageError> {
    check_name(path)?;
    check_there(path)
}

/// Refuses to write over what is there, unless it is a plain file.
pub(super) fn check_there(path: &Path) -> Result<(), StorageError> {
    let Ok(about) = fs::metadata(path) else {
        return Ok(());
    };
    if about.is_dir() {
        return Err(StorageError::IsFolder {
            path: path.to_owned(),
        });
    }
    check_kind(path, &about)?;
    if about.permissions().readonly() {
        return Err(StorageError::Protected {
            path: path.to_owned(),
        });
    }
    Ok(())
}

/// Refuses what is neither a file nor a folder.
pub(super) fn check_kind(path: &Path, about: &Metadata) -> Result<(), StorageError> {
    if about.is_file() || about.is_dir() {
        return Ok(());
    }
    Err(StorageError::NotAFile {
        path: path.to_owned(),
        kind: kind_word(about.file_type()),
    })
}

fn kind_word(kind: FileType) -> &'static str {
    #[cfg(unix)]
    {
        use std::os::unix::fs::FileTypeExt as _;
        if kind.is_fifo() {
            return "a pipe";
        }
        if kind.is_socket() {
            return "a socket";
        }
        if kind.is_char_device() || kind.is_block_device() {
            return "a device";
        }
    }
    let _ = kind;
    "neither a file nor a folder"
}

/// Refuses names that file systems cut, change or cannot show.
fn check_name(path: &Path) -> Result<(), StorageError> {
    let bad = |problem: String| {
        Err(StorageError::BadName {
            path: path.to_owned(),
            problem,
        })
    };
    let Some(name) = path.file_name() else {
        return bad("it names no file".to_owned());
    };
    let ends_in_slash = path.as_os_str().to_string_lossy().ends_with('/');
    if ends_in_slash {
        return bad("it ends as a folder does".to_owned());
    }
    let bytes_max = NAME_BYTES_MAX - NAME_BYTES_KEPT;
    let (n_name, n_path) = (name.len(), path.as_os_str().len());
    if n_name > bytes_max {
        return bad(format!(
            "the name has {n_name} bytes, at most {bytes_max} fit"
        ));
    }
    if n_path > PATH_BYTES_MAX {
        return bad(format!(
            "the path has {n_path} bytes, at most {PATH_BYTES_MAX} fit"
        ));
    }
    let name = name.to_string_lossy();
    if let Some(c) = name.chars().find(|c| is_unwritable(*c)) {
        return bad(format!("the name holds {}", character_words(c)));
    }
    if cfg!(windows) && is_windows_name(&name) {
        return bad("this system keeps that name for itself".to_owned());
    }
    Ok(())
}

/// Characters that no name should hold: they cannot be seen, turn the way of
/// writing, or this system refuses them.
fn is_unwritable(c: char) -> bool {
    let turns = matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    c.is_control() || turns || (cfg!(windows) && "<>:\"|?*\\".contains(c))
}

fn character_words(c: char) -> String {
    match c {
        '\n' | '\r' => "a line break".to_owned(),
        '\t' => "a tab".to_owned(),
        c if c.is_control() => "a character that cannot be seen".to_owned(),
        c => format!("the character {c:?}"),
    }
}

/// Names that Windows keeps for devices, or cuts at their end.
fn is_windows_name(name: &str) -> bool {
    let stem = name.split('.').next().unwrap_or(name).to_uppercase();
    let device = stem.strip_prefix("COM").or(stem.strip_prefix("LPT"));
    let is_port = device.is_some_and(|rest| rest.len() == 1 && rest != "0");
    let is_kept = matches!(stem.as_str(), "CON" | "PRN" | "AUX" | "NUL");
    is_kept || is_port || name.ends_with(['.', ' '])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn word(result: Result<(), StorageError>) -> String {
        result.expect_err("it is refused").to_string()
    }

    #[test]
    fn names_are_judged_before_anything_is_written() {
        let long = "x".repeat(300);
        for (name, part) in [
            (long.as_str(), "has 300 bytes, at most 246 fit"),
            ("two\nlines.ron", "a line break"),
            ("a\u{202e}nor.exe", "the character"),
            ("folder/", "ends as a folder does"),
            ("..", "names no file"),
        ] {
            let said = word(check_name(Path::new(name)));
            assert!(said.contains(part), "{name:?}: {said}");
        }
        for name in ["reef.ron", "Становище.ron", "a b.ron", "-x.ron", ".hidden"] {
            assert!(check_name(Path::new(name)).is_ok(), "{name} is fine");
        }
        assert!(is_windows_name("nul.txt"), "a device there");
        assert!(is_windows_name("reef."), "cut there");
        assert!(!is_windows_name("console.ron"), "a word like any other");
    }

    #[test]
    fn inputs_stay_whatever_is_wished() {
        let folder = tempfile::tempdir().expect("a folder");
        let (input, other) = (folder.path().join("in.ron"), folder.path().join("o.ron"));
        for path in [&input, &other] {
            fs::write(path, "old").expect("written");
        }
        let hard = folder.path().join("hard.ron");
        fs::hard_link(&input, &hard).expect("linked");
        let mut guard = WriteGuard::new(true);
        guard.keep(&input);
        for path in [&input, &hard, &folder.path().join("./in.ron")] {
            let said = word(guard.write(path, b"new"));
            assert!(said.contains("is read by this command"), "{said}");
        }
        guard.write(&other, b"new").expect("with a yes");
        let no = WriteGuard::new(false);
        let said = word(no.write(&other, b"newer"));
        assert!(said.contains("--force"), "{said}");
        let read = |path: &Path| fs::read_to_string(path).expect("reads");
        assert_eq!((read(&input), read(&other)), ("old".into(), "new".into()));
    }

    #[test]
    fn all_taken_names_of_a_folder_are_said_at_once() {
        let folder = tempfile::tempdir().expect("a folder");
        for name in ["a.txt", "b.txt"] {
            fs::write(folder.path().join(name), "old").expect("written");
        }
        let names = ["a.txt", "b.txt", "c.txt"];
        let said = word(WriteGuard::new(false).check_in(folder.path(), &names));
        assert!(said.contains("a.txt, b.txt"), "{said}");
        let yes = WriteGuard::new(true).check_in(folder.path(), &names);
        assert!(yes.is_ok(), "with a yes: {yes:?}");
        let file = folder.path().join("a.txt");
        let said = word(WriteGuard::new(true).check_in(&file, &names));
        assert!(said.contains("not a folder"), "{said}");
    }
}
