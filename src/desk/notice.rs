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

/// What a message is about: it closes by itself once that is over.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Subject {
    /// Nothing that would end.
    #[default]
    Nothing,
    /// Opening and saving the scene.
    File,
    /// Photos under the drawing.
    Photo,
    /// Measured lamps.
    Lamp,
    /// Readings and what they fix.
    Readings,
    /// The search for one more pump.
    Search,
    /// What to change before anything is bought.
    Plans,
    /// What goes still when a pump or the power fails.
    Outage,
    /// What finer cells say.
    Finer,
    /// What goes on paper.
    Paper,
    /// An estimate, or what follows from one.
    Estimate,
    /// A change that was put back.
    Change,
    /// How to handle corals of this entry.
    Handling(String),
    /// Keeping unsaved work.
    Keeping,
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
    /// What it is about.
    pub subject: Subject,
}

impl Notice {
    /// A message of this kind with nothing more to say.
    pub fn new(kind: NoticeKind, summary: impl Into<String>) -> Self {
        Self {
            kind,
            summary: summary.into(),
            details: String::new(),
            subject: Subject::Nothing,
        }
    }

    /// The same about something that may be over.
    #[must_use]
    pub fn about(self, subject: Subject) -> Self {
        Self { subject, ..self }
    }

    /// The same with details.
    #[must_use]
    pub fn with_details(self, details: impl Into<String>) -> Self {
        Self {
            details: details.into(),
            ..self
        }
    }
}
