//! Messages to the keeper.

/// How grave a message is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoticeKind {
    /// Something went as asked.
    Done,
    /// A result is less than it could be.
    Warning,
    /// Work may be lost, or something could not be done.
    Error,
}

/// One message: what happened, what it means, what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Notice {
    /// How grave it is.
    pub kind: NoticeKind,
    /// One sentence.
    pub summary: String,
    /// More, if there is more to say.
    pub details: String,
}

impl Notice {
    /// A message of this kind with nothing more to say.
    pub fn new(kind: NoticeKind, summary: impl Into<String>) -> Self {
        Self {
            kind,
            summary: summary.into(),
            details: String::new(),
        }
    }

    /// The same with details.
    pub fn with_details(self, details: impl Into<String>) -> Self {
        Self {
            details: details.into(),
            ..self
        }
    }
}
