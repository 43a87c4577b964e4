//! `import` as a script sees it: a mesh in, a scene and JSON out, and the rock
//! in that scene like any other. Method: the built program on a small tank.

#![expect(clippy::expect_used, reason = "a helper that fails ends its test")]

use std::fmt::Write as _;

use crate::program::{json, run, words};

const SCENE: &str = r#"(
    format: 1, name: "small",
    tank: (length_cm: 60.0, width_cm: 40.0, height_cm: 42.0, water_cm: 38.0),
    layouts: [(
        name: "as built",
        rocks: [(id: 1, name: "drawn", at_cm: (14.0, 20.0, 3.0),
            plan: (points_cm: [(-6.0, -4.0), (6.0, -4.0), (6.0, 4.0), (-6.0, 4.0)]),
            front: (points_cm: [(-6.0, 0.0), (6.0, 0.0), (6.0, 10.0), (-6.0, 10.0)]))],
        pumps: [(id: 2, name: "left", at_cm: (3.0, 20.0, 24.0), flow_lph: 1800.0, outlet_cm: 3.0)],
    )],
)"#;

/// A block of 12 × 8 × 10 cm in mm, y up as OBJ has it.
fn block() -> String {
    let mut text = String::from("o block\n");
    for c in 0..8 {
        let pick = |bit: i32, low: i32, high: i32| if c >> bit & 1 == 1 { high } else { low };
        let [x, y, z] = [pick(0, -60, 60), pick(1, 0, 100), pick(2, -40, 40)];
        writeln!(text, "v {x} {y} {z}").expect("into a text");
    }
    for [a, b, c, d] in [
        [1, 3, 4, 2],
        [5, 6, 8, 7],
        [1, 2, 6, 5],
        [3, 7, 8, 4],
        [1, 5, 7, 3],
        [2, 4, 8, 6],
    ] {
        writeln!(text, "f {a} {b} {c} {d}").expect("into a text");
    }
    text
}

fn ready() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder to write in");
    std::fs::write(folder.path().join("s.ron"), SCENE).expect("written");
    std::fs::write(folder.path().join("block.obj"), block()).expect("written");
    folder
}

#[test]
fn a_scanned_rock_is_a_rock_like_any_other() {
    let folder = ready();
    let args = [
        "import",
        "block.obj",
        "--scene",
        "s.ron",
        "--out",
        "s2.ron",
        "--json",
    ];
    let said = json(&run(folder.path(), &args));
    assert_eq!(
        (&said["unit"], &said["up"]),
        (&"mm".into(), &"y".into()),
        "{said}"
    );
    assert_eq!(said["closed"], true, "{said}");
    let volume_l = said["volume_l"].as_f64().expect("a number");
    assert!((volume_l / 0.96 - 1.0).abs() < 0.03, "{said}");
    assert_eq!(said["at_cm"][2], 3.0, "on the sand: {said}");

    let checked = json(&run(folder.path(), &["check", "s2.ron", "--json"]));
    assert_eq!(checked["usable"], true, "{checked}");
    // The drawn block has the same measures: they weigh and stand alike.
    let args = [
        "report",
        "s2.ron",
        "--json",
        "--cell-cm",
        "4",
        "--runs",
        "1",
    ];
    let report = run(folder.path(), &args);
    let report = json(&report);
    let standing = report["standing"].as_array().expect("a list");
    assert_eq!(standing.len(), 2, "{standing:?}");
    for field in ["dry_kg", "wet_kg"] {
        let [a, b] = [0, 1].map(|k| standing[k][field].as_f64().expect("a number"));
        assert!((a / b - 1.0).abs() < 0.03, "{field}: {a} and {b}");
    }
    assert_eq!(
        standing[0]["verdict"], standing[1]["verdict"],
        "{standing:?}"
    );

    let args = ["export", "s2.ron", "--rock", "out.stl", "--only-rock", "3"];
    let exported = run(folder.path(), &args);
    assert_eq!(exported.status.code(), Some(0), "{}", words(&exported).1);
    let mut file = std::fs::File::open(folder.path().join("out.stl")).expect("written");
    let mesh = stl_io::read_stl(&mut file).expect("an STL file");
    let sum: f64 = (mesh.faces.iter())
        .map(|face| {
            let [a, b, c] = face.vertices.map(|v| mesh.vertices[v].0.map(f64::from));
            let cross = [
                b[1] * c[2] - b[2] * c[1],
                b[2] * c[0] - b[0] * c[2],
                b[0] * c[1] - b[1] * c[0],
            ];
            (a[0] * cross[0] + a[1] * cross[1] + a[2] * cross[2]) / 6.0
        })
        .sum();
    // mm³ against L.
    assert!((sum / 0.96e6 - 1.0).abs() < 0.03, "exported {sum} mm³");

    let args = ["draw", "s2.ron", "--view", "side", "--out", "side.svg"];
    assert_eq!(
        run(folder.path(), &args).status.code(),
        Some(0),
        "it is drawn"
    );
}

#[test]
fn what_was_guessed_is_said_and_can_be_said() {
    let folder = ready();
    let args = ["import", "block.obj", "--scene", "s.ron", "--out", "s2.ron"];
    let (out, _) = words(&run(folder.path(), &args));
    for said in [
        "12 triangles",
        "12.0 × 8.0 × 10.0",
        "1 mm (guessed)",
        "y is up (guessed)",
    ] {
        assert!(out.contains(said), "{said}: {out}");
    }
    let args = [
        "import",
        "block.obj",
        "--scene",
        "s.ron",
        "--out",
        "s3.ron",
        "--unit",
        "mm",
        "--up",
        "-x",
        "--at",
        "40,20",
        "--name",
        "big one",
        "--json",
    ];
    let said = json(&run(folder.path(), &args));
    let size = |k: usize| said["size_cm"][k].as_f64().expect("a number");
    assert!(
        (size(2) - 12.0).abs() < 0.1,
        "its x is its height now: {said}"
    );
    assert_eq!(
        (&said["at_cm"][0], &said["name"]),
        (&40.0.into(), &"big one".into())
    );
}

#[test]
fn nothing_is_written_over_and_a_damaged_mesh_is_told_of_with_its_place() {
    let folder = ready();
    let import = |mesh: &str, out: &str, more: &[&str]| {
        let args = ["import", mesh, "--scene", "s.ron", "--out", out];
        run(folder.path(), &[&args, more].concat())
    };
    assert_eq!(
        import("block.obj", "s.ron", &["--force"]).status.code(),
        Some(2)
    );
    std::fs::write(folder.path().join("there.ron"), "mine").expect("written");
    assert_eq!(import("block.obj", "there.ron", &[]).status.code(), Some(2));
    assert_eq!(
        import("block.obj", "there.ron", &["--force"]).status.code(),
        Some(0)
    );

    std::fs::write(folder.path().join("bad.obj"), "v 0 0 0\nv 1 0 zero\n").expect("written");
    let bad = import("bad.obj", "s4.ron", &[]);
    let (_, err) = words(&bad);
    assert!(
        err.contains("bad.obj") && err.contains("line 2") && err.contains("again"),
        "{err}"
    );
    assert!(!folder.path().join("s4.ron").exists(), "nothing is written");
    let large = import("block.obj", "s5.ron", &["--unit", "m"]);
    let (_, err) = words(&large);
    assert!(err.contains("block.obj") && err.contains("unit"), "{err}");
}
