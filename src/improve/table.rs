//! Readings as a table that any spreadsheet writes.
//!
//! Columns by name, in any order: `kind` (`ppfd_up`, `ppfd_scalar`, `speed`,
//! `jet`), the place `x_cm,y_cm,z_cm` or, for a jet, `distance_cm` along the
//! axis of the pump that ran `alone`, then `value` or, for a drift, `way_cm`
//! and `time_s`; and if wished `spread`, `times`, `alone` (id or name of a pump
//! or lamp), `layout`, `when`. Parted by commas, semicolons or tabs.

use glam::DVec3;
use thiserror::Error;

use crate::scene::{Drift, ItemId, Layout, Quantity, Reading, Scene, aim};

/// Most readings that a table may hold; a scene holds no more.
const ROWS_MAX: usize = 5000;

/// Why a table of readings cannot be used.
#[derive(Debug, Error)]
pub enum TableError {
    /// Not a table at all.
    #[error("the readings are no table: {reason}")]
    NoTable {
        /// What the reader said.
        reason: String,
    },
    /// A column that must be there.
    #[error("the readings have no column `{column}`; name it in the first line")]
    NoColumn {
        /// Its name.
        column: &'static str,
    },
    /// A cell that cannot be used.
    #[error("line {line}, column `{column}`: {value:?} should be {wanted}")]
    Cell {
        /// Line of the file, from one.
        line: u64,
        /// Name of the column.
        column: &'static str,
        /// What it holds.
        value: String,
        /// What it should hold.
        wanted: String,
    },
    /// More rows than a scene holds.
    #[error("the readings have more than {ROWS_MAX} rows; split them")]
    TooMany,
}

/// Reads a table of readings taken in `layout` of a scene, unless a row names
/// another one.
///
/// # Errors
/// The first fault, with its line and column.
pub fn readings_from_csv(
    text: &str,
    scene: &Scene,
    layout: &Layout,
) -> Result<Vec<Reading>, TableError> {
    let first = text
        .lines()
        .find(|line| !line.trim().is_empty() && !line.starts_with('#'))
        .unwrap_or("");
    let parted = [b';', b'\t', b','];
    let delimiter = parted.into_iter().find(|by| first.as_bytes().contains(by));
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(delimiter.unwrap_or(b','))
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .flexible(true)
        .from_reader(text.trim_start_matches('\u{feff}').as_bytes());
    let no_table = |error: csv::Error| TableError::NoTable {
        reason: error.to_string(),
    };
    let names = reader.headers().map_err(no_table)?.clone();
    let mut readings = Vec::new();
    for record in reader.records() {
        let record = record.map_err(no_table)?;
        if record.iter().all(str::is_empty) {
            continue;
        }
        if readings.len() == ROWS_MAX {
            return Err(TableError::TooMany);
        }
        let row = Row {
            names: &names,
            record: &record,
            line: record.position().map_or(0, csv::Position::line),
        };
        readings.push(row.reading(scene, layout)?);
    }
    Ok(readings)
}

/// Readings as such a table.
///
/// # Errors
/// If the writer fails, which memory alone can make it.
pub fn readings_to_csv(readings: &[Reading]) -> Result<String, TableError> {
    let no_table = |reason: String| TableError::NoTable { reason };
    let mut writer = csv::Writer::from_writer(Vec::new());
    let head = "kind,x_cm,y_cm,z_cm,value,spread,way_cm,time_s,times,alone,layout,when";
    writer
        .write_record(head.split(','))
        .map_err(|error| no_table(error.to_string()))?;
    for reading in readings {
        let some = |value: Option<f64>| value.map_or_else(String::new, |value| value.to_string());
        let [x, y, z] = reading.at_cm.to_array().map(|value| value.to_string());
        let cells = [
            kind_word(reading.quantity).to_owned(),
            x,
            y,
            z,
            some(reading.value),
            some(reading.spread),
            some(reading.drift.map(|drift| drift.way_cm)),
            some(reading.drift.map(|drift| drift.time_s)),
            some(reading.drift.map(|drift| f64::from(drift.times))),
            some(reading.alone.map(f64::from)),
            reading.layout.clone().unwrap_or_default(),
            reading.when.clone().unwrap_or_default(),
        ];
        writer
            .write_record(&cells)
            .map_err(|error| no_table(error.to_string()))?;
    }
    let bytes = writer
        .into_inner()
        .map_err(|error| no_table(error.to_string()))?;
    String::from_utf8(bytes).map_err(|error| no_table(error.to_string()))
}

fn kind_word(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::PpfdUp => "ppfd_up",
        Quantity::PpfdScalar => "ppfd_scalar",
        Quantity::Speed => "speed",
    }
}

struct Row<'a> {
    names: &'a csv::StringRecord,
    record: &'a csv::StringRecord,
    line: u64,
}

impl Row<'_> {
    fn cell(&self, column: &str) -> Option<&str> {
        let place = self.names.iter().position(|name| name == column)?;
        self.record.get(place).filter(|cell| !cell.is_empty())
    }

    fn fault(&self, column: &'static str, wanted: impl Into<String>) -> TableError {
        TableError::Cell {
            line: self.line,
            column,
            value: self.cell(column).unwrap_or("").to_owned(),
            wanted: wanted.into(),
        }
    }

    fn number(&self, column: &'static str) -> Result<Option<f64>, TableError> {
        let Some(cell) = self.cell(column) else {
            return Ok(None);
        };
        let value = cell.parse::<f64>().ok().filter(|value| value.is_finite());
        value
            .map(Some)
            .ok_or_else(|| self.fault(column, "a number with a decimal point"))
    }

    fn wanted(&self, column: &'static str) -> Result<f64, TableError> {
        if self.names.iter().all(|name| name != column) {
            return Err(TableError::NoColumn { column });
        }
        self.number(column)?
            .ok_or_else(|| self.fault(column, "a number"))
    }

    fn reading(&self, scene: &Scene, layout: &Layout) -> Result<Reading, TableError> {
        let kind = self.cell("kind").unwrap_or("");
        let quantity = match kind {
            "ppfd_up" => Quantity::PpfdUp,
            "ppfd_scalar" => Quantity::PpfdScalar,
            "speed" | "jet" => Quantity::Speed,
            _ => {
                let wanted = "`ppfd_up`, `ppfd_scalar`, `speed` or `jet`";
                return Err(self.fault("kind", wanted));
            }
        };
        let layout = match self.cell("layout") {
            None => layout,
            Some(name) => scene
                .layout(Some(name))
                .ok_or_else(|| self.fault("layout", "the name of a layout of the scene"))?,
        };
        let alone = self.alone(layout, quantity)?;
        let drift = self.drift()?;
        let value = match &drift {
            Some(drift) => drift.speed_cm_s(),
            None => self.wanted("value")?,
        };
        Ok(Reading {
            layout: Some(layout.name.clone()),
            at_cm: self.place(layout, kind, alone)?,
            quantity,
            value: Some(value),
            spread: self.number("spread")?,
            alone,
            drift,
            when: self.cell("when").map(str::to_owned),
        })
    }

    fn alone(&self, layout: &Layout, quantity: Quantity) -> Result<Option<ItemId>, TableError> {
        let Some(cell) = self.cell("alone") else {
            return Ok(None);
        };
        let pumps = layout.pumps.iter().map(|pump| (pump.id, &pump.name));
        let lamps = layout.lamps.iter().map(|lamp| (lamp.id, &lamp.name));
        let is_it = |(id, name): &(ItemId, &String)| *name == cell || id.to_string() == cell;
        let (found, wanted) = match quantity {
            Quantity::Speed => (pumps.clone().find(is_it), "the name or id of a pump"),
            _ => (lamps.clone().find(is_it), "the name or id of a lamp"),
        };
        match found {
            Some((id, _)) => Ok(Some(id)),
            None => Err(self.fault("alone", wanted)),
        }
    }

    fn drift(&self) -> Result<Option<Drift>, TableError> {
        let (way, time) = (self.number("way_cm")?, self.number("time_s")?);
        match (way, time) {
            (None, None) => Ok(None),
            (Some(way_cm), Some(time_s)) if way_cm > 0.0 && time_s > 0.0 => {
                let times = self.number("times")?.unwrap_or(1.0);
                if !(1.0..=1000.0).contains(&times) {
                    return Err(self.fault("times", "how often it was tried, 1 to 1000"));
                }
                Ok(Some(Drift {
                    way_cm,
                    time_s,
                    times: times as u32,
                }))
            }
            (Some(_), Some(time_s)) if time_s > 0.0 => {
                Err(self.fault("way_cm", "a way above zero"))
            }
            (Some(_), _) => Err(self.fault("time_s", "the time for that way, above zero")),
            (None, Some(_)) => Err(self.fault("way_cm", "the way for that time")),
        }
    }

    /// The place: as given, or so far along the jet of the pump that ran alone.
    fn place(
        &self,
        layout: &Layout,
        kind: &str,
        alone: Option<ItemId>,
    ) -> Result<DVec3, TableError> {
        if kind != "jet" {
            let place = (
                self.wanted("x_cm")?,
                self.wanted("y_cm")?,
                self.wanted("z_cm")?,
            );
            return Ok(DVec3::from(place));
        }
        let pump = layout.pumps.iter().find(|pump| Some(pump.id) == alone);
        let pump = pump.ok_or_else(|| self.fault("alone", "the pump whose jet was measured"))?;
        let way_cm = self.wanted("distance_cm")?;
        Ok(pump.at_cm + aim(pump.turn_deg, pump.tilt_deg) * way_cm)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scene() -> Scene {
        let text = r#"(
            format: 1, name: "t",
            tank: (length_cm: 100.0, width_cm: 50.0, height_cm: 50.0, water_cm: 45.0),
            layouts: [(
                name: "one",
                pumps: [(id: 2, name: "left", at_cm: (5.0, 25.0, 30.0), flow_lph: 3000.0, outlet_cm: 4.0)],
                lamps: [(id: 3, name: "panel", body: Disc(diameter_cm: 10.0), at_cm: (50.0, 25.0, 60.0),
                    output: Photons(umol_s: 100.0))],
            )],
        )"#;
        ron::from_str(text).unwrap()
    }

    fn read(text: &str) -> Result<Vec<Reading>, TableError> {
        let scene = scene();
        readings_from_csv(text, &scene, &scene.layouts[0])
    }

    #[test]
    fn each_kind_is_read_and_written_back() {
        let text = "kind;x_cm;y_cm;z_cm;value;spread;way_cm;time_s;times;alone;distance_cm\n\
            # by hand\n\
            ppfd_up;50;25;10;180;9;;;;panel;\n\
            speed;20;25;30;;;20;2.5;4;;\n\
            jet;;;;41;2;;;;left;32\n";
        let found = read(text).unwrap();
        assert_eq!(found.len(), 3, "three rows");
        assert_eq!(
            (found[0].alone, found[0].spread),
            (Some(3), Some(9.0)),
            "lamp alone"
        );
        assert_eq!(found[1].value, Some(8.0), "way over time");
        assert_eq!(found[1].drift.map(|drift| drift.times), Some(4), "tries");
        assert_eq!(
            found[2].at_cm,
            DVec3::new(37.0, 25.0, 30.0),
            "along the axis"
        );
        let again = read(&readings_to_csv(&found).unwrap()).unwrap();
        assert_eq!(again, found, "written and read again");
    }

    #[test]
    fn a_fault_names_its_line_and_column() {
        let cases = [
            ("kind,value\nspeed,x\n", "line 2, column `value`"),
            ("kind,x_cm,y_cm,z_cm,value\nlux,1,1,1,5\n", "`kind`"),
            ("kind,value\nppfd_up,5\n", "no column `x_cm`"),
            ("kind,value,alone,distance_cm\njet,5,right,3\n", "`alone`"),
            ("kind,way_cm\nspeed,5\n", "`time_s`"),
            ("kind,way_cm,time_s\nspeed,0,1\n", "`way_cm`"),
        ];
        for (text, wanted) in cases {
            let said = read(text).unwrap_err().to_string();
            assert!(said.contains(wanted), "{said} lacks {wanted}");
        }
    }
}
