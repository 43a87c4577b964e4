//! Resolved tanks: their scenes and the felt speed in their blocks.

use std::fmt::Write as _;
use std::io::Read as _;
use std::path::{Path, PathBuf};

use bommie_model::scene::Scene;
use glam::DVec3;
use serde_json::Value;

/// Edge of a block, in m.
const BLOCK_M: f64 = 0.02;

/// One block of a resolved field.
pub(crate) struct Block {
    pub(crate) at_m: DVec3,
    pub(crate) felt_m_s: f64,
}

fn numbers(value: &Value) -> Vec<f64> {
    let list = value.as_array().expect("a list of numbers");
    list.iter().map(|x| x.as_f64().expect("a number")).collect()
}

/// Three numbers, in m or without unit.
pub(crate) fn vector(value: &Value) -> DVec3 {
    DVec3::from_slice(&numbers(value))
}

/// The tank as a scene; its pumps are nozzles, since the references have thrust at outlets and no bodies.
pub(crate) fn scene(tank: &Value) -> Scene {
    let size = vector(&tank["tank"]) * 100.0;
    let (mut rocks, mut pumps) = (String::new(), String::new());
    for (k, block) in tank["boxes"].as_array().expect("boxes").iter().enumerate() {
        let (low, high) = (vector(&block["min"]) * 100.0, vector(&block["max"]) * 100.0);
        let (half, at, height) = ((high - low) / 2.0, (low + high) / 2.0, high.z - low.z);
        let outline = |a: f64, low: f64, high: f64| {
            format!(
                "(curved: false, points_cm: [({:?}, {low:?}), ({a:?}, {low:?}), ({a:?}, {high:?}), ({:?}, {high:?})])",
                -a, -a
            )
        };
        let (plan, front) = (
            outline(half.x, -half.y, half.y),
            outline(half.x, 0.0, height),
        );
        let (id, x, y, z) = (100 + k, at.x, at.y, low.z);
        write!(rocks, "(id: {id}, name: \"box\", at_cm: ({x:?}, {y:?}, {z:?}), turn_deg: 0.0, plan: {plan}, front: {front}, rounding_cm: 0.0),")
            .expect("a string takes all");
    }
    for (k, pump) in tank["pumps"].as_array().expect("pumps").iter().enumerate() {
        let (at, aim) = (vector(&pump["pos"]) * 100.0, vector(&pump["dir"]));
        let (id, x, y, z) = (1 + k, at.x, at.y, at.z);
        let turn = aim.y.atan2(aim.x).to_degrees();
        let tilt = aim.z.atan2(aim.x.hypot(aim.y)).to_degrees();
        let outlet_cm = pump["diameter"].as_f64().expect("a diameter") * 100.0;
        let flow_lph = pump["flow_lph"].as_f64().expect("a flow");
        write!(pumps, "(id: {id}, name: \"pump\", kind: Nozzle, at_cm: ({x:?}, {y:?}, {z:?}), turn_deg: {turn:?}, tilt_deg: {tilt:?}, flow_lph: {flow_lph:?}, outlet_cm: {outlet_cm:?}, programme: Steady),")
            .expect("a string takes all");
    }
    let (length, width, water, height) = (size.x, size.y, size.z, size.z + 5.0);
    let text = format!(
        "(format: 1, name: \"tank\", tank: (length_cm: {length:?}, width_cm: {width:?}, height_cm: {height:?}, water_cm: {water:?},
        sand: (depth_cm: 0.0, grain_mm: 1.0, reflectance: 0.4),
        sides: (left: Clear, right: Clear, front: Clear, back: Clear),
        water: (absorption_per_m: 0.2, refractive_index: 1.34)),
        layouts: [(name: \"one\", rocks: [{rocks}], pumps: [{pumps}], lamps: [], corals: [])])"
    );
    ron::Options::default()
        .with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME)
        .from_str(&text)
        .expect("a scene")
}

/// Blocks wholly in water, from `felt_mm_s.txt.gz` or from `resolved.csv`.
pub(crate) fn blocks(tank: &Path, size_m: DVec3) -> Vec<Block> {
    let packed = tank.join("felt_mm_s.txt.gz");
    if packed.exists() {
        return felt_blocks(&packed, size_m);
    }
    let text = std::fs::read_to_string(tank.join("resolved.csv")).expect("resolved.csv, unpacked");
    let rows = text.lines().skip(1).map(|line| {
        let row: Vec<f64> = (line.split(',').map(|x| x.parse().expect("a number"))).collect();
        row
    });
    rows.filter(|row| row[3] >= 99.5)
        .map(|row| Block {
            at_m: DVec3::new(row[0], row[1], row[2]) / 100.0,
            felt_m_s: row[4..8].iter().map(|x| x * x).sum::<f64>().sqrt() / 1000.0,
        })
        .collect()
}

/// Rows along x, in the order of y within that of z, from the corner at the origin.
fn felt_blocks(packed: &Path, size_m: DVec3) -> Vec<Block> {
    let mut text = String::new();
    let file = std::fs::File::open(packed).expect("the file opens");
    flate2::read::GzDecoder::new(file)
        .read_to_string(&mut text)
        .expect("packed text");
    let n_y = (size_m.y / BLOCK_M + 1e-6).floor() as usize;
    let mut blocks = Vec::new();
    for (row, line) in text.lines().enumerate() {
        for (i, word) in line.split(' ').enumerate().filter(|(_, word)| *word != "-") {
            let ijk = DVec3::new(i as f64, (row % n_y) as f64, (row / n_y) as f64);
            let felt_mm_s: f64 = word.parse().expect("a number");
            blocks.push(Block {
                at_m: (ijk + 0.5) * BLOCK_M,
                felt_m_s: felt_mm_s / 1000.0,
            });
        }
    }
    blocks
}

/// The tanks of a folder, by name.
pub(crate) fn tanks_in(dir: &Path) -> Vec<PathBuf> {
    let mut tanks: Vec<PathBuf> = (std::fs::read_dir(dir).expect("the folder").flatten())
        .map(|entry| entry.path())
        .filter(|path| {
            path.join("tank.json").exists()
                && (path.join("resolved.csv").exists() || path.join("felt_mm_s.txt.gz").exists())
        })
        .collect();
    tanks.sort();
    tanks
}

/// Whether a tank is one that settings may be fitted on: `a` to `g`, `aa` to
/// `ar`, and `ba` to `bp` since they were the blind test; the others are only for
/// checking, `ca` to `cj` among them.
pub(crate) fn is_fit(name: &str) -> bool {
    let letters = name.split('-').next().unwrap_or(name);
    match letters.len() {
        1 => ("a"..="g").contains(&letters),
        _ => ("aa"..="ar").contains(&letters) || ("ba"..="bp").contains(&letters),
    }
}
