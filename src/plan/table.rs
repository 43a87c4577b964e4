//! Parts of a document: headings, text, tables and sheets.

use super::ink::Drawing;
use crate::advice::csv_field;

/// One part.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// Starts a section; the flag asks for a new page.
    Heading(String, bool),
    /// A paragraph.
    Text(String),
    /// Something said by the way, in italics.
    Aside(String),
    /// A table.
    Table(Table),
    /// A drawing with a page of its own, under this title.
    Sheet(String, Drawing),
    /// A drawing that is a whole page and prints at full size; paper only.
    Page(Drawing),
}

/// A table.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Table {
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows, a cell a column.
    pub rows: Vec<Vec<Cell>>,
}

/// A column of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its head.
    pub title: String,
    /// Whether it holds figures, which line up at the right.
    pub is_figures: bool,
}

/// A cell of a table.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Cell {
    /// What stands in it.
    pub text: String,
    /// Whether it calls for attention.
    pub is_accent: bool,
}

impl Table {
    /// An empty table; a title that starts with `#` heads a column of figures.
    pub fn new(titles: &[&str]) -> Self {
        let column = |title: &&str| Column {
            title: title.trim_start_matches('#').to_owned(),
            is_figures: title.starts_with('#'),
        };
        Self {
            columns: titles.iter().map(column).collect(),
            rows: Vec::new(),
        }
    }

    /// Adds a row.
    pub fn row(&mut self, cells: impl IntoIterator<Item = impl Into<Cell>>) {
        self.rows.push(cells.into_iter().map(Into::into).collect());
    }

    /// As comma-separated text with a heading line.
    pub fn csv(&self) -> String {
        let heads = self.columns.iter().map(|column| column.title.as_str());
        let rows = self.rows.iter();
        let cells = rows.map(|row| row.iter().map(|cell| cell.text.trim()).collect());
        let mut csv = String::new();
        for fields in std::iter::once(heads.collect::<Vec<_>>()).chain(cells) {
            let fields: Vec<String> = fields.into_iter().map(csv_field).collect();
            csv.push_str(&fields.join(","));
            csv.push('\n');
        }
        csv
    }
}

impl Cell {
    /// A cell that calls for attention if `is_accent`.
    pub fn marked(text: impl Into<String>, is_accent: bool) -> Self {
        Self {
            text: text.into(),
            is_accent,
        }
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Self::marked(text, false)
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Self::marked(text, false)
    }
}
