//! What scripts are promised: answers keep to the schema beside their page, and
//! planted mistakes are the ones that every way of asking tells.

#![expect(clippy::expect_used, reason = "a helper that fails ends its test")]

use std::collections::BTreeSet;
use std::sync::Arc;
use std::time::{Duration, Instant};

use bommie::advice::Kind;
use bommie::desk::Desk;
use bommie::document::Document;
use serde_json::Value;

use super::program::run;

const SCHEMA: &str = include_str!("../../src/terminal/answers.schema.json");
const SOUND: &str = include_str!("../data/example.ron");

/// Fails where an answer of `command` does not keep to its schema.
pub(crate) fn keeps_to_schema(command: &str, answer: &Value) {
    let schema: Value = serde_json::from_str(SCHEMA).expect("the schema is JSON");
    let own = &schema["$defs"][command];
    assert!(own.is_object(), "no schema for {command}");
    if let Err(fault) = fits(&schema, own, (answer, command)) {
        panic!("{fault}");
    }
}

/// The part of JSON Schema that ours uses.
fn fits(all: &Value, schema: &Value, (value, path): (&Value, &str)) -> Result<(), String> {
    if let Some(name) = schema["$ref"].as_str() {
        let name = name.rsplit('/').next().unwrap_or(name);
        return fits(all, &all["$defs"][name], (value, path));
    }
    if let Some(any) = schema["anyOf"].as_array() {
        let tried = any.iter().map(|one| fits(all, one, (value, path)));
        let (good, bad): (Vec<_>, Vec<_>) = tried.partition(Result::is_ok);
        return match bad.into_iter().next() {
            Some(fault) if good.is_empty() => fault,
            _ => Ok(()),
        };
    }
    if let Some(known) = schema["enum"].as_array() {
        let is_known = known.contains(value);
        return is_known
            .then_some(())
            .ok_or(format!("{path}: {value} is not known"));
    }
    let kind = schema["type"].as_str().unwrap_or("no type");
    let is_of_kind = match kind {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "boolean" => value.is_boolean(),
        "integer" => value.is_i64() || value.is_u64(),
        "number" => value.is_number(),
        "null" => value.is_null(),
        _ => false,
    };
    if !is_of_kind {
        return Err(format!("{path}: {value} is no {kind}"));
    }
    let must = schema["required"].as_array().into_iter().flatten();
    for name in must.filter_map(Value::as_str) {
        if value.get(name).is_none() {
            return Err(format!("{path} lacks {name}"));
        }
    }
    for (name, part) in value.as_object().into_iter().flatten() {
        let known = schema["properties"].get(name);
        let part_schema = known.unwrap_or(&schema["additionalProperties"]);
        if !part_schema.is_object() {
            return Err(format!("{path}.{name} is not in the schema"));
        }
        fits(all, part_schema, (part, &format!("{path}.{name}")))?;
    }
    let parts = value.as_array().map_or(&[][..], Vec::as_slice);
    let n = parts.len() as u64;
    if schema["minItems"].as_u64().is_some_and(|least| n < least)
        || schema["maxItems"].as_u64().is_some_and(|most| n > most)
    {
        return Err(format!("{path} has {n} parts"));
    }
    parts
        .iter()
        .try_for_each(|part| fits(all, &schema["items"], (part, path)))
}

#[test]
fn the_schema_finds_what_does_not_keep_to_it() {
    let schema: Value = serde_json::from_str(SCHEMA).expect("the schema is JSON");
    let answer = serde_json::json!({"what": "pump", "items": [1]});
    let cause = &schema["$defs"]["cause"];
    assert!(fits(&schema, cause, (&answer, "cause")).is_ok(), "{answer}");
    for bad in [
        serde_json::json!({"what": "Pump", "items": [1]}),
        serde_json::json!({"what": "pump", "items": ["1"]}),
        serde_json::json!({"what": "pump"}),
        serde_json::json!({"what": "pump", "items": [], "more": 1}),
        serde_json::json!(null),
    ] {
        assert!(fits(&schema, cause, (&bad, "cause")).is_err(), "{bad}");
    }
}

/// Five mistakes in the example: its rock off the ground and rounded by more
/// than half its width, a lamp whose file is not there, an outlet in the air, and two
/// corals in one place.
fn damaged() -> String {
    let mut scene: bommie::scene::Scene = ron::from_str(SOUND).expect("the example reads");
    scene.layouts.truncate(1);
    let layout = &mut scene.layouts[0];
    let sand_cm = scene.tank.sand.depth_cm;
    layout.pumps[0].at_cm.z = scene.tank.water_cm - 0.5;
    layout.lamps[0].spread = bommie::scene::Spread::Measured {
        file: "gone.ies".to_owned(),
        sum: String::new(),
    };
    let mut coral = layout.corals[0].clone();
    "fungia".clone_into(&mut coral.entry);
    coral.on = bommie::scene::Support::Sand;
    coral.mount = bommie::scene::Mount::Loose;
    coral.size_cm = glam::DVec3::new(7.0, 7.0, 3.0);
    coral.facing = glam::DVec3::Z;
    coral.at_cm = glam::DVec3::new(90.0, 15.0, sand_cm);
    let mut other = coral.clone();
    (other.id, other.at_cm.x) = (91, other.at_cm.x + 1.0);
    coral.id = 90;
    layout.corals = vec![coral, other];
    layout.rocks[0].at_cm.z += 8.0;
    layout.rocks[0].rounding_cm = 9.0;
    ron::ser::to_string_pretty(&scene, ron::ser::PrettyConfig::default()).expect("it is written")
}

type Told = BTreeSet<(String, String, u64)>;

/// What each mistake is, how bad, and of which item, from an answer.
fn told(findings: &Value) -> Told {
    let all = findings.as_array().expect("a list").iter();
    let setup = all.filter(|finding| finding["kind"] == "setup");
    let one = |finding: &Value| {
        for field in [
            "kind",
            "severity",
            "certainty",
            "place",
            "items",
            "quantities",
            "remedy",
        ] {
            assert!(finding.get(field).is_some(), "{field}: {finding}");
        }
        let text = |part: &Value| part.as_str().unwrap_or_default().to_owned();
        let id = finding["items"][0].as_u64().expect("an id");
        (text(&finding["notes"][0]), text(&finding["severity"]), id)
    };
    setup.map(one).collect()
}

#[test]
fn five_planted_mistakes_are_the_five_that_command_report_and_window_tell() {
    let folder = tempfile::tempdir().expect("a folder to write in");
    let path = folder.path().join("scene.ron");
    let text = damaged();
    std::fs::write(&path, &text).expect("written");
    let scene: bommie::scene::Scene = ron::from_str(&text).expect("it reads");
    let layout = &scene.layouts[0];
    let (rock, pump, lamp) = (layout.rocks[0].id, layout.pumps[0].id, layout.lamps[0].id);
    let serious = |what: &str, id: u32| (what.to_owned(), "serious".to_owned(), u64::from(id));
    let warning = |what: &str, id: u32| (what.to_owned(), "warning".to_owned(), u64::from(id));
    let planted = Told::from([
        serious("floats", rock),
        warning("rounding_too_large", rock),
        serious("outlet_out_of_water", pump),
        serious("lamp_file_missing", lamp),
        warning("in_one_place", 90),
    ]);
    let output = run(folder.path(), &["check", "scene.ron", "--json"]);
    let check: Value = serde_json::from_slice(&output.stdout).expect("it is JSON");
    assert_eq!(output.status.code(), Some(1), "grave ones fail: {check}");
    assert_eq!(check["usable"], true, "{check}");
    keeps_to_schema("check", &check);
    assert_eq!(told(&check["findings"]), planted, "check: {check}");
    let named = check["findings"].as_array().expect("a list").iter();
    for finding in named {
        let text = finding["text"].as_str().unwrap_or_default();
        assert!(text.contains(':'), "with its way out: {text}");
    }

    let output = run(
        folder.path(),
        &["report", "scene.ron", "--no-flow", "--json"],
    );
    let report: Value = serde_json::from_slice(&output.stdout).expect("it is JSON");
    assert_eq!(output.status.code(), Some(3), "a file is not there");
    keeps_to_schema("report", &report);
    assert_eq!(told(&report["findings"]), planted, "report: {report}");

    let mut desk = Desk::new(Document::new(scene, None), Arc::new(|| {}));
    let start = Instant::now();
    while desk.results().findings.is_empty() {
        desk.tend();
        // Only a hang lasts as long.
        assert!(start.elapsed() < Duration::from_mins(15), "no advice");
        std::thread::sleep(Duration::from_millis(5));
    }
    let shown = desk.results().findings.iter();
    let shown = shown.filter(|finding| finding.kind == Kind::Setup);
    let shown = shown.map(|finding| {
        let id = u64::from(finding.item().expect("an item"));
        let (what, severity) = (finding.notes[0].tag(), finding.severity.tag());
        (what.to_owned(), severity.to_owned(), id)
    });
    assert_eq!(shown.collect::<Told>(), planted, "window");
}

#[test]
fn quick_answers_keep_to_the_schema() {
    let folder = tempfile::tempdir().expect("a folder to write in");
    std::fs::write(folder.path().join("scene.ron"), SOUND).expect("written");
    let coarse = ["--cell-cm", "6", "--runs", "1"];
    let cases: [(&[&str], bool); 4] = [
        (&["check", "scene.ron"], false),
        (&["report", "scene.ron"], true),
        (
            &["berths", "scene.ron", "--coral", "leptastrea", "--no-flow"],
            false,
        ),
        (
            &["compare", "scene.ron", "as built", "as built", "--no-flow"],
            false,
        ),
    ];
    for (args, has_flow) in cases {
        let mut args = args.to_vec();
        args.push("--json");
        if has_flow {
            args.extend(coarse);
        }
        let output = run(folder.path(), &args);
        assert_eq!(output.status.code(), Some(0), "{args:?}");
        let answer = serde_json::from_slice(&output.stdout).expect("it is JSON");
        keeps_to_schema(args[0], &answer);
        if args[0] == "report" && has_flow {
            volumes_add_up(&answer);
        }
    }
}

/// One account of the tank's volume: its parts are the whole, and the water in
/// which flow is computed is the open water less what is said to be in no cell.
fn volumes_add_up(report: &Value) {
    let number = |value: &Value| value.as_f64().expect("a number");
    let (tank, flow) = (&report["tank"], &report["flow"]);
    let parts = tank["volumes"].as_object().expect("the parts");
    let sum_l: f64 = parts.values().map(number).sum();
    let gross_l = number(&tank["gross_l"]);
    assert!((sum_l - gross_l).abs() < 1e-6, "{sum_l} of {gross_l} L");
    let open_l = number(&parts["open_l"]);
    let rest_l = number(&flow["not_in_cells_l"]);
    let told_l = number(&flow["water_l"]) + rest_l;
    assert!((told_l - open_l).abs() < 1e-6, "{told_l} of {open_l} L");
    // Cells are cut at surfaces: half a cell's thickness of rock, sand and
    // bodies at most, which is far below a tenth of the water.
    assert!(rest_l.abs() < 0.1 * open_l, "{rest_l} of {open_l} L");
}

/// Units of the other system that stand as words of a text.
pub(crate) fn strangers(text: &str, units: &[&str]) -> Vec<String> {
    let lines = text
        .lines()
        .filter(|line| !line.contains("for the scene file"));
    let words = lines.flat_map(|line| {
        line.split(|c: char| c.is_whitespace() || ",;:()±".contains(c))
            .map(move |word| (word.trim_end_matches('.'), line))
    });
    let strange = words.filter(|(word, _)| units.contains(word));
    strange
        .map(|(word, line)| format!("{word}: {line}"))
        .collect()
}

pub(crate) const METRIC: &[&str] = &[
    "cm", "mm", "m", "cm/s", "m/s", "L", "L/h", "kg", "g", "°C", "N", "cm²", "m²", "kg/m²", "kg/L",
    "litres", "liters",
];
pub(crate) const IMPERIAL: &[&str] = &[
    "in/s", "gal", "gph", "lb", "oz", "°F", "in²", "ft²", "lb/ft²", "ft",
];

#[test]
fn no_unit_of_the_other_system_stands_in_a_report() {
    let folder = tempfile::tempdir().expect("a folder to write in");
    for demo in bommie::storage::demos() {
        std::fs::write(folder.path().join("scene.ron"), demo.text).expect("written");
        let report = |units: &str| {
            let args = [
                "report",
                "scene.ron",
                "--no-flow",
                "--no-light",
                "--units",
                units,
            ];
            let output = run(folder.path(), &args);
            assert_eq!(output.status.code(), Some(0), "{}", demo.file);
            String::from_utf8(output.stdout).expect("it is text")
        };
        let strange = strangers(&report("imperial"), METRIC);
        assert!(strange.is_empty(), "{}: {strange:#?}", demo.file);
        let strange = strangers(&report("metric"), IMPERIAL);
        assert!(strange.is_empty(), "{}: {strange:#?}", demo.file);
    }
}

/// The words of an HTML page, a line each.
fn words_of(html: &str) -> String {
    let mut words = String::new();
    let mut is_tag = false;
    for c in html.chars() {
        match c {
            '<' => {
                is_tag = true;
                words.push('\n');
            }
            '>' => is_tag = false,
            c if !is_tag => words.push(c),
            _ => {}
        }
    }
    let named = [
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&quot;", "\""),
        ("&#39;", "'"),
        ("&amp;", "&"),
    ];
    named
        .into_iter()
        .fold(words, |words, (name, sign)| words.replace(name, sign))
}

#[test]
fn no_unit_of_the_other_system_stands_on_paper() {
    let folder = tempfile::tempdir().expect("a folder to write in");
    for demo in bommie::storage::demos() {
        std::fs::write(folder.path().join("scene.ron"), demo.text).expect("written");
        for (units, strange) in [("imperial", METRIC), ("metric", IMPERIAL)] {
            let file = format!("{}-{units}.html", demo.file);
            let args = [
                "report",
                "scene.ron",
                "--no-flow",
                "--units",
                units,
                "--out",
                &file,
            ];
            let output = run(folder.path(), &args);
            assert_eq!(output.status.code(), Some(0), "{file}");
            let html = std::fs::read_to_string(folder.path().join(&file)).expect("it is there");
            // The name of the page's style is no unit.
            let body = html.split("</style>").last().expect("a page");
            let found = strangers(&words_of(body), strange);
            assert!(found.is_empty(), "{file}: {found:#?}");
        }
    }
}

/// Masses of rock: in the answer, in the table, on paper and in the window.
fn masses_agree(desk: &Desk, (answer, rows): (&Value, &str), paper: &str) {
    use bommie::advice::RockWeight;
    use bommie::units::{Measure, UnitSystem};
    use bommie::words::Speaker;

    let speaker = Speaker::new(desk.scene(), desk.layout(), UnitSystem::Metric);
    let rocks = &desk.layout().rocks;
    let standing = answer["standing"].as_array().expect("a list");
    let rows = rows.lines().skip(1);
    assert_eq!(rows.clone().count(), standing.len(), "a row each");
    for (body, row) in standing.iter().zip(rows) {
        let wet_kg = body["wet_kg"].as_f64().expect("a mass");
        let ids = body["rocks"].as_array().expect("ids").iter();
        let ids: Vec<u64> = ids.filter_map(Value::as_u64).collect();
        let own = rocks
            .iter()
            .filter(|rock| ids.contains(&u64::from(rock.id)));
        // As the window's inspector weighs them.
        let sum: f64 = own.map(|rock| RockWeight::of(rock).wet_kg).sum();
        assert!((sum - wet_kg).abs() < 1e-9, "window {sum}, answer {wet_kg}");
        let raw = format!("{wet_kg:.3}");
        assert!(row.contains(&raw), "{row} lacks {raw}");
        let said = speaker.number(Measure::Mass, wet_kg, 1);
        assert!(paper.contains(&said), "paper lacks {said}");
    }
}

#[test]
fn one_figure_reads_the_same_in_report_answer_paper_and_window() {
    use bommie::scene::Item;

    let folder = tempfile::tempdir().expect("a folder to write in");
    for demo in bommie::storage::demos() {
        std::fs::write(folder.path().join("scene.ron"), demo.text).expect("written");
        // A folder holds all of them, from one run: the answer as `--json` gives
        // it, the plan, the tables; the words are those of the terminal.
        let tables = format!("{}-tables", demo.file);
        let args = ["report", "scene.ron", "--no-flow", "--out", &tables];
        let output = run(folder.path(), &args);
        assert_eq!(output.status.code(), Some(0), "{}", demo.file);
        let text = String::from_utf8(output.stdout).expect("it is text");
        let read = |name: &str| {
            let path = folder.path().join(&tables).join(name);
            std::fs::read_to_string(path).expect("it is there")
        };
        let answer: Value = serde_json::from_str(&read("report.json")).expect("it is JSON");
        let paper = words_of(&read("plan.html"));
        // What was noticed: one sentence, wherever it is told.
        let findings = answer["findings"].as_array().expect("a list");
        assert!(!findings.is_empty(), "{}: something is noticed", demo.file);
        for finding in findings {
            let said = finding["text"].as_str().expect("a text");
            assert!(text.contains(said), "report lacks {said}");
            assert!(paper.contains(said), "paper lacks {said}");
        }
        let scene: bommie::scene::Scene = ron::from_str(demo.text).expect("it reads");
        let desk = Desk::new(Document::new(scene, None), Arc::new(|| {}));
        masses_agree(&desk, (&answer, &read("standing.csv")), &paper);
        // Ranges: the catalog's own, wherever they stand.
        for coral in answer["corals"].as_array().expect("a list") {
            let id = coral["id"].as_u64().expect("an id") as u32;
            let Some(Item::Coral(own)) = desk.layout().item(id) else {
                panic!("coral {id}");
            };
            let entry = desk.study().entry_of(&own).expect("known");
            let light = &coral["strips"][0];
            let range = [&light["low"], &light["high"]].map(|v| v.as_f64().expect("a number"));
            let known = [entry.light_ppfd_umol.low, entry.light_ppfd_umol.high];
            assert_eq!(range, known, "{}: coral {id}", demo.file);
        }
    }
}
