//! One fault of a scene, with all that is needed to mend it.

use std::fmt;

use crate::scene::{ItemId, Measure};

/// Whether a scene with the fault can be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum IssueSeverity {
    /// It can; the result may surprise.
    Warning,
    /// It cannot be solved as it stands.
    Error,
}

impl IssueSeverity {
    /// The word before a message.
    pub fn word(self) -> &'static str {
        match self {
            Self::Warning => "warning",
            Self::Error => "error",
        }
    }
}

/// The item that an issue is about.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Subject {
    /// Kind of item: `scene`, `tank`, `layout`, `rock`, `pump` and so on.
    pub what: &'static str,
    /// Its name, empty if it has none.
    pub name: String,
    /// Its id, if it has one.
    pub id: Option<ItemId>,
    /// Name of the layout that holds it.
    pub layout: Option<String>,
}

impl fmt::Display for Subject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.what)?;
        if !self.name.is_empty() {
            write!(f, " {:?}", self.name)?;
        }
        if let Some(id) = self.id {
            write!(f, " (id {id})")?;
        }
        if let Some(layout) = &self.layout {
            write!(f, " in layout {layout:?}")?;
        }
        Ok(())
    }
}

/// One fault of a scene. `Display` gives it as one sentence without a period.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Issue {
    /// Whether it keeps the scene from being used.
    pub severity: IssueSeverity,
    /// What it is about.
    pub item: Subject,
    /// Path of the field in the file, as `layouts[0].pumps[1].flow_lph`.
    pub path: String,
    /// The field as a keeper reads it, as `flow_lph`.
    pub field: String,
    /// What it holds.
    pub value: String,
    /// What it should hold.
    pub limit: String,
    /// What to do.
    pub way_out: String,
}

impl fmt::Display for Issue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            item,
            field,
            value,
            limit,
            way_out,
            ..
        } = self;
        write!(
            f,
            "{item}: {field} is {value}, should be {limit}; {way_out}"
        )
    }
}

/// The item under examination, and where its issues are gathered.
pub(super) struct Examiner<'a> {
    issues: &'a mut Vec<Issue>,
    item: Subject,
    path: String,
}

/// A fault in words: what a field holds, should hold, and the way out.
pub(super) struct Fault<'a> {
    pub(super) field: &'a str,
    pub(super) value: String,
    pub(super) limit: String,
    pub(super) way_out: &'a str,
}

impl<'a> Examiner<'a> {
    pub(super) fn new(issues: &'a mut Vec<Issue>, item: Subject, path: String) -> Self {
        Self { issues, item, path }
    }

    /// Adds an error.
    pub(super) fn error(&mut self, fault: Fault<'_>) {
        self.add(IssueSeverity::Error, fault);
    }

    /// Adds a warning.
    pub(super) fn warn(&mut self, fault: Fault<'_>) {
        self.add(IssueSeverity::Warning, fault);
    }

    fn add(&mut self, severity: IssueSeverity, fault: Fault<'_>) {
        let Fault {
            field,
            value,
            limit,
            way_out,
        } = fault;
        let path = match (self.path.is_empty(), field.is_empty()) {
            (true, _) => field.to_owned(),
            (false, true) => self.path.clone(),
            (false, false) => format!("{}.{field}", self.path),
        };
        self.issues.push(Issue {
            severity,
            item: self.item.clone(),
            path,
            field: if field.is_empty() {
                self.item.what.to_owned()
            } else {
                field.to_owned()
            },
            value,
            limit,
            way_out: way_out.to_owned(),
        });
    }

    /// Adds an error unless `value` lies within `limit`; returns whether it does.
    pub(super) fn within(&mut self, field: &str, value: f64, limit: &super::Limit) -> bool {
        let good = limit.holds(value);
        if !good {
            let unit = if limit.unit.is_empty() || !value.is_finite() {
                ""
            } else {
                " "
            };
            let shown_unit = if value.is_finite() { limit.unit } else { "" };
            self.error(Fault {
                field,
                value: format!("{value}{unit}{shown_unit}"),
                limit: limit.text(),
                way_out: limit.way_out,
            });
        }
        good
    }

    /// Adds an error unless a value from readings and its interval lie within
    /// `limit` and in order.
    pub(super) fn measure(&mut self, field: &str, found: &Measure, limit: &super::Limit) {
        let ends = [
            ("low", found.low),
            ("value", found.value),
            ("high", found.high),
        ];
        let mut is_sound = true;
        for (end, value) in ends {
            is_sound &= self.within(&format!("{field}.{end}"), value, limit);
        }
        if is_sound && !(found.low <= found.value && found.value <= found.high) {
            self.error(Fault {
                field,
                value: format!("{} from {} to {}", found.value, found.low, found.high),
                limit: "a value within its interval".to_owned(),
                way_out: "calibrate again, or leave it out",
            });
        }
    }

    /// Adds an error if a list is longer than `max`; returns whether it is short enough.
    pub(super) fn count(&mut self, field: &str, n: usize, max: usize) -> bool {
        if n > max {
            self.error(Fault {
                field,
                value: format!("a list of {n}"),
                limit: format!("at most {max} long"),
                way_out: "remove some, or split the scene into several files",
            });
        }
        n <= max
    }

    /// Adds an error unless `file` names a file beside the scene: a scene from
    /// elsewhere must not name files outside its own folder.
    pub(super) fn beside(&mut self, field: &str, file: &str, way_out: &str) {
        self.short(field, file);
        let is_plain = !file.is_empty()
            && file != "."
            && file != ".."
            && !file
                .chars()
                .any(|c| matches!(c, '/' | '\\' | ':') || c.is_control());
        if !is_plain {
            self.error(Fault {
                field,
                value: format!("{file:?}"),
                limit: "the name of a file beside the scene, without a folder".to_owned(),
                way_out,
            });
        }
    }

    /// Adds an error if a text is too long.
    pub(super) fn short(&mut self, field: &str, text: &str) {
        let n = text.chars().count();
        if n > super::limits::NAME_CHARS_MAX {
            self.error(Fault {
                field,
                value: format!("{n} characters long"),
                limit: format!("at most {} characters long", super::limits::NAME_CHARS_MAX),
                way_out: "shorten it",
            });
        }
    }
}
