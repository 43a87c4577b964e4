//! `calibrate` and `improve` as a script sees them: tables in, scenes and JSON
//! out. Method: the built program on a small tank; coarse cells and one run.

use crate::answers::keeps_to_schema;
use crate::program::{json, run, words};

pub(crate) const SCENE: &str = r#"(
    format: 1, name: "small",
    tank: (length_cm: 60.0, width_cm: 40.0, height_cm: 42.0, water_cm: 38.0),
    layouts: [(
        name: "as built",
        pumps: [(id: 2, name: "left", at_cm: (5.0, 20.0, 24.0), flow_lph: 1800.0, outlet_cm: 3.0)],
        lamps: [(id: 4, name: "panel", body: Panel(length_cm: 30.0, width_cm: 15.0), at_cm: (30.0, 20.0, 52.0),
            output: Photons(umol_s: 260.0))],
        corals: [(id: 5, entry: "trachyphyllia", at_cm: (30.0, 10.0, 3.0), size_cm: (7.0, 7.0, 4.0), mount: Sand)],
    )],
)"#;

#[test]
fn a_table_of_readings_calibrates_and_is_taken_back() {
    let folder = tempfile::tempdir().expect("a folder to write in");
    let at = |name: &str| folder.path().join(name);
    std::fs::write(at("scene.ron"), SCENE).expect("written");
    // 0.7 of the law of a free jet, 5.9 · U₀ · d / x with U₀ = 0.707 m/s.
    std::fs::write(
        at("readings.csv"),
        "kind,alone,distance_cm,value,spread\njet,left,24,36.5,2\njet,left,24,36.5,2\njet,left,40,21.9,1.5\njet,left,40,21.9,1.5\n",
    )
    .expect("written");
    let args = [
        "calibrate",
        "scene.ron",
        "--readings",
        "readings.csv",
        "--out",
        "s2.ron",
        "--json",
    ];
    let found = json(&run(folder.path(), &args));
    keeps_to_schema("calibrate", &found);
    let values = found["values"].as_array().expect("a list");
    let flow = values
        .iter()
        .find(|value| value["what"] == "pump_flow")
        .expect("flow");
    assert_eq!(flow["before"], 1800.0, "as rated: {flow}");
    let number = |name: &str| flow[name].as_f64().expect("a number");
    assert!((number("share") - 0.7).abs() < 0.07, "{flow}");
    assert!(
        number("low") < number("after") && number("after") < number("high"),
        "{flow}"
    );
    assert!(
        number("leave_one_out_after") < number("leave_one_out_before"),
        "{flow}"
    );
    let text = std::fs::read_to_string(at("s2.ron")).expect("written");
    assert!(
        text.contains("flow_lph: 1800.0"),
        "the nameplate stays: {text}"
    );
    assert!(
        text.contains("flow_share"),
        "and the measure stands beside it: {text}"
    );
    assert_eq!(
        json(&run(folder.path(), &["check", "s2.ron", "--json"]))["usable"],
        true,
        "sound"
    );
    let back = run(
        folder.path(),
        &["calibrate", "s2.ron", "--take-back", "--out", "s3.ron"],
    );
    assert_eq!(back.status.code(), Some(0), "{}", words(&back).1);
    let text = std::fs::read_to_string(at("s3.ron")).expect("written");
    assert!(!text.contains("flow_share"), "taken back: {text}");
}

#[test]
fn a_bad_table_is_told_of_with_its_line() {
    let folder = tempfile::tempdir().expect("a folder to write in");
    std::fs::write(folder.path().join("scene.ron"), SCENE).expect("written");
    std::fs::write(folder.path().join("r.csv"), "kind,value\nspeed,fast\n").expect("written");
    let answer = run(
        folder.path(),
        &["calibrate", "scene.ron", "--readings", "r.csv"],
    );
    assert_eq!(answer.status.code(), Some(3), "not a usable table");
    let (_, err) = words(&answer);
    assert!(
        err.contains("r.csv") && err.contains("line 2") && err.contains("`value`"),
        "{err}"
    );
    let told = run(folder.path(), &["calibrate", "scene.ron", "--protocol"]);
    assert!(words(&told).0.contains("Each pump alone"), "the protocol");
}

#[test]
fn a_plan_is_written_as_a_scene_whose_report_says_the_same() {
    let folder = tempfile::tempdir().expect("a folder to write in");
    std::fs::write(folder.path().join("scene.ron"), SCENE).expect("written");
    let water = ["--cell-cm", "4", "--runs", "1"];
    let mut args = vec![
        "improve",
        "scene.ron",
        "--count",
        "2",
        "--json",
        "--out-dir",
        "plans",
    ];
    args.extend(water);
    let found = json(&run(folder.path(), &args));
    keeps_to_schema("improve", &found);
    let plans = found["plans"].as_array().expect("a list");
    let plan = plans
        .first()
        .unwrap_or_else(|| panic!("one coral in far too much light: {found}"));
    assert_eq!(plan["buys"], 0, "{plan}");
    assert!(
        plan["corals_in_range_after"].as_u64() > plan["corals_in_range_before"].as_u64(),
        "{plan}"
    );
    let scene = plan["scene"].as_str().expect("a file");
    let mut args = vec!["report", scene, "--json"];
    args.extend(water);
    let report = json(&run(folder.path(), &args));
    let coral = &report["corals"][0];
    for strip in ["light", "flow"] {
        let strips = coral["strips"].as_array().expect("strips");
        let own = strips
            .iter()
            .find(|own| own["what"] == strip)
            .expect("a strip");
        assert_eq!(own["verdict"], "good", "{own}");
    }
    assert_eq!(
        report["flow"]["dead_l"], plan["dead_l_after"],
        "to the last digit"
    );
    let again = run(
        folder.path(),
        &["improve", "scene.ron", "--out-dir", "plans"],
    );
    assert_eq!(again.status.code(), Some(2), "plans are not written over");
}

#[test]
fn an_outage_is_told_of_with_figures_of_a_report() {
    let folder = tempfile::tempdir().expect("a folder to write in");
    std::fs::write(folder.path().join("scene.ron"), SCENE).expect("written");
    let water = ["--cell-cm", "4", "--runs", "1", "--json"];
    let ask = |command: &str| {
        let mut args = vec![command, "scene.ron"];
        args.extend(water);
        json(&run(folder.path(), &args))
    };
    let (outage, report) = (ask("outage"), ask("report"));
    keeps_to_schema("outage", &outage);
    let before = outage["before"]["dead_l"].as_f64();
    assert_eq!(
        before,
        report["flow"]["dead_l"].as_f64(),
        "to the last digit"
    );
    let without = outage["pumps"].as_array().expect("a list");
    assert_eq!(without.len(), 1, "{outage}");
    let of = |what: &str| without[0]["after"][what].as_f64().expect("a number");
    // Dead liters are chances added up, which never quite reach one.
    assert!(
        of("dead_l") > 0.99 * of("water_l"),
        "without its only pump all is dead"
    );
    let still = outage["all_off"]["still_after_s"]
        .as_f64()
        .expect("it comes to rest");
    assert!((2.0..600.0).contains(&still), "after {still} s");
    assert!(outage["drains"].is_null(), "no returns");
    let waves = outage["waves"].as_array().expect("a list");
    assert_eq!(waves.len(), 4, "two ways, two nodes");
}

#[test]
fn finer_cells_are_set_beside_a_report_which_keeps_its_figures() {
    let folder = tempfile::tempdir().expect("a folder to write in");
    std::fs::write(folder.path().join("scene.ron"), SCENE).expect("written");
    let water = ["--cell-cm", "6", "--runs", "1", "--json"];
    let ask = |command: &str, further: &[&str]| {
        let mut args = vec![command, "scene.ron"];
        args.extend(water);
        args.extend(further);
        run(folder.path(), &args)
    };
    let further = ["--finer-cm", "3,4", "--out", "cells"];
    let converge = json(&ask("converge", &further));
    keeps_to_schema("converge", &converge);
    let report = json(&ask("report", &[]));
    let estimates = converge["estimates"].as_array().expect("a list");
    let cells = estimates.iter().map(|of| of["cell_cm"].as_f64());
    let cells: Vec<f64> = cells.flatten().collect();
    assert_eq!(cells.len(), 3, "a report's and two finer");
    assert!(cells.is_sorted_by(|a, b| a > b), "finest last: {cells:?}");
    assert_eq!(
        estimates[0]["flow"]["dead_l"], report["flow"]["dead_l"],
        "to the last digit"
    );
    for of in &estimates[..2] {
        let rank = of["against_finest"]["rank"].as_f64().expect("a rank");
        // On coarse cells the order of places is no chance.
        assert!(rank > 0.3 && rank < 1.0, "{rank}");
    }
    assert!(estimates[2]["against_finest"].is_null(), "it is the finest");
    let table = std::fs::read_to_string(folder.path().join("cells/converge.csv"));
    assert_eq!(table.expect("a table").lines().count(), 4, "a row each");
    for name in ["flow-1-report-top.svg", "flow-3-3cm-side.svg"] {
        let picture = std::fs::read_to_string(folder.path().join("cells").join(name));
        assert!(picture.expect("a picture").contains("<svg"), "{name}");
    }
    let again = ask("converge", &further);
    assert_eq!(again.status.code(), Some(2), "nothing is written over");
    let coarse = ask("converge", &["--finer-cm", "0.01"]);
    assert_eq!(coarse.status.code(), Some(2), "cells too fine are refused");
}
