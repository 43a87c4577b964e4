//! The terminal commands as a script sees them: columns, codes, streams.
//! Method: the built program on small scenes; light from the lamps alone where
//! its amount does not matter, since that is quick.

#![expect(clippy::expect_used, reason = "a helper that fails ends its test")]

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

const SOUND: &str = include_str!("../data/example.ron");
const COLUMNS: &str = "x_cm,y_cm,z_cm,inside,speed_cm_s,u_cm_s,v_cm_s,w_cm_s,fluctuation_cm_s,ppfd_up_umol,ppfd_scalar_umol";
const FELT: &str = "felt_cm_s,felt_p10_cm_s,felt_p90_cm_s,chance_below_2_cm_s,chance_below_5_cm_s,worst_phase_cm_s,worst_phase,peak_cm_s,peak_phase";

/// A small tank: on cells of 4 cm its water takes moments.
const SMALL: &str = r#"(
    format: 1, name: "small",
    tank: (length_cm: 36.0, width_cm: 28.0, height_cm: 30.0, water_cm: 26.0),
    layouts: [(
        name: "as built",
        rocks: [(
            id: 1, name: "island", at_cm: (20.0, 14.0, 3.0),
            plan: (points_cm: [(-6.0, -5.0), (6.0, -5.0), (6.0, 5.0), (-6.0, 5.0)]),
            front: (points_cm: [(-6.0, 0.0), (6.0, 0.0), (6.0, 11.0), (-6.0, 11.0)]),
        )],
        pumps: [(id: 2, name: "left", at_cm: (4.0, 14.0, 20.0), flow_lph: 1500.0, outlet_cm: 4.0)],
        lamps: [(id: 4, name: "panel", body: Panel(length_cm: 20.0, width_cm: 10.0), at_cm: (18.0, 14.0, 40.0),
            output: Photons(umol_s: 60.0))],
    )],
)"#;
/// Its pump.
const PUMP: &str =
    "(id: 2, name: \"left\", at_cm: (4.0, 14.0, 20.0), flow_lph: 1500.0, outlet_cm: 4.0)";

struct Folder {
    folder: tempfile::TempDir,
}

impl Folder {
    /// A folder with the sound scene in it.
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder to write in");
        let it = Self { folder };
        it.write("scene.ron", SOUND);
        it
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn write(&self, name: &str, text: &str) {
        std::fs::write(self.path(name), text).expect("the file is written");
    }

    /// Runs the program in the folder.
    fn run(&self, args: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_bommie"))
            .args(args)
            .current_dir(self.folder.path())
            .env_remove("DISPLAY")
            .env_remove("WAYLAND_DISPLAY")
            .stdin(Stdio::null())
            .output()
            .expect("the program starts")
    }
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("the answer is text")
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).expect("messages are text")
}

fn good(output: &Output) -> String {
    assert_eq!(output.status.code(), Some(0), "{}", err(output));
    out(output)
}

#[test]
fn probe_answers_each_point_in_order() {
    let folder = Folder::new();
    // Open water, rock, sand, beside the tank, above the water, on the surface.
    folder.write(
        "points.csv",
        "x_cm,y_cm,z_cm\n60,30,25\n30,28,15\n\n60,30,1\n-5,30,25\n60,30,52\n60,30,50\n60,30,3\n",
    );
    let answer = good(&folder.run(&[
        "probe",
        "scene.ron",
        "--points",
        "points.csv",
        "--no-flow",
        "--light",
        "direct",
    ]));
    let lines: Vec<&str> = answer.lines().collect();
    assert_eq!(lines[0], format!("{COLUMNS},{FELT}"), "header");
    let inside: Vec<&str> = lines[1..]
        .iter()
        .filter_map(|line| line.split(',').nth(3))
        .collect();
    assert_eq!(
        inside,
        [
            "water", "rock", "sand", "outside", "outside", "water", "water"
        ],
        "{answer}"
    );
    for line in &lines[1..] {
        let cells: Vec<&str> = line.split(',').collect();
        assert_eq!(cells.len(), 20, "{line}");
        assert!(
            cells[4..9].iter().all(|cell| cell.is_empty()),
            "no flow was wanted: {line}"
        );
        let is_lit = cells[9..11]
            .iter()
            .all(|cell| cell.parse::<f64>().is_ok_and(|ppfd| ppfd > 0.0));
        assert_eq!(
            is_lit,
            cells[3] == "water",
            "light in the water only: {line}"
        );
    }
    assert!(
        lines[1].starts_with("60,30,25,water,"),
        "places as they were given: {answer}"
    );
}

#[test]
fn probe_adds_the_facing_where_points_have_one() {
    let folder = Folder::new();
    folder.write("points.csv", "note,nz,ny,nx,z_cm,y_cm,x_cm\nup,1,0,0,25,30,60\nup,5,0,0,25,30,60\ndown,-1,0,0,25,30,60\n");
    let answer = good(&folder.run(&[
        "probe",
        "scene.ron",
        "--points",
        "points.csv",
        "--no-flow",
        "--light",
        "direct",
    ]));
    let lines: Vec<&str> = answer.lines().collect();
    assert_eq!(lines[0], format!("{COLUMNS},ppfd_umol,{FELT}"), "header");
    let cells: Vec<Vec<&str>> = lines[1..]
        .iter()
        .map(|line| line.split(',').collect())
        .collect();
    assert_eq!(cells[0][11], cells[0][9], "facing up is the level sensor");
    assert_eq!(cells[1], cells[0], "the length of a facing does not matter");
    assert_eq!(cells[2][11], "0.000", "no direct light from below");
}

#[test]
fn probe_can_leave_both_halves_out() {
    let folder = Folder::new();
    folder.write("points.csv", "x_cm,y_cm,z_cm\n60,30,25\n");
    let answer = good(&folder.run(&[
        "probe",
        "scene.ron",
        "--points",
        "points.csv",
        "--no-flow",
        "--no-light",
    ]));
    assert_eq!(
        answer,
        format!("{COLUMNS},{FELT}\n60,30,25,water,,,,,,,,,,,,,,,,\n"),
        "all columns, empty"
    );
}

/// Middle, interval and chances of a felt speed come from one distribution.
fn agree(cells: &[&str]) {
    let felt: Vec<f64> = cells
        .iter()
        .map(|cell| cell.parse().expect("a number"))
        .collect();
    assert!(
        felt[1] < felt[0] && felt[0] < felt[2],
        "the middle lies within its interval: {felt:?}"
    );
    for (limit_cm_s, chance) in [(2.0, felt[3]), (5.0, felt[4])] {
        assert_eq!(
            felt[0] < limit_cm_s,
            chance > 0.5,
            "the chance goes with the middle: {felt:?}"
        );
        assert_eq!(
            felt[2] < limit_cm_s,
            chance > 0.9,
            "and with the interval: {felt:?}"
        );
    }
}

/// A pump that rests for half of a slow cycle: the slowest phase is that of
/// rest, the fastest that of the pump, and the mean lies between.
#[test]
fn probe_tells_the_phases_of_pumps_that_change() {
    let folder = Folder::new();
    let pulsed = include_str!("../data/example.ron").replacen(
        "programme: Steady",
        "programme: Pulse(period_s: 600.0, share: 0.5)",
        1,
    );
    folder.write("pulsed.ron", &pulsed);
    folder.write("points.csv", "x_cm,y_cm,z_cm\n30,18,34\n60,30,25\n");
    let answer = good(&folder.run(&[
        "probe",
        "pulsed.ron",
        "--points",
        "points.csv",
        "--cell-cm",
        "4",
        "--no-light",
    ]));
    for line in answer.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        assert_eq!((cells[17], cells[19]), ("none", "2"), "{line}");
        let [mean, worst, peak] = [4, 16, 18].map(|at| cells[at].parse::<f64>().expect("a number"));
        assert!(worst < mean && mean < peak, "{line}");
        // Shares of a half each, to the digits that are told.
        assert!(
            (0.5 * (worst + peak) - mean).abs() < 0.002 * mean + 2e-4,
            "{line}"
        );
    }
}

/// The time mean of a speed is at least the speed of the mean velocity; the
/// columns are rounded to 0.0001 cm/s.
#[test]
fn probe_answers_with_the_flow_of_either_estimate() {
    let folder = Folder::new();
    folder.write(
        "points.csv",
        "60,30,25\n10,11,34\n30,28,15\n0,0,3\n120,60,50\n",
    );
    for estimate in ["tank", "slice"] {
        let answer = good(&folder.run(&[
            "probe",
            "scene.ron",
            "--points",
            "points.csv",
            "--cell-cm",
            "4",
            "--estimate",
            estimate,
            "--no-light",
        ]));
        let lines: Vec<Vec<&str>> = answer
            .lines()
            .skip(1)
            .map(|line| line.split(',').collect())
            .collect();
        assert_eq!(lines.len(), 5, "{answer}");
        for cells in &lines {
            if cells[3] != "water" {
                assert!(
                    cells[4..].iter().all(|cell| cell.is_empty()),
                    "{estimate}: {cells:?}"
                );
                continue;
            }
            let numbers: Vec<f64> = cells[4..9]
                .iter()
                .map(|cell| cell.parse().expect("a number"))
                .collect();
            let mean = numbers[1..4].iter().map(|v| v * v).sum::<f64>().sqrt();
            assert!(
                numbers[0] >= mean - 2e-4,
                "{estimate}: speed {} of {numbers:?}",
                numbers[0]
            );
            assert!(
                cells[9..11].iter().all(|cell| cell.is_empty()),
                "no light was wanted: {cells:?}"
            );
            if estimate == "slice" {
                assert!(
                    cells[11..].iter().all(|cell| cell.is_empty()),
                    "a slice tells no felt speed: {cells:?}"
                );
                continue;
            }
            agree(&cells[11..16]);
            assert!(
                cells[16..].iter().all(|cell| cell.is_empty()),
                "no pump changes: {cells:?}"
            );
        }
        // Seven centimeters before the outlet of a 3000 L/h pump.
        let near: f64 = lines[1][4].parse().expect("a number");
        assert!(near > 10.0, "{estimate}: {near} cm/s in the jet");
    }
}

#[test]
fn a_cell_that_makes_no_sense_is_named() {
    let folder = Folder::new();
    folder.write("points.csv", "60,30,25\n");
    for cell in ["0", "-2", "nan", "1000"] {
        let output = folder.run(&[
            "probe",
            "scene.ron",
            "--points",
            "points.csv",
            &format!("--cell-cm={cell}"),
        ]);
        assert_eq!(output.status.code(), Some(2), "{cell}: {}", err(&output));
        assert!(
            err(&output).contains("--cell-cm is"),
            "{cell}: {}",
            err(&output)
        );
    }
}

/// Without a display the report takes the window's place, on a scene as on the
/// demo, with a word on how to get the window.
#[test]
fn without_a_display_the_report_takes_the_place_of_the_window() {
    let folder = Folder::new();
    // Without a pump, since its water takes least: no cells can be asked for here.
    let still = SMALL.replacen(PUMP, "", 1);
    assert_ne!(still, SMALL, "it has no pump");
    folder.write("small.ron", &still);
    let output = folder.run(&["small.ron"]);
    let answer = good(&output);
    assert!(answer.starts_with("small, layout \"as built\""), "{answer}");
    assert!(
        answer.contains("tank estimate") && answer.contains("Cautions"),
        "{answer}"
    );
    let messages = err(&output);
    assert!(
        messages.contains("no window") && messages.contains("To get the window"),
        "{messages}"
    );
    let output = folder.run(&["missing.ron"]);
    assert_eq!(output.status.code(), Some(3), "{}", err(&output));
    assert!(err(&output).contains("no such file"), "{}", err(&output));
}

#[test]
fn probe_names_the_fault_of_a_points_file() {
    let folder = Folder::new();
    folder.write("points.csv", "x_cm,y_cm,z_cm\n1,2,3\n1,2,x\n");
    for (file, part) in [
        ("points.csv", "points.csv: line 3: z_cm is \"x\""),
        ("none.csv", "no such file"),
    ] {
        let output = folder.run(&["probe", "scene.ron", "--points", file]);
        assert_eq!(output.status.code(), Some(3), "{}", err(&output));
        assert!(err(&output).contains(part), "{}", err(&output));
        assert_eq!(out(&output), "", "no half answer");
    }
}

#[test]
fn answers_do_not_depend_on_threads() {
    let folder = Folder::new();
    folder.write("points.csv", "60,30,25\n20,20,10\n80,50,40\n");
    let args = [
        "probe",
        "scene.ron",
        "--points",
        "points.csv",
        "--cell-cm",
        "5",
    ];
    let run = |threads: &str| {
        let output = Command::new(env!("CARGO_BIN_EXE_bommie"))
            .args(args)
            .current_dir(folder.folder.path())
            .env("RAYON_NUM_THREADS", threads)
            .output()
            .expect("the program starts");
        good(&output)
    };
    assert_eq!(run("1"), run("2"), "one thread and two");
}

#[test]
fn a_missing_layout_is_named_with_those_there_are() {
    let folder = Folder::new();
    let output = folder.run(&["report", "scene.ron", "--layout", "new", "--no-flow"]);
    assert_eq!(output.status.code(), Some(2), "{}", err(&output));
    let text = err(&output);
    assert!(
        text.contains("no layout \"new\"") && text.contains("\"as built\""),
        "{text}"
    );
}

#[test]
fn report_says_in_json_what_it_says_in_words() {
    let folder = Folder::new();
    let json = good(&folder.run(&[
        "report",
        "scene.ron",
        "--no-flow",
        "--json",
        "--out",
        "made/here",
    ]));
    let answer: serde_json::Value = serde_json::from_str(&json).expect("it is JSON");
    assert_eq!(answer["answer_format"], 1, "{json}");
    assert_eq!(answer["scene"], "Example", "{json}");
    assert!(answer["flow"].is_null(), "left out: {json}");
    assert_eq!(answer["light"]["lamps"][0]["umol_s"], 180.0, "{json}");
    let gross = answer["tank"]["gross_l"].as_f64();
    assert!(
        gross.is_some_and(|l| (l - 360.0).abs() < 1e-9),
        "120 x 60 x 50 cm: {gross:?}"
    );
    let dose = answer["corals"][0]["dli_mol"].as_f64();
    assert!(
        dose.is_some_and(|mol| mol > 0.1),
        "its lamp shines on it: {dose:?}"
    );
    // The folder holds the same answer, tables and pictures.
    let written =
        std::fs::read_to_string(folder.path("made/here/report.json")).expect("it is there");
    assert_eq!(written, json, "report.json is the answer");
    let words = std::fs::read_to_string(folder.path("made/here/report.txt")).expect("it is there");
    let n_findings = answer["findings"].as_array().map_or(0, Vec::len);
    assert!(
        words.contains(&format!("Findings, worst first: {n_findings}")),
        "{words}"
    );
    let table =
        std::fs::read_to_string(folder.path("made/here/findings.csv")).expect("it is there");
    assert_eq!(
        table.lines().count(),
        n_findings + 1,
        "a line a finding:\n{table}"
    );
    for (name, size) in [
        ("light-at-pumps.png", (600, 300)),
        ("light-low.png", (600, 300)),
        ("light-side.png", (600, 250)),
    ] {
        let picture = image::open(folder.path("made/here").join(name)).expect("it is a picture");
        assert_eq!((picture.width(), picture.height()), size, "{name}");
    }
    assert!(
        !folder.path("made/here/flow-low.png").exists(),
        "no flow, no picture of it"
    );
}

#[test]
fn berths_lists_places_and_unknown_corals_are_named() {
    let folder = Folder::new();
    let answer = good(&folder.run(&[
        "berths",
        "scene.ron",
        "--coral",
        "leptastrea",
        "--count",
        "3",
        "--no-flow",
        "--json",
    ]));
    let answer: serde_json::Value = serde_json::from_str(&answer).expect("it is JSON");
    let berths = answer["berths"].as_array().map_or(0, Vec::len);
    assert!(berths > 0 && berths <= 3, "{answer}");
    let output = folder.run(&["berths", "scene.ron", "--coral", "trumpet", "--no-flow"]);
    assert_eq!(output.status.code(), Some(2), "{}", err(&output));
    assert!(
        err(&output).contains("perhaps caulastraea"),
        "{}",
        err(&output)
    );
}

/// What a proposal promises is what the report finds once its pump is in the
/// scene: the same engine, cells and figures. A search takes minutes.
#[cfg(feature = "slow-tests")]
#[test]
fn a_proposed_pump_keeps_its_promise() {
    let folder = Folder::new();
    folder.write("small.ron", SMALL);
    let args = [
        "propose",
        "small.ron",
        "--count",
        "1",
        "--flow-lph",
        "1200",
        "--outlet-cm",
        "3",
        "--cell-cm",
        "4",
        "--json",
    ];
    let answer = good(&folder.run(&args));
    let answer: serde_json::Value = serde_json::from_str(&answer).expect("it is JSON");
    super::answers::keeps_to_schema("propose", &answer);
    let proposal = &answer["proposals"][0];
    let dead = |part: &str| proposal[part]["dead_l"].as_f64().expect("a number");
    assert!(dead("after") < dead("before"), "{proposal}");
    let pump = &proposal["pump"];
    let at = pump["at_cm"].as_array().expect("a place");
    let text = format!(
        "(id: {}, name: \"proposed\", at_cm: ({:?}, {:?}, {:?}), turn_deg: {:?}, tilt_deg: {:?}, flow_lph: {:?}, outlet_cm: {:?})",
        pump["id"],
        at[0].as_f64().expect("x"),
        at[1].as_f64().expect("y"),
        at[2].as_f64().expect("z"),
        pump["turn_deg"].as_f64().expect("turn"),
        pump["tilt_deg"].as_f64().expect("tilt"),
        pump["flow_lph"].as_f64().expect("flow"),
        pump["outlet_cm"].as_f64().expect("outlet"),
    );
    // New pumps are added behind the others, as the search did.
    let scene = SMALL.replacen(PUMP, &format!("{PUMP},\n{text}"), 1);
    assert_ne!(scene, SMALL, "one pump more");
    folder.write("after.ron", &scene);
    // What is promised, and what it is set against, are what a report says.
    for (part, file) in [("before", "small.ron"), ("after", "after.ron")] {
        let args = ["report", file, "--cell-cm", "4", "--no-light", "--json"];
        let report: serde_json::Value =
            serde_json::from_str(&good(&folder.run(&args))).expect("it is JSON");
        assert_eq!(
            report["flow"]["dead_l"], proposal[part]["dead_l"],
            "{part}: to the last digit"
        );
    }
}

#[test]
fn compare_of_a_layout_with_itself_finds_no_difference() {
    let folder = Folder::new();
    let answer = good(&folder.run(&[
        "compare",
        "scene.ron",
        "as built",
        "as built",
        "--no-flow",
        "--no-light",
        "--json",
    ]));
    let answer: serde_json::Value = serde_json::from_str(&answer).expect("it is JSON");
    assert_eq!(answer["moves"], serde_json::json!([]), "nothing to move");
    let rows = answer["figures"].as_array().expect("a list");
    assert!(!rows.is_empty(), "{answer}");
    for row in rows {
        assert!(
            matches!(row["better"].as_str(), Some("tie" | "unknown")),
            "{row}"
        );
    }
}

#[test]
fn help_is_an_answer_and_names_every_command() {
    let folder = Folder::new();
    let help = good(&folder.run(&["--help"]));
    for command in ["check", "report", "probe", "propose", "berths", "compare"] {
        assert!(help.contains(command), "{help}");
    }
    assert!(
        good(&folder.run(&["--version"])).starts_with("bommie "),
        "version"
    );
}

#[cfg(unix)]
#[test]
fn a_reader_that_leaves_early_is_no_fault() {
    use std::os::unix::process::ExitStatusExt as _;
    let folder = Folder::new();
    let many = "60,30,25\n".repeat(20_000);
    folder.write("points.csv", &many);
    let mut child = Command::new(env!("CARGO_BIN_EXE_bommie"))
        .args([
            "probe",
            "scene.ron",
            "--points",
            "points.csv",
            "--no-flow",
            "--no-light",
        ])
        .current_dir(folder.folder.path())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    drop(child.stdout.take());
    let output = child.wait_with_output().expect("it ends");
    assert!(!err(&output).contains("panicked"), "{}", err(&output));
    assert!(
        output.status.code() == Some(0) || output.status.signal().is_some(),
        "{output:?}"
    );
}

#[test]
fn every_json_field_is_documented() {
    let page = include_str!("../../src/terminal/JSON.md");
    let folder = Folder::new();
    let report = good(&folder.run(&["report", "scene.ron", "--no-flow", "--json"]));
    let answer: serde_json::Value = serde_json::from_str(&report).expect("it is JSON");
    let mut names = Vec::new();
    for part in [
        &answer,
        &answer["light"],
        &answer["light"]["lamps"][0],
        &answer["light"]["surfaces"][0],
        &answer["findings"][0],
        &answer["corals"][0],
        &answer["corals"][0]["strips"][0],
    ] {
        names.extend(
            part.as_object()
                .into_iter()
                .flat_map(|fields| fields.keys().cloned()),
        );
    }
    assert!(names.len() > 30, "{names:?}");
    for name in names {
        assert!(
            page.contains(&format!("`{name}`")),
            "JSON.md does not name `{name}`"
        );
    }
}

/// Keeps the list of files in one place: the demos in the program are those of
/// the folder.
#[test]
fn demos_are_the_files_of_the_folder() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenes");
    for demo in bommie::storage::demos() {
        let text = std::fs::read_to_string(folder.join(demo.file)).expect("it is there");
        assert_eq!(text, demo.text, "{}", demo.file);
        let loaded = bommie::storage::parse(demo.text, demo.file).expect("it loads");
        assert_eq!(loaded.issues, Vec::new(), "{} without a warning", demo.file);
    }
}

#[test]
fn a_folder_holds_the_plan_its_tables_and_views() {
    let folder = Folder::new();
    let args = ["report", "scene.ron", "--no-flow", "--out", "all"];
    good(&folder.run(&args));
    let read = |name: &str| {
        let path = folder.path("all").join(name);
        std::fs::read(&path).unwrap_or_else(|_| panic!("{name} is there"))
    };
    assert!(read("plan.pdf").starts_with(b"%PDF-"), "a PDF");
    assert!(read("plan.html").starts_with(b"<!DOCTYPE html>"), "a page");
    assert!(read("plan-end.svg").starts_with(b"<?xml"), "an SVG");
    assert!(read("light-top.svg").starts_with(b"<?xml"), "an SVG");
    let none = folder.path("all").join("flow-top.svg");
    assert!(!none.exists(), "no flow was wanted");
    for (name, head) in [
        ("findings.csv", "kind,severity,certainty,"),
        ("corals.csv", "id,entry,name,"),
        ("stock.csv", "name,genus,place,"),
        ("standing.csv", "rocks,name,volume_l,"),
        ("water.csv", "name,value,unit"),
        ("light.csv", "on,rock,area_m2,"),
    ] {
        let table = String::from_utf8(read(name)).expect("text");
        assert!(table.starts_with(head), "{name}: {table}");
        assert!(table.lines().count() > 1, "{name} has rows");
    }
    // A 24 × 16 × 20 cm block with an opening of 8 × 9 × 16 cm: 6.528 L, summed
    // to within 1 %.
    let table = String::from_utf8(read("standing.csv")).expect("text");
    let volume_l: Option<f64> = table
        .lines()
        .nth(1)
        .and_then(|row| row.split(',').nth(2)?.parse().ok());
    let error = volume_l.map(|volume_l| (volume_l - 6.528).abs());
    assert!(error.is_some_and(|error| error < 0.065), "{table}");
}

#[test]
fn one_view_is_drawn_at_the_scale_that_was_asked_for() {
    let folder = Folder::new();
    let args = ["draw", "scene.ron", "--view", "side", "--scale", "20"];
    good(&folder.run(&[&args[..], &["--out", "side.svg"]].concat()));
    let svg = std::fs::read_to_string(folder.path("side.svg")).expect("the drawing");
    assert!(svg.contains("at 1:20"), "its scale bar says so");
    let bad = folder.run(&["draw", "scene.ron", "--scale", "0", "--out", "x.svg"]);
    assert_eq!(bad.status.code(), Some(2), "no such scale");
    assert!(err(&bad).contains("--scale is 0"), "{}", err(&bad));
    let bad = folder.run(&["draw", "scene.ron", "--level-cm", "-3", "--out", "x.svg"]);
    assert_ne!(bad.status.code(), Some(0), "no such level");
}

#[test]
fn a_plan_with_unknown_wishes_fails_before_the_work() {
    let folder = Folder::new();
    let plan = ["report", "scene.ron", "--out", "plan.pdf"];
    let bad = folder.run(&[&plan[..], &["--moves-to", "nowhere"]].concat());
    assert_eq!(bad.status.code(), Some(2), "no such layout");
    assert!(err(&bad).contains("no layout \"nowhere\""), "{}", err(&bad));
    let bad = folder.run(&[&plan[..], &["--berths", "unicorn"]].concat());
    assert_eq!(bad.status.code(), Some(2), "no such entry");
    assert!(!folder.path("plan.pdf").exists(), "nothing was written");
}

#[test]
fn exports_are_written_where_they_were_asked_for() {
    let folder = Folder::new();
    let args = [
        "export",
        "scene.ron",
        "--rock",
        "rock.stl",
        "--light",
        "light.vtk",
    ];
    good(&folder.run(&[&args[..], &["--light-cell-cm", "10"]].concat()));
    let light = std::fs::read(folder.path("light.vtk")).expect("the light");
    assert!(
        light.starts_with(b"# vtk DataFile Version 3.0\n"),
        "legacy VTK"
    );
    let rock = std::fs::read(folder.path("rock.stl")).expect("the rock");
    assert_eq!((rock.len() - 84) % 50, 0, "50 bytes a triangle");
    let nothing = folder.run(&["export", "scene.ron"]);
    assert_eq!(nothing.status.code(), Some(2), "{}", err(&nothing));
    let bad = folder.run(&[
        "export",
        "scene.ron",
        "--rock",
        "r.stl",
        "--only-rock",
        "77",
    ]);
    assert!(err(&bad).contains("no rock 77"), "{}", err(&bad));
}
