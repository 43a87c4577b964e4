//! Broken, truncated, huge, hostile and outdated files each give a clear
//! message and exit code 1, and never a panic. Method: a table of files, each
//! given to the built program as `bommie check FILE`.

#![expect(clippy::expect_used, reason = "a helper that fails ends its test")]

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use bommie::storage::{FILE_BYTES_MAX, NESTING_MAX, parse};
use proptest::prelude::*;

const SOUND: &str = include_str!("../data/example.ron");

fn bommie(args: &[&Path]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_bommie"))
        .args(args)
        .stdin(Stdio::null())
        .output()
        .expect("the program starts")
}

fn check(path: &Path) -> (Option<i32>, String) {
    let output = bommie(&[Path::new("check"), path]);
    let text = format!(
        "{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
    (output.status.code(), text)
}

/// The sound scene with its first `from` replaced.
fn edited(from: &str, to: &str) -> Vec<u8> {
    assert!(SOUND.contains(from), "the sound scene holds no {from:?}");
    SOUND.replacen(from, to, 1).into_bytes()
}

fn cut(bytes: usize) -> Vec<u8> {
    SOUND.as_bytes()[..bytes].to_vec()
}

/// What a file holds and the parts of the message that it must bring.
#[expect(clippy::too_many_lines, reason = "one table, a line or two a case")]
fn bad_files() -> Vec<(&'static str, Vec<u8>, &'static [&'static str])> {
    let mut latin1 = edited("Example", "R?f");
    let at = latin1
        .iter()
        .position(|b| *b == b'?')
        .expect("the mark is there");
    latin1[at] = 0xe9;
    vec![
        // Misspelt, missing, given twice.
        (
            "unknown-field",
            edited("flow_lph: 3000.0", "flow_lhp: 3000.0"),
            &[
                "unknown-field.ron:28:18: unknown field \"flow_lhp\" in pump 1 \"left pump\"",
                "perhaps flow_lph was meant",
                "outlet_cm",
            ],
        ),
        (
            "unknown-tank-field",
            edited("sand:", "sands:"),
            &["unknown field \"sands\"", "perhaps sand was meant"],
        ),
        (
            "unknown-variant",
            edited("Propeller", "Jet"),
            &[
                "unknown choice \"Jet\" in pump 1 \"left pump\"",
                "known here: Propeller, CrossFlow, Nozzle",
            ],
        ),
        (
            "missing-field",
            edited("outlet_cm: 3.5, ", ""),
            &[
                "field \"outlet_cm\" is missing in pump 1 \"left pump\"",
                "add it",
            ],
        ),
        (
            "missing-format",
            edited("    format: 1,\n", ""),
            &["field \"format\" is missing"],
        ),
        (
            "twice",
            edited("outlet_cm: 3.5,", "outlet_cm: 3.5, outlet_cm: 3.6,"),
            &["field \"outlet_cm\" is given twice", "pump 1"],
        ),
        // Wrong values.
        (
            "text-for-number",
            edited("flow_lph: 3000.0", "flow_lph: \"3000\""),
            &[
                "text-for-number.ron:28:",
                "wanted a number",
                "pump 1 \"left pump\"",
            ],
        ),
        (
            "unit-in-number",
            edited("flow_lph: 3000.0", "flow_lph: 3000 L/h"),
            &["unit-in-number.ron:28:", "pump 1"],
        ),
        (
            "comma-in-number",
            edited("length_cm: 120.0", "length_cm: 120,0"),
            &["comma-in-number.ron:5:"],
        ),
        (
            "short-vector",
            edited("(3.0, 10.0, 34.0)", "(3.0, 10.0)"),
            &["short-vector.ron:27:", "pump 1"],
        ),
        (
            "bare-option",
            edited("power_w: Some(9.0)", "power_w: 9.0"),
            &["wanted Some(value) or None", "pump 1"],
        ),
        (
            "id-too-large",
            edited("id: 2", "id: 5000000000"),
            &["id-too-large.ron:27:"],
        ),
        (
            "negative-id",
            edited("id: 2", "id: -2"),
            &["negative-id.ron:27:"],
        ),
        (
            "huge-number",
            edited("flow_lph: 3000.0", "flow_lph: 1e999"),
            &["flow_lph is inf", "1 to 200000 L/h"],
        ),
        (
            "nan",
            edited("turn_deg: 16.7", "turn_deg: NaN"),
            &["turn_deg is NaN", "pump \"left pump\" (id 2)"],
        ),
        // Cut short or damaged.
        ("empty", Vec::new(), &["empty.ron:1:1", "the file is empty"]),
        ("blank", b"  \n\n".to_vec(), &["the file is empty"]),
        (
            "cut-in-number",
            cut(400),
            &[
                "cut-in-number.ron:9:74",
                "ends in the middle in return 1",
                ".previous",
            ],
        ),
        (
            "cut-in-rock",
            cut(1_000),
            &["rock 1 \"left island\"", "the file ends in the middle"],
        ),
        (
            "cut-at-end",
            cut(SOUND.len() - 3),
            &["the file ends in the middle"],
        ),
        (
            "more-after-end",
            [SOUND.as_bytes(), b"()"].concat(),
            &["more after the end"],
        ),
        (
            "no-comma",
            edited("flow_lph: 3000.0,", "flow_lph: 3000.0"),
            &["comma is missing", "pump 1"],
        ),
        (
            "json",
            b"{\"format\": 1, \"name\": \"x\"}".to_vec(),
            &["json.ron:1:1", "this is no scene"],
        ),
        (
            "prose",
            b"Dear reader, this is no scene.".to_vec(),
            &["prose.ron:1:"],
        ),
        (
            "not-utf8",
            latin1,
            &["not-utf8.ron:3:13: the file is not UTF-8 text"],
        ),
        ("binary", (0..=255).collect(), &["not UTF-8"]),
        ("zeros", vec![0; 4096], &["zeros.ron:1:1"]),
        // From another time.
        (
            "newer",
            edited("format: 1", "format: 2"),
            &["format is 2, this program reads 1", "newer version"],
        ),
        (
            "newer-with-news",
            edited("format: 1,", "format: 7, weather: Fog(density: [1, 2]),"),
            &["format is 7, this program reads 1", "update"],
        ),
        (
            "older",
            edited("format: 1", "format: 0"),
            &["format is 0", "start at 1"],
        ),
        // Huge and hostile.
        (
            "too-large",
            vec![b' '; FILE_BYTES_MAX as usize + 1],
            &["8388609 bytes", "limit is 8388608"],
        ),
        (
            "deep",
            vec![b'['; 1_000_000],
            &["nest deeper than 40 levels"],
        ),
        (
            "deep-field",
            edited(
                "kind: Propeller",
                &format!("kind: {}", "Some(".repeat(10_000)),
            ),
            &["nest deeper than 40 levels"],
        ),
        (
            "long-name",
            edited("flow_lph: 3000.0", &format!("{}: 1", "x".repeat(1_000_000))),
            &["unknown field", "in pump 1"],
        ),
        (
            "many-layouts",
            edited(
                "layouts: [",
                &format!("layouts: [{}", "(name: \"a\"),".repeat(1_000)),
            ),
            &["a list of 1001", "at most 30"],
        ),
        (
            "escape",
            edited(
                "Beam(full_angle_deg: 120.0)",
                "Measured(file: \"../secret.ies\")",
            ),
            &["without a folder"],
        ),
    ]
}

#[test]
fn bad_files_are_named_and_refused() {
    let folder = tempfile::tempdir().expect("a folder to write in");
    let mut missed = Vec::new();
    for (name, bytes, parts) in bad_files() {
        let path = folder.path().join(format!("{name}.ron"));
        std::fs::write(&path, bytes).expect("the case is written");
        let (code, text) = check(&path);
        let is_clear = matches!(code, Some(1 | 3)) && parts.iter().all(|part| text.contains(part));
        let is_short = text.len() < 4_000;
        if !is_clear || !is_short || text.contains("panicked") {
            let start: String = text.chars().take(600).collect();
            missed.push(format!(
                "{name} gave {code:?}, should say {parts:?}:\n{start}"
            ));
        }
    }
    assert!(missed.is_empty(), "{}", missed.join("\n\n"));
}

#[test]
fn files_that_cannot_be_read_are_named() {
    let folder = tempfile::tempdir().expect("a folder to write in");
    let missing = folder.path().join("missing.ron");
    for (path, part) in [
        (missing.as_path(), "no such file"),
        (folder.path(), "this is a folder"),
    ] {
        let (code, text) = check(path);
        assert_eq!(code, Some(3), "{text}");
        assert!(
            text.contains(part) && text.contains(&path.display().to_string()),
            "{text}"
        );
    }
}

#[test]
fn a_sound_file_passes_and_a_warning_does_not_refuse_it() {
    let folder = tempfile::tempdir().expect("a folder to write in");
    let path = folder.path().join("sound.ron");
    std::fs::write(&path, SOUND).expect("the file is written");
    let (code, text) = check(&path);
    assert_eq!(code, Some(0), "{text}");
    assert!(
        text.contains("0 errors, 0 warnings") && text.contains("360 L"),
        "{text}"
    );
    std::fs::write(&path, edited("on: Rock(1)", "on: Sand")).expect("the file is written");
    let (code, text) = check(&path);
    assert_eq!(code, Some(0), "{text}");
    assert!(text.contains("0 errors, 1 warning;"), "{text}");
}

#[test]
fn a_byte_order_mark_and_windows_line_ends_are_no_fault() {
    let text = format!("\u{feff}{}", SOUND.replace('\n', "\r\n"));
    let loaded = parse(&text, "x.ron").expect("it loads");
    assert_eq!(
        loaded.scene,
        parse(SOUND, "y.ron").expect("it loads").scene,
        "same scene"
    );
}

#[test]
fn no_prefix_of_a_scene_and_no_lost_byte_makes_it_panic() {
    for end in (0..SOUND.len()).filter(|end| SOUND.is_char_boundary(*end)) {
        assert!(
            parse(&SOUND[..end], "cut.ron").is_err() || end > SOUND.len() - 2,
            "cut at {end}"
        );
        let without: String = SOUND
            .char_indices()
            .filter(|(at, _)| *at != end)
            .map(|(_, c)| c)
            .collect();
        // It may still be a scene; it must only not panic.
        drop(parse(&without, "lost.ron"));
    }
}

#[test]
fn the_nesting_limit_leaves_room_for_scenes() {
    let mut depth = 0_usize;
    let mut deepest = 0_usize;
    for c in SOUND.chars() {
        match c {
            '(' | '[' => depth += 1,
            ')' | ']' => depth -= 1,
            _ => {}
        }
        deepest = deepest.max(depth);
    }
    assert!(
        deepest * 2 < NESTING_MAX,
        "a plain scene nests {deepest} deep"
    );
}

#[test]
fn json_answers_hold_the_place() {
    let folder = tempfile::tempdir().expect("a folder to write in");
    let path: PathBuf = folder.path().join("bad.ron");
    std::fs::write(&path, edited("flow_lph: 3000.0", "flow_lph: -1.0"))
        .expect("the file is written");
    let output = bommie(&[Path::new("check"), &path, Path::new("--json")]);
    assert_eq!(output.status.code(), Some(1), "{output:?}");
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).expect("it is JSON");
    assert_eq!(answer["usable"], false, "{answer}");
    let problem = &answer["problems"][0];
    assert_eq!(problem["path"], "layouts[0].pumps[0].flow_lph", "{answer}");
    assert_eq!(problem["line"], 28, "{answer}");
    assert_eq!(problem["severity"], "error", "{answer}");
    assert_eq!(problem["value"], "-1 L/h", "{answer}");
}

#[test]
fn a_wrong_command_line_exits_with_two() {
    for args in [
        &["check"][..],
        &["check", "a.ron", "--colour"],
        &["tidy", "a.ron"],
    ] {
        let args: Vec<&Path> = args.iter().map(Path::new).collect();
        let output = bommie(&args);
        assert_eq!(output.status.code(), Some(2), "{args:?}: {output:?}");
        assert!(
            String::from_utf8_lossy(&output.stderr).contains("Usage"),
            "{args:?}: {output:?}"
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(300) })]

    #[test]
    fn no_text_makes_it_panic(text in "[ -~\n\u{e9}]{0,200}") {
        drop(parse(&text, "any.ron"));
    }

    /// Pieces of a scene in the wrong place.
    #[test]
    fn no_mixed_up_scene_makes_it_panic(from in 0..SOUND.len(), len in 0..200_usize, to in 0..SOUND.len(), times in 1..4_usize) {
        let piece = SOUND.get(from..(from + len).min(SOUND.len())).unwrap_or("((");
        let text = format!("{}{}{}", SOUND.get(..to).unwrap_or(""), piece.repeat(times), SOUND.get(to..).unwrap_or(""));
        drop(parse(&text, "mixed.ron"));
    }
}

/// A scene made to be slow to check: as many points as the limits allow, in
/// the fewest outlines, on rocks that reach through every pane.
#[test]
fn the_slowest_scene_is_checked_in_bearable_time() {
    let ring = |radius: f64| {
        let points = (0..200).map(|i| {
            let turn = f64::from(i) * std::f64::consts::TAU / 200.0;
            let r = radius * (1.0 + 0.2 * (turn * 25.0).sin());
            format!("({:.3}, {:.3})", r * turn.cos(), r * turn.sin())
        });
        format!(
            "(points_cm: [{}], curved: true)",
            points.collect::<Vec<_>>().join(", ")
        )
    };
    let outline = ring(90.0);
    let rock = |id: usize| {
        format!(
            "(id: {id}, at_cm: (60.0, 30.0, 20.0), turn_deg: {id}.0, tilt_deg: 40.0, plan: {outline}, front: {outline}),"
        )
    };
    let rocks: String = (10..109).map(rock).collect();
    let text =
        String::from_utf8(edited("rocks: [", &format!("rocks: [{rocks}"))).expect("it is text");
    let loaded = parse(&text, "slow.ron").expect("it is sound, if odd");
    let n_warned = loaded
        .issues
        .iter()
        .filter(|at| at.to_string().contains("through the"))
        .count();
    assert!(
        n_warned >= 99,
        "each rock reaches through glass: {n_warned}"
    );
}
