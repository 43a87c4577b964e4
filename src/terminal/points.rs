//! Points files: a table of places, read as scripts and spreadsheets write them.

use glam::DVec3;
use thiserror::Error;

/// One row of a points file.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Point {
    /// Where, in cm, as the file says it.
    pub(super) at_cm: DVec3,
    /// Facing of the light sensor, where the file gives one.
    pub(super) facing: Option<DVec3>,
}

/// The rows of a points file, in order.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Points {
    /// One a row.
    pub(super) rows: Vec<Point>,
    /// Whether the file has columns for a facing.
    pub(super) has_facing: bool,
}

/// What is wrong with a points file.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
pub enum PointsError {
    /// There is not even a header.
    #[error(
        "the file is empty; the first line names the columns x_cm,y_cm,z_cm, and nx,ny,nz for a facing"
    )]
    Empty,
    /// The header lacks a column.
    #[error(
        "line {line}: the header has no column {column}; it needs x_cm, y_cm and z_cm, and all of nx, ny and nz for a facing"
    )]
    NoColumn {
        /// Line of the header.
        line: usize,
        /// The column.
        column: &'static str,
    },
    /// The header names a column twice.
    #[error("line {line}: the header has two columns {column}; rename or remove one")]
    TwoColumns {
        /// Line of the header.
        line: usize,
        /// The column.
        column: &'static str,
    },
    /// A row is shorter than the header.
    #[error("line {line}: the row has {found} columns and ends before {column}")]
    ShortRow {
        /// Line of the row.
        line: usize,
        /// Columns that it has.
        found: usize,
        /// The first column that is missing.
        column: &'static str,
    },
    /// A cell is not a finite number.
    #[error(
        "line {line}: {column} is {text:?}, should be a number as 12.5, with a point and without a unit"
    )]
    NoNumber {
        /// Line of the row.
        line: usize,
        /// The column.
        column: &'static str,
        /// What stands there.
        text: String,
    },
    /// A facing without length.
    #[error(
        "line {line}: nx, ny, nz are all zero; a facing needs a direction, as 0,0,1 for a level sensor"
    )]
    NoFacing {
        /// Line of the row.
        line: usize,
    },
}

/// Columns that are read; others are left alone.
const COLUMNS: [&str; 6] = ["x_cm", "y_cm", "z_cm", "nx", "ny", "nz"];

/// Longest part of a wrong cell that is shown.
const SHOWN_CHARS: usize = 40;

/// Reads a points file. Columns may stand in any order and beside others;
/// blank lines and lines that start with `#` are skipped; commas, semicolons or
/// tabs may part the columns. A file of bare numbers has the columns x, y, z,
/// and nx, ny, nz if there are six.
pub(super) fn read_points(text: &str) -> Result<Points, PointsError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut lines = (1..)
        .zip(text.lines())
        .filter(|(_, line)| !line.trim().is_empty() && !line.trim_start().starts_with('#'))
        .peekable();
    let &(header_line, header) = lines.peek().ok_or(PointsError::Empty)?;
    let separator = [',', ';', '\t']
        .into_iter()
        .find(|c| header.contains(*c))
        .unwrap_or(',');
    let names: Vec<String> = cells(header, separator)
        .map(|cell| cell.to_lowercase())
        .collect();
    let is_bare = names.iter().all(|name| name.parse::<f64>().is_ok());
    let places = if is_bare {
        bare_places(names.len(), header_line)?
    } else {
        lines.next();
        named_places(&names, header_line)?
    };
    let has_facing = places[3].is_some();
    let mut rows = Vec::new();
    for (line, row) in lines {
        let row: Vec<&str> = cells(row, separator).collect();
        let number =
            |column: usize| number(&row, places[column].unwrap_or(0), (line, COLUMNS[column]));
        let at_cm = DVec3::new(number(0)?, number(1)?, number(2)?);
        let mut facing = None;
        if has_facing {
            let direction = DVec3::new(number(3)?, number(4)?, number(5)?);
            if direction.length() < 1e-9 {
                return Err(PointsError::NoFacing { line });
            }
            facing = Some(direction);
        }
        rows.push(Point { at_cm, facing });
    }
    Ok(Points { rows, has_facing })
}

fn cells(line: &str, separator: char) -> impl Iterator<Item = &str> {
    line.split(separator)
        .map(|cell| cell.trim().trim_matches('"').trim())
}

/// Where the columns stand in a file without a header.
fn bare_places(n: usize, line: usize) -> Result<[Option<usize>; 6], PointsError> {
    match n {
        3..6 => Ok([Some(0), Some(1), Some(2), None, None, None]),
        6.. => Ok([0, 1, 2, 3, 4, 5].map(Some)),
        _ => Err(PointsError::NoColumn {
            line,
            column: COLUMNS[n],
        }),
    }
}

/// Where the columns stand by the header.
fn named_places(names: &[String], line: usize) -> Result<[Option<usize>; 6], PointsError> {
    let mut places = [None; 6];
    for (place, column) in places.iter_mut().zip(COLUMNS) {
        let mut found = (0..names.len()).filter(|idx| names[*idx] == column);
        *place = found.next();
        if found.next().is_some() {
            return Err(PointsError::TwoColumns { line, column });
        }
    }
    let needed = if places[3..].iter().any(Option::is_some) {
        6
    } else {
        3
    };
    match (0..needed).find(|column| places[*column].is_none()) {
        Some(missing) => Err(PointsError::NoColumn {
            line,
            column: COLUMNS[missing],
        }),
        None => Ok(places),
    }
}

fn number(
    row: &[&str],
    place: usize,
    (line, column): (usize, &'static str),
) -> Result<f64, PointsError> {
    let cell = row.get(place).ok_or(PointsError::ShortRow {
        line,
        found: row.len(),
        column,
    })?;
    let value = cell.parse::<f64>().ok().filter(|value| value.is_finite());
    value.ok_or_else(|| PointsError::NoNumber {
        line,
        column,
        text: cell.chars().take(SHOWN_CHARS).collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point(x: f64, y: f64, z: f64) -> Point {
        Point {
            at_cm: DVec3::new(x, y, z),
            facing: None,
        }
    }

    #[test]
    fn tables_are_read_as_they_come() {
        let expected = vec![point(1.0, 2.0, 3.0), point(4.5, -5.0, 6e1)];
        for text in [
            "x_cm,y_cm,z_cm\n1,2,3\n4.5,-5,6e1\n",
            "\u{feff}x_cm,y_cm,z_cm\r\n1,2,3\r\n\r\n4.5,-5,6e1",
            "# places\n z_cm ; note ; X_CM ; y_cm\n3;a;1;2\n\n60;b;4.5;-5\n",
            "\"x_cm\"\t\"y_cm\"\t\"z_cm\"\n1\t2\t3\n# more\n4.5\t-5\t60\n",
            "1,2,3\n4.5,-5,60\n",
        ] {
            let points = read_points(text).expect("it is read");
            assert_eq!(points.rows, expected, "{text:?}");
            assert!(!points.has_facing, "{text:?}");
        }
    }

    #[test]
    fn facings_are_read_where_they_are_given() {
        let points = read_points("nx,ny,nz,x_cm,y_cm,z_cm\n0,0,2,1,2,3\n").expect("it is read");
        assert!(points.has_facing, "the header has them");
        assert_eq!(
            points.rows[0].facing,
            Some(DVec3::new(0.0, 0.0, 2.0)),
            "as it stands"
        );
        assert!(
            read_points("1,2,3,0,0,1\n").expect("it is read").has_facing,
            "six numbers"
        );
    }

    #[test]
    fn faults_name_their_line() {
        for (text, part) in [
            ("", "empty"),
            ("\n# x\n", "empty"),
            ("x_cm,y_cm\n1,2\n", "line 1: the header has no column z_cm"),
            ("x_cm,y_cm,z_cm,nx\n", "no column ny"),
            ("x_cm,y_cm,z_cm,x_cm\n", "two columns x_cm"),
            ("1,2\n", "no column z_cm"),
            (
                "x_cm,y_cm,z_cm\n1,2,3\n\n1,2\n",
                "line 4: the row has 2 columns and ends before z_cm",
            ),
            ("x_cm,y_cm,z_cm\n1,two,3\n", "line 2: y_cm is \"two\""),
            ("x_cm,y_cm,z_cm\n1,nan,3\n", "line 2: y_cm is \"nan\""),
            ("x_cm,y_cm,z_cm\n1,,3\n", "line 2: y_cm is \"\""),
            (
                "x_cm,y_cm,z_cm,nx,ny,nz\n1,2,3,0,0,0\n",
                "line 2: nx, ny, nz are all zero",
            ),
        ] {
            let error = read_points(text).expect_err("it is refused").to_string();
            assert!(
                error.contains(part),
                "{text:?} should say {part:?}: {error}"
            );
        }
    }

    #[test]
    fn a_header_alone_has_no_points() {
        assert_eq!(
            read_points("x_cm,y_cm,z_cm\n").expect("it is read").rows,
            vec![],
            "none"
        );
    }
}
