//! How commands behave beside their answers: what they never write over, what
//! they refuse to read, codes to leave with, and who is told what.
//! Method: the built program on real files, pipes and devices.

#![expect(clippy::expect_used, reason = "a helper that fails ends its test")]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

const SOUND: &str = include_str!("../data/example.ron");
/// What is done at once, on a machine that does other work too.
const SOON: Duration = Duration::from_secs(20);

struct Folder(tempfile::TempDir);

impl Folder {
    fn new() -> Self {
        let folder = Self(tempfile::tempdir().expect("a folder"));
        fs::write(folder.path("scene.ron"), SOUND).expect("written");
        folder
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn command(&self, args: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_bommie"));
        command
            .args(args)
            .current_dir(self.0.path())
            .env_remove("DISPLAY")
            .env_remove("WAYLAND_DISPLAY")
            .stdin(Stdio::null());
        command
    }

    fn run(&self, args: &[&str]) -> Output {
        self.command(args).output().expect("the program starts")
    }

    /// Runs a command that is to be refused with this code and these words,
    /// and leaves the scene as it was.
    fn refuses(&self, args: &[&str], code: i32, words: &str) {
        let start = Instant::now();
        let output = self.run(args);
        let said = text(&output.stderr);
        assert_eq!(output.status.code(), Some(code), "{args:?}: {said}");
        assert!(said.contains(words), "{args:?}: {said}");
        assert!(
            !said.contains(".part"),
            "no name that comes and goes: {said}"
        );
        assert!(said.len() < 2000, "{args:?}: {} bytes of words", said.len());
        assert!(start.elapsed() < SOON, "{args:?}: refused at once");
        let scene = fs::read_to_string(self.path("scene.ron")).expect("it is there");
        assert_eq!(scene, SOUND, "{args:?}: the scene is as it was");
    }
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// A view without a wash: the quickest command that writes a file.
fn draw<'a>(out: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    [&["draw", "scene.ron", "--out", out], more].concat()
}

#[test]
fn nothing_that_is_read_is_written_over_even_with_force() {
    let folder = Folder::new();
    fs::hard_link(folder.path("scene.ron"), folder.path("twin.svg")).expect("linked");
    for out in ["scene.ron", "./scene.ron", "twin.svg"] {
        folder.refuses(&draw(out, &["--force"]), 2, "is never written over");
        folder.refuses(&["report", "scene.ron", "--out", out], 2, "");
    }
    let export = ["export", "scene.ron", "--rock", "scene.ron", "--force"];
    folder.refuses(&export, 2, "is never written over");
}

#[test]
fn a_file_that_is_there_needs_a_yes() {
    let folder = Folder::new();
    fs::write(folder.path("notes.svg"), "mine").expect("written");
    folder.refuses(&draw("notes.svg", &[]), 2, "say --force to replace it");
    let kept = fs::read_to_string(folder.path("notes.svg")).expect("reads");
    assert_eq!(kept, "mine", "as it was");
    let output = folder.run(&draw("notes.svg", &["--force"]));
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let new = fs::read_to_string(folder.path("notes.svg")).expect("reads");
    assert!(new.starts_with("<?xml"), "replaced with a yes");
    // A folder of a report: all names that are taken, before the work.
    fs::create_dir(folder.path("all")).expect("made");
    fs::write(folder.path("all/plan.pdf"), "mine").expect("written");
    fs::write(folder.path("all/report.txt"), "mine").expect("written");
    let report = ["report", "scene.ron", "--no-flow", "--out", "all"];
    folder.refuses(&report, 2, "report.txt, plan.pdf");
    assert_eq!(
        fs::read_dir(folder.path("all")).expect("reads").count(),
        2,
        "nothing new"
    );
}

#[test]
fn names_and_places_that_cannot_be_are_said_before_the_work() {
    let folder = Folder::new();
    let long = format!("{}.svg", "x".repeat(300));
    folder.refuses(&draw(&long, &[]), 2, "has 304 bytes, at most 246 fit");
    folder.refuses(&draw("two\nlines.svg", &[]), 2, "a line break");
    folder.refuses(&draw("nowhere/x.svg", &[]), 4, "its folder does not exist");
    folder.refuses(&draw("scene.ron/x.svg", &[]), 4, "cannot write");
    fs::create_dir(folder.path("folder.svg")).expect("made");
    folder.refuses(&draw("folder.svg", &["--force"]), 3, "this is a folder");
}

#[cfg(unix)]
#[test]
fn pipes_devices_and_protected_files_are_refused_at_once() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = Folder::new();
    let made = Command::new("mkfifo").arg(folder.path("pipe.svg")).status();
    assert!(made.expect("mkfifo runs").success(), "a pipe");
    folder.refuses(&draw("pipe.svg", &["--force"]), 3, "this is a pipe");
    folder.refuses(&["check", "pipe.svg"], 3, "");
    folder.refuses(&["report", "pipe.svg"], 3, "this is a pipe");
    let probe = ["probe", "scene.ron", "--points"];
    folder.refuses(&[&probe[..], &["pipe.svg"]].concat(), 3, "this is a pipe");
    for device in ["/dev/zero", "/dev/full", "/dev/null"] {
        folder.refuses(&[&probe[..], &[device]].concat(), 3, "this is a device");
        folder.refuses(&["report", device], 3, "this is a device");
        folder.refuses(&draw(device, &["--force"]), 3, "this is a device");
    }
    fs::write(folder.path("kept.svg"), "mine").expect("written");
    let read_only = fs::Permissions::from_mode(0o444);
    fs::set_permissions(folder.path("kept.svg"), read_only).expect("set");
    folder.refuses(&draw("kept.svg", &["--force"]), 2, "write-protected");
    // Read-only for root as well.
    if Path::new("/sys/kernel").exists() {
        folder.refuses(
            &draw("/sys/kernel/x.svg", &[]),
            4,
            "save it in a folder of your own",
        );
    }
}

#[cfg(unix)]
#[test]
fn links_permissions_and_other_names_stay() {
    use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _};
    let folder = Folder::new();
    fs::create_dir(folder.path("far")).expect("made");
    for name in ["far/real.svg", "hard.svg"] {
        fs::write(folder.path(name), "old").expect("written");
        fs::set_permissions(folder.path(name), fs::Permissions::from_mode(0o640)).expect("set");
    }
    std::os::unix::fs::symlink("far/real.svg", folder.path("link.svg")).expect("linked");
    std::os::unix::fs::symlink("far/new.svg", folder.path("ahead.svg")).expect("linked");
    fs::hard_link(folder.path("hard.svg"), folder.path("other.svg")).expect("linked");
    for out in ["link.svg", "ahead.svg", "hard.svg"] {
        let output = folder.run(&draw(out, &["--force"]));
        assert_eq!(
            output.status.code(),
            Some(0),
            "{out}: {}",
            text(&output.stderr)
        );
    }
    let about = |name: &str| fs::metadata(folder.path(name)).expect("it is there");
    for link in ["link.svg", "ahead.svg"] {
        assert!(
            fs::read_link(folder.path(link)).is_ok(),
            "{link} is still a link"
        );
    }
    assert!(
        about("far/new.svg").len() > 1000,
        "written where the link leads"
    );
    for name in ["far/real.svg", "hard.svg"] {
        assert!(about(name).len() > 1000, "{name} is written");
        assert_eq!(
            about(name).mode() & 0o777,
            0o640,
            "{name} keeps its permissions"
        );
    }
    assert_eq!(
        about("hard.svg").ino(),
        about("other.svg").ino(),
        "still one file"
    );
    let left = fs::read_dir(folder.0.path()).expect("reads").flatten();
    let parts = left.filter(|entry| entry.file_name().to_string_lossy().ends_with(".part"));
    assert_eq!(parts.count(), 0, "nothing is left lying about");
}

/// A file may grow to 4 KiB only, as on a full disk.
#[cfg(unix)]
#[test]
fn a_full_disk_leaves_what_was_there() {
    let folder = Folder::new();
    fs::write(folder.path("old.svg"), "mine").expect("written");
    let script = "trap '' XFSZ; ulimit -f 8; exec \"$0\" draw scene.ron --force --out old.svg";
    let output = Command::new("sh")
        .args(["-c", script, env!("CARGO_BIN_EXE_bommie")])
        .current_dir(folder.0.path())
        .output()
        .expect("runs");
    let said = text(&output.stderr);
    assert_eq!(output.status.code(), Some(4), "{said}");
    assert!(
        said.contains("cannot write the file") && !said.contains(".part"),
        "{said}"
    );
    let names = || fs::read_dir(folder.0.path()).expect("reads").flatten();
    assert_eq!(
        names().count(),
        2,
        "no half file: {:?}",
        names().collect::<Vec<_>>()
    );
    assert_eq!(
        fs::read_to_string(folder.path("old.svg")).expect("reads"),
        "mine"
    );
    // The answer itself.
    let full = fs::File::options()
        .write(true)
        .open("/dev/full")
        .expect("opens");
    let mut command = folder.command(&["check", "scene.ron"]);
    let output = command.stdout(full).output().expect("runs");
    let said = text(&output.stderr);
    assert_eq!(output.status.code(), Some(4), "{said}");
    assert!(said.contains("cannot write the answer"), "{said}");
}

#[test]
fn each_code_has_its_meaning() {
    let folder = Folder::new();
    let cut = &SOUND[..SOUND.len() / 2];
    let unsound = SOUND.replace("water_cm: 50.0", "water_cm: 500.0");
    assert_ne!(unsound, SOUND, "the example has its water at 50 cm");
    fs::write(folder.path("cut.ron"), cut).expect("written");
    fs::write(folder.path("unsound.ron"), unsound).expect("written");
    fs::write(folder.path("bytes.ron"), [0xff, 0xfe, 0]).expect("written");
    let check: &[(&[&str], i32)] = &[
        (&["check", "scene.ron"], 0),
        (&["--help"], 0),
        (&["--version"], 0),
        (&["check", "unsound.ron"], 1),
        (&["check", "unsound.ron", "--json"], 1),
        (&[], 0),
        (&["check"], 2),
        (&["paint", "scene.ron"], 2),
        (&["scene.ron", "check", "scene.ron"], 2),
        (&["report", "scene.ron", "--layout", "none", "--no-flow"], 2),
        (&["check", "cut.ron"], 3),
        (&["check", "missing.ron"], 3),
        (&["check", "bytes.ron"], 3),
        (&["report", "unsound.ron"], 3),
        (&["report", "cut.ron"], 3),
        (&["report", "."], 3),
    ];
    for (args, code) in check.iter().filter(|(args, _)| !args.is_empty()) {
        let output = folder.run(args);
        let said = text(&output.stderr);
        assert_eq!(output.status.code(), Some(*code), "{args:?}: {said}");
    }
    let help = text(&folder.run(&["--help"]).stdout);
    assert!(help.contains("Exit codes:"), "{help}");
}

#[test]
fn answers_and_talk_keep_apart_and_quiet_is_quiet() {
    let folder = Folder::new();
    fs::write(folder.path("points.csv"), "60,30,25\n60,30,4\n").expect("written");
    let args = [
        "probe",
        "scene.ron",
        "--points",
        "points.csv",
        "--cell-cm",
        "5",
    ];
    let loud = folder.run(&args);
    let quiet = folder.run(&[&args[..], &["--quiet", "--no-color"]].concat());
    let first = folder.run(&[&["-q"], &args[..]].concat());
    assert_eq!(text(&loud.stdout), text(&quiet.stdout), "the same answer");
    assert_eq!(
        text(&quiet.stdout),
        text(&first.stdout),
        "wherever it is said"
    );
    assert_eq!(text(&quiet.stderr), "", "not a word");
    let said = text(&loud.stderr);
    assert!(
        said.contains("flow: ") && said.contains("settled"),
        "{said}"
    );
    assert!(
        !said.contains('%'),
        "progress only for those who watch: {said}"
    );
    for stream in [&loud.stdout, &loud.stderr] {
        assert!(!stream.contains(&0x1b), "no color and no cursor");
    }
    // Errors are said all the same.
    let output = folder.run(&["check", "--quiet", "missing.ron", "--json"]);
    assert_eq!(output.status.code(), Some(3), "{}", text(&output.stdout));
    let output = folder.run(&["report", "--quiet", "missing.ron"]);
    assert!(text(&output.stderr).contains("no such file"), "{output:?}");
}

/// A still tank, symmetric and dark: the sources of −0.
#[test]
fn nothing_has_no_sign() {
    let folder = Folder::new();
    fs::write(
        folder.path("points.csv"),
        "x_cm,y_cm,z_cm,nx,ny,nz\n-0.0,30,25,0,0,-1\n60,-0,25,0,-1,0\n119.9,30,49.9,-1,0,0\n",
    )
    .expect("written");
    let probe = [
        "probe",
        "scene.ron",
        "--points",
        "points.csv",
        "--cell-cm",
        "6",
    ];
    let all = ["report", "scene.ron", "--cell-cm", "6", "--out", "all"];
    let report = folder.run(&all);
    assert_eq!(report.status.code(), Some(0), "{}", text(&report.stderr));
    let mut texts = vec![
        text(&folder.run(&probe).stdout),
        text(&report.stdout),
        text(&folder.run(&[&all[..4], &["--json"]].concat()).stdout),
        text(&folder.run(&["check", "scene.ron"]).stdout),
    ];
    for entry in fs::read_dir(folder.path("all")).expect("reads").flatten() {
        let path = entry.path();
        if ["txt", "json", "csv"]
            .iter()
            .any(|it| path.extension().is_some_and(|e| e == *it))
        {
            texts.push(fs::read_to_string(&path).expect("text"));
        }
    }
    assert!(texts.len() > 8, "tables are among them");
    for text in &texts {
        let bare = text.split(|c: char| c.is_whitespace() || ",()[]\"".contains(c));
        let nothing: Vec<&str> = bare
            .filter(|word| word.starts_with("-0") && word.parse::<f64>().is_ok_and(|n| n == 0.0))
            .collect();
        assert_eq!(nothing, Vec::<&str>::new(), "in {text}");
    }
}

#[test]
fn a_megabyte_is_not_echoed() {
    let folder = Folder::new();
    let long = "x".repeat(1_000_000);
    for (name, hostile) in [
        (
            "field.ron",
            SOUND.replacen("name:", &format!("{long}: 1, name:"), 1),
        ),
        (
            "name.ron",
            SOUND.replacen("\"Example\"", &format!("\"{long}\""), 1),
        ),
        ("choice.ron", SOUND.replacen("Propeller", &long, 1)),
        (
            "number.ron",
            SOUND.replacen("120.0", &"9".repeat(1_000_000), 1),
        ),
        ("words.ron", long.clone()),
    ] {
        assert_ne!(hostile, SOUND, "{name} differs");
        fs::write(folder.path(name), hostile).expect("written");
        for command in ["check", "report"] {
            let output = folder.run(&[command, name, "--quiet"]);
            let n = output.stdout.len() + output.stderr.len();
            assert!(n < 20_000, "{command} {name}: {n} bytes of words");
        }
    }
    fs::write(folder.path("points.csv"), format!("60,30,{long}\n")).expect("written");
    folder.refuses(
        &["probe", "scene.ron", "--points", "points.csv"],
        3,
        "points.csv",
    );
    let word = "y".repeat(100_000);
    folder.refuses(&["report", "scene.ron", "--layout", &word], 2, "no layout");
    folder.refuses(&["berths", "scene.ron", "--coral", &word], 2, "no coral");
    // A file beyond all bounds, without a byte on disk.
    let huge = fs::File::create(folder.path("huge.ron")).expect("made");
    huge.set_len(1 << 40).expect("sparse");
    folder.refuses(&["report", "huge.ron"], 3, "the limit is");
}
