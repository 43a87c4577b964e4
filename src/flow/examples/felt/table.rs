//! Tables of the first step.

use std::path::Path;

use bommie_flow::felt::{Features, N_FEATURES};

use crate::tank::is_fit;

/// One block of a tank: what is true and what is known.
#[derive(Clone, Copy)]
pub(crate) struct Row {
    pub(crate) true_m_s: f64,
    pub(crate) features: Features,
}

/// One tank on cells of one size.
pub(crate) struct Table {
    pub(crate) tank: String,
    pub(crate) is_fit: bool,
    pub(crate) cell_cm: f64,
    pub(crate) rows: Vec<Row>,
}

/// All tables of a folder, by name.
pub(crate) fn read_all(dir: &Path) -> Vec<Table> {
    let mut paths: Vec<_> = (std::fs::read_dir(dir).expect("the folder").flatten())
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|ext| ext == "csv"))
        .collect();
    paths.sort();
    paths.iter().map(|path| read(path)).collect()
}

fn read(path: &Path) -> Table {
    let stem = path.file_stem().expect("a name").to_string_lossy();
    let (tank, cell) = stem.rsplit_once('_').expect("NAME_CELL.csv");
    let text = std::fs::read_to_string(path).expect("the table");
    let row = |line: &str| {
        let numbers: Vec<f64> = (line.split(','))
            .map(|word| word.parse().expect("a number"))
            .collect();
        assert_eq!(numbers.len(), 4 + N_FEATURES, "a row of {stem}");
        Row {
            true_m_s: numbers[3],
            features: std::array::from_fn(|k| numbers[4 + k] as f32),
        }
    };
    Table {
        tank: tank.to_owned(),
        is_fit: is_fit(tank),
        cell_cm: cell.parse().expect("cells in cm"),
        rows: text.lines().skip(1).map(row).collect(),
    }
}
