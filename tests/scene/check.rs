//! Every fault that a scene can have is named with its item, field, value,
//! limit and way out. Method: one sound scene as text, one edit a case, and
//! what the message must hold.

use bommie::scene::check::limits;
use bommie::scene::{IssueSeverity, check};
use bommie::storage::{LocatedIssue, StorageError, parse};

const SOUND: &str = include_str!("../data/example.ron");

/// The sound scene with its first `from` replaced.
fn edited(from: &str, to: &str) -> String {
    assert!(SOUND.contains(from), "the sound scene holds no {from:?}");
    SOUND.replacen(from, to, 1)
}

/// All issues of a scene that the parser accepts.
fn issues(text: &str) -> Vec<LocatedIssue> {
    match parse(text, "case.ron") {
        Ok(loaded) => loaded.issues,
        Err(StorageError::Unsound { issues, .. }) => issues,
        Err(other) => panic!("the parser refused it: {other}"),
    }
}

/// An edit and the parts of the one message that it must bring.
struct Case {
    from: &'static str,
    to: &'static str,
    severity: IssueSeverity,
    parts: &'static [&'static str],
}

const fn error(from: &'static str, to: &'static str, parts: &'static [&'static str]) -> Case {
    Case {
        from,
        to,
        severity: IssueSeverity::Error,
        parts,
    }
}

const fn warning(from: &'static str, to: &'static str, parts: &'static [&'static str]) -> Case {
    Case {
        from,
        to,
        severity: IssueSeverity::Warning,
        parts,
    }
}

const CASES: &[Case] = &[
    // The tank.
    error(
        "length_cm: 120.0",
        "length_cm: NaN",
        &["case.ron:5:9", "tank: length_cm is NaN", "10 to 1000 cm"],
    ),
    error(
        "length_cm: 120.0",
        "length_cm: inf",
        &["length_cm is inf", "10 to 1000 cm"],
    ),
    error(
        "height_cm: 55.0",
        "height_cm: 5500.0",
        &["height_cm is 5500 cm", "not mm"],
    ),
    error("width_cm: 60.0", "width_cm: -60.0", &["width_cm is -60 cm"]),
    error(
        "water_cm: 50.0",
        "water_cm: 56.0",
        &[
            "case.ron:5:60",
            "water_cm is 56 cm",
            "no higher than the rim",
        ],
    ),
    error(
        "water_cm: 50.0",
        "water_cm: 4.0",
        &["water_cm is 4 cm", "6 to 55 cm"],
    ),
    error(
        "depth_cm: 3.0",
        "depth_cm: -1.0",
        &["sand.depth_cm is -1 cm", "0 is a bare bottom"],
    ),
    error("grain_mm: 1.0", "grain_mm: 0.0", &["sand.grain_mm is 0 mm"]),
    error(
        "reflectance: 0.5",
        "reflectance: 50.0",
        &["sand.reflectance is 50", "not percent"],
    ),
    error(
        "absorption_per_m: 0.15",
        "absorption_per_m: -0.1",
        &["water.absorption_per_m is -0.1 1/m"],
    ),
    error(
        "refractive_index: 1.34",
        "refractive_index: 1.0",
        &["water.refractive_index is 1", "seawater has 1.34"],
    ),
    // Returns and overflow.
    error(
        "at_cm: (115.0, 55.0, 45.0)",
        "at_cm: (115.0, 65.0, 45.0)",
        &[
            "case.ron:9:20",
            "return \"1\"",
            "(115, 65, 45) cm",
            "y 0 to 60",
        ],
    ),
    error(
        "flow_lph: 1500.0",
        "flow_lph: 0.0",
        &["return \"1\"", "flow_lph is 0 L/h"],
    ),
    error(
        "to_cm: 25.0",
        "to_cm: 125.0",
        &["overflow.to_cm", "from 5 to 125 cm", "0 to 120 cm"],
    ),
    error(
        "from_cm: 5.0",
        "from_cm: 30.0",
        &["from 30 to 25 cm", "ascending"],
    ),
    error(
        "depth_cm: 4.0",
        "depth_cm: 60.0",
        &["overflow.depth_cm is 60 cm", "47 cm of water"],
    ),
    // Rocks.
    error(
        "(-12.0, 8.0)], curved: false),\n",
        "(12.0, -9.0)], curved: false),\n",
        &[
            "rock \"left island\" (id 1) in layout \"as built\"",
            "plan.points_cm is a curve that crosses itself",
            "move one of these points",
        ],
    ),
    error(
        "plan:  (points_cm: [(-12.0, -8.0), (12.0, -8.0), ",
        "plan:  (points_cm: [",
        &["plan.points_cm is 2 points", "at least a triangle"],
    ),
    error(
        "plan:  (points_cm: [(-12.0, -8.0)",
        "plan:  (points_cm: [(NaN, -8.0)",
        &[
            "case.ron:19:41",
            "plan.points_cm[0] is (NaN, -8) cm",
            "-1000 to 1000 cm",
        ],
    ),
    error(
        "plan:  (points_cm: [(-12.0, -8.0)",
        "plan:  (points_cm: [(-12.0, 8.0), (-12.0, -8.0)",
        &["plan.points_cm[4]", "same point as its neighbor, point 1"],
    ),
    error(
        "[(-4.0, 0.0), (4.0, 0.0), (4.0, 9.0), (-4.0, 9.0)]",
        "[(-4.0, 30.0), (4.0, 30.0), (4.0, 39.0), (-4.0, 39.0)]",
        &["front.openings[0]", "outside its outline"],
    ),
    error(
        "[(-4.0, 0.0), (4.0, 0.0), (4.0, 9.0), (-4.0, 9.0)]",
        "[(-4.0, 0.0), (4.0, 9.0), (4.0, 0.0), (-4.0, 9.0)]",
        &["front.openings[0]", "crosses itself"],
    ),
    error(
        "front: (points_cm: [(-12.0, 0.0), (12.0, 0.0), (12.0, 20.0), (-12.0, 20.0)], curved: false,\n                            openings: [[(-4.0, 0.0), (4.0, 0.0), (4.0, 9.0), (-4.0, 9.0)]]),",
        "front: (points_cm: [(20.0, 0.0), (30.0, 0.0), (30.0, 20.0)]),",
        &["front.points_cm", "no x in common"],
    ),
    error(
        "at_cm: (30.0, 28.0, 0.0)",
        "at_cm: (330.0, 28.0, 0.0)",
        &["whole rock outside the tank"],
    ),
    error(
        "rounding_cm: 0.0",
        "rounding_cm: -1.0",
        &["rounding_cm is -1 cm"],
    ),
    error(
        "reflectance: 0.25",
        "reflectance: 1.0",
        &["rock \"left island\"", "reflectance is 1,", "0 to 0.95"],
    ),
    error(
        "density_kg_per_l: 1.5",
        "density_kg_per_l: 1500.0",
        &["density_kg_per_l is 1500 kg/L"],
    ),
    warning(
        "(12.0, 8.0), (-12.0, 8.0)]",
        "(12.0, 40.0), (-12.0, 40.0)]",
        &["through the back pane"],
    ),
    // Pumps.
    warning(
        "at_cm: (3.0, 10.0, 34.0)",
        "at_cm: (3.0, 10.0, 51.0)",
        &[
            "case.ron:27:61",
            "pump \"left pump\" (id 2) in layout \"as built\"",
            "(3, 10, 51) cm",
            "in the water",
            "z 3 to 50 cm",
        ],
    ),
    error(
        "at_cm: (3.0, 10.0, 34.0)",
        "at_cm: (3.0, NaN, 34.0)",
        &["(3, NaN, 34) cm"],
    ),
    error(
        "throttle: 1.0",
        "throttle: 80.0",
        &["throttle is 80", "0 to 1", "not percent"],
    ),
    error(
        "flow_lph: 3000.0",
        "flow_lph: -3000.0",
        &["flow_lph is -3000 L/h", "1 to 200000 L/h"],
    ),
    error(
        "outlet_cm: 3.5",
        "outlet_cm: 0.35",
        &["outlet_cm", "water leaves it at 86.6 m/s"],
    ),
    warning(
        "outlet_cm: 3.5",
        "outlet_cm: 1.2",
        &["water leaves it at 7.4 m/s"],
    ),
    error(
        "programme: Steady",
        "programme: Pulse(period_s: 0.0, share: 0.5)",
        &["programme.period_s is 0 s"],
    ),
    error(
        "programme: Steady",
        "programme: Pulse(period_s: 5.0, share: 50.0)",
        &["programme.share is 50"],
    ),
    error(
        "programme: Steady",
        "programme: Alternate(set: 1, period_s: 60.0, turn: 2, of: 2)",
        &["programme.turn is 2", "0 to 1"],
    ),
    error(
        "kind: Propeller",
        "kind: CrossFlow(length_cm: 0.0)",
        &["kind.length_cm is 0 cm"],
    ),
    warning(
        "at_cm: (3.0, 10.0, 34.0)",
        "at_cm: (30.0, 28.0, 15.0)",
        &["inside rock \"left island\"", "move the pump or the rock"],
    ),
    warning(
        "at_cm: (3.0, 10.0, 34.0)",
        "at_cm: (3.0, 10.0, 49.5)",
        &["1.2 cm above the water", "draws air"],
    ),
    error(
        "id: 2,",
        "id: 1,",
        &[
            "pump \"left pump\" (id 1)",
            "id is 1, which rock \"left island\" has already",
            "2 is free",
        ],
    ),
    // Lamps.
    error(
        "at_cm: (45.0, 22.5, 62.0)",
        "at_cm: (45.0, 22.5, 40.0)",
        &[
            "lamp \"panel\" (id 3)",
            "(45, 22.5, 40) cm, under water",
            "raise the lamp",
        ],
    ),
    error(
        "at_cm: (45.0, 22.5, 62.0)",
        "at_cm: (450.0, 22.5, 62.0)",
        &["within 200 cm of the tank's sides"],
    ),
    error(
        "length_cm: 60.0, width_cm: 20.0",
        "length_cm: 60.0, width_cm: 0.0",
        &["body.width_cm is 0 cm"],
    ),
    error(
        "umol_s: 180.0",
        "umol_s: 0.0",
        &["output.umol_s is 0 µmol/s", "dim: 0.0"],
    ),
    error(
        "full_angle_deg: 120.0",
        "full_angle_deg: 180.0",
        &["spread.full_angle_deg is 180 °"],
    ),
    error(
        "output: Photons(umol_s: 180.0)",
        "output: Power(power_w: 100.0, efficacy_umol_j: 100.0)",
        &["output.efficacy_umol_j is 100 µmol/J"],
    ),
    error(
        "output: Photons(umol_s: 180.0)",
        "output: Reading(at_cm: (45.0, 22.5, 70.0), ppfd_umol: 200.0)",
        &["output.at_cm", "where the reading was taken"],
    ),
    error(
        "spread: Beam(full_angle_deg: 120.0)",
        "spread: Measured(file: \"../../etc/passwd\")",
        &["spread.file is \"../../etc/passwd\"", "without a folder"],
    ),
    error("hours: 10.0", "hours: 25.0", &["day.hours is 25 h"]),
    error(
        "ramp_hours: 1.0",
        "ramp_hours: 6.0",
        &["day.ramp_hours is 6 h", "half of the day's 10 h"],
    ),
    // Corals.
    error(
        "facing: (0.0, 0.0, 1.0)",
        "facing: (0.0, 0.0, 0.0)",
        &["coral \"caulastraea\" (id 4)", "facing is (0, 0, 0)"],
    ),
    error(
        "size_cm: (4.0, 4.0, 3.0)",
        "size_cm: (4.0, 4.0, 0.0)",
        &["size_cm (height) is 0 cm"],
    ),
    error(
        "on: Rock(1)",
        "on: Rock(9)",
        &["on is Rock(9)", "plant it on a rock that is there"],
    ),
    error("entry: \"caulastraea\"", "entry: \"\"", &["entry is empty"]),
    warning(
        "entry: \"caulastraea\"",
        "entry: \"trumpet\"",
        &["which the catalog does not hold", "caulastraea"],
    ),
    warning(
        "at_cm: (30.0, 20.0, 20.0)",
        "at_cm: (30.0, 20.0, 28.0)",
        &["8.0 cm off rock \"left island\""],
    ),
    warning("on: Rock(1)", "on: Sand", &["17.0 cm off the sand"]),
    // Layouts, readings, animals.
    error(
        "name: \"as built\"",
        "name: \" \"",
        &["layout", "name is empty"],
    ),
    error(
        "    layouts: [",
        "    layouts: [(name: \"as built\"),",
        &["name is \"as built\" a second time", "rename one"],
    ),
    error(
        "readings: []",
        "readings: [(at_cm: (10.0, 10.0, 10.0), quantity: Speed, value: -3.0)]",
        &["reading \"1\"", "value is -3 cm/s"],
    ),
    error(
        "readings: []",
        "readings: [(layout: Some(\"new\"), at_cm: (10.0, 10.0, 10.0), quantity: PpfdUp, value: 3.0)]",
        &["layout is \"new\"", "one of \"as built\""],
    ),
    error(
        "readings: []",
        "readings: [(at_cm: (10.0, 10.0, 80.0), quantity: PpfdUp, value: 3.0)]",
        &["(10, 10, 80) cm"],
    ),
    error(
        "readings: []",
        "readings: [], animals: [(name: \"goby\", does: [Digs, NeedsCave(width_cm: 0.0)])]",
        &["animal \"goby\"", "does[1].width_cm is 0 cm"],
    ),
    // Photos under the views.
    error(
        "readings: []",
        "readings: [], underlays: [(file: \"a/b.jpg\", view: Front, plane_cm: 20.0)]",
        &["underlay \"a/b.jpg\"", "file is", "without a folder"],
    ),
    error(
        "readings: []",
        "readings: [], underlays: [(file: \"b.jpg\", view: Top, plane_cm: -2.0)]",
        &["plane_cm is -2 cm", "0 to 1000 cm"],
    ),
    error(
        "readings: []",
        "readings: [], underlays: [(file: \"b.jpg\", view: Top, plane_cm: 2.0, opacity: 60.0)]",
        &["opacity is 60", "not percent"],
    ),
    error(
        "readings: []",
        concat!(
            "readings: [], underlays: [(file: \"b.jpg\", view: Front, plane_cm: 2.0, ",
            "corners: ((0.1, 0.9), (0.5, 0.9), (0.9, 0.9), (0.1, 0.1)))]"
        ),
        &["three lie in a line", "drag them apart"],
    ),
    error(
        "readings: []",
        concat!(
            "readings: [], underlays: [(file: \"b.jpg\", view: Front, plane_cm: 2.0, ",
            "between_cm: Some((40.0, 3.0)))]"
        ),
        &["between_cm is 40 to 3 cm", "the lower first"],
    ),
    error(
        "readings: []",
        concat!(
            "readings: [], underlays: [(file: \"b.jpg\", view: Top, plane_cm: 2.0), ",
            "(file: \"c.jpg\", view: Top, plane_cm: 2.0)]"
        ),
        &["view is Top a second time", "leave one of the two out"],
    ),
    error(
        "name: \"Example\"",
        concat!(
            "name: \"",
            "0123456789012345678901234567890123456789012345678901234567890123456789012345678901234567890123456789",
            "0123456789012345678901234567890123456789012345678901234567890123456789012345678901234567890123456789",
            "x\""
        ),
        &["201 characters long"],
    ),
];

#[test]
fn the_sound_scene_has_no_issue() {
    assert_eq!(issues(SOUND), Vec::new(), "the base of all cases");
}

#[test]
fn each_fault_is_named_alone() {
    let mut missed = Vec::new();
    for case in CASES {
        let found = issues(&edited(case.from, case.to));
        let [issue] = found.as_slice() else {
            missed.push(format!(
                "{:?} brought {} issues: {found:#?}",
                case.to,
                found.len()
            ));
            continue;
        };
        let text = issue.to_string();
        let is_said = |part: &&str| text.contains(*part);
        if issue.issue.severity != case.severity || !case.parts.iter().all(is_said) {
            missed.push(format!(
                "{:?} should say {:?}:\n{text}",
                case.to, case.parts
            ));
        }
    }
    assert!(missed.is_empty(), "{}", missed.join("\n\n"));
}

#[test]
fn all_faults_are_found_at_once_and_in_order() {
    let mut text = SOUND.to_owned();
    for (from, to) in [
        ("length_cm: 120.0", "length_cm: NaN"),
        ("id: 2,", "id: 1,"),
        ("throttle: 1.0", "throttle: -1.0"),
        ("umol_s: 180.0", "umol_s: inf"),
        ("on: Rock(1)", "on: Rock(7)"),
    ] {
        assert!(text.contains(from), "the scene holds no {from:?}");
        text = text.replacen(from, to, 1);
    }
    let found = issues(&text);
    let fields: Vec<_> = found.iter().map(|at| at.issue.field.as_str()).collect();
    assert_eq!(
        fields,
        ["length_cm", "id", "throttle", "output.umol_s", "on"],
        "{found:#?}"
    );
    let lines: Vec<_> = found
        .iter()
        .filter_map(|at| at.at)
        .map(|at| at.line)
        .collect();
    assert!(
        lines.len() == 5 && lines.is_sorted(),
        "each has its line: {lines:?}"
    );
}

#[test]
fn an_empty_scene_needs_a_layout() {
    let start = SOUND.find("    layouts: [").expect("there are layouts");
    let end = SOUND.find("    readings:").expect("there are readings");
    let text = format!("{}    layouts: [],\n{}", &SOUND[..start], &SOUND[end..]);
    let found = issues(&text);
    assert!(
        found.len() == 1 && found[0].to_string().contains("at least one layout"),
        "{found:#?}"
    );
}

#[test]
fn a_scene_built_in_code_is_checked_alike() {
    let mut scene = parse(SOUND, "case.ron")
        .expect("the sound scene loads")
        .scene;
    scene.format = 3;
    scene.layouts[0].pumps[0].flow_lph = f64::NAN;
    let found = check(&scene);
    let fields: Vec<_> = found.iter().map(|issue| issue.field.as_str()).collect();
    assert_eq!(fields, ["format", "flow_lph"], "{found:#?}");
}

/// The time a check takes must not let a file of eight megabytes hang the
/// program: the costly part, crossings of long outlines, is bounded by counts.
#[test]
fn counts_bound_the_work() {
    let ring: Vec<String> = (0..300)
        .map(|i| {
            let turn = f64::from(i) * std::f64::consts::TAU / 300.0;
            format!("({}, {})", 10.0 * turn.cos(), 10.0 * turn.sin())
        })
        .collect();
    let many = format!("plan: (points_cm: [{}], curved: true),", ring.join(", "));
    let text = edited(
        "plan:  (points_cm: [(-12.0, -8.0), (12.0, -8.0), (12.0, 8.0), (-12.0, 8.0)], curved: false),",
        &many,
    );
    let found = issues(&text);
    assert!(
        found.len() == 1 && found[0].to_string().contains("300 points"),
        "{found:#?}"
    );
    let pumps =
        vec!["(id: 1, at_cm: (0.0, 0.0, 0.0), flow_lph: 1.0, outlet_cm: 1.0)"; 301].join(",");
    let text = edited(
        "            pumps: [\n",
        &format!("            pumps: [{pumps},\n"),
    );
    let found = issues(&text);
    assert!(
        found.len() == 1 && found[0].to_string().contains("a list of 302"),
        "{found:#?}"
    );
}

#[test]
fn the_format_page_states_every_limit_and_its_example_loads() {
    let page = include_str!("../../scenes/FORMAT.md");
    for limit in limits::ALL {
        let row = format!(
            "| `{}` | {} | {} |",
            limit.field,
            limit.text(),
            limit.way_out
        );
        assert!(
            page.contains(&row),
            "scenes/FORMAT.md lacks this row:\n{row}"
        );
    }
    for count in [
        format!("{} layouts", limits::LAYOUTS_MAX),
        format!("{} rocks", limits::ITEMS_MAX),
        format!("{} returns", limits::RETURNS_MAX),
        format!("{} readings", limits::READINGS_MAX),
        format!("{} animals", limits::ANIMALS_MAX),
        format!("{} points", limits::SCENE_POINTS_MAX),
        format!("{} characters", limits::NAME_CHARS_MAX),
        format!("above {} m/s is a warning", limits::EXIT_SPEED_DOUBTED_M_S),
        format!("above {} m/s an error", limits::EXIT_SPEED_MAX_M_S),
        format!("{} cm of the tank's sides", limits::LAMP_BEYOND_MAX_CM),
        format!("{} cm through a pane", limits::ROCK_IN_GLASS_DOUBTED_CM),
        format!("{} cm off its mount", limits::CORAL_GAP_DOUBTED_CM),
        format!("{} cm²", limits::OUTLINE_AREA_MIN_CM2),
        format!("at least {} cm above the sand", limits::WATER_MIN_CM),
    ] {
        assert!(
            page.contains(&count),
            "scenes/FORMAT.md does not say {count:?}"
        );
    }
    assert!(page.contains(SOUND), "its example is the one tested here");
}
