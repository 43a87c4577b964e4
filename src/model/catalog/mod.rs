//! Corals, clams and anemones by planning type, each value with its source,
//! and the cautions that belong to keeping them.
//!
//! It does no I/O: the built-in table is part of the program, and a keeper's
//! own file reaches it as text.

mod cautions;
mod entry;
mod mounts;
mod own;

pub use cautions::{Caution, Topic, cautions};
pub use entry::{
    Basis, Contact, ContactRule, Entry, Form, Hazard, Height, Kind, Place, Range, Seat, Source,
    Sourced, Status,
};
pub use mounts::{MountMethod, Slopes, mount_method, mount_methods};
pub use own::Change;

use std::sync::{Arc, LazyLock};

/// The planning types, what their sources mean, and who may touch whom.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Catalog {
    entries: Vec<Entry>,
    contacts: Vec<Contact>,
    sources: Vec<Source>,
}

/// Why a catalog text was refused.
#[derive(Debug, thiserror::Error)]
pub enum CatalogError {
    /// The text is not RON of the documented form.
    #[error("catalog does not read: {source}")]
    Syntax {
        /// What the parser said, with line and column.
        #[source]
        source: Box<ron::error::SpannedError>,
    },
    /// The text was written by a newer program.
    #[error("catalog has format {found}, this program reads {known}")]
    Format {
        /// Number in the text.
        found: u32,
        /// Number that this program reads.
        known: u32,
    },
    /// A value cannot be right.
    #[error("catalog entry `{entry}`: {what}")]
    Value {
        /// Id of the entry.
        entry: String,
        /// Which value, and its limit.
        what: String,
    },
}

static BUILT_IN: LazyLock<Arc<Catalog>> = LazyLock::new(|| {
    // It is empty only if the table is broken, which a test rules out.
    let read = Catalog::default().with_own(include_str!("../../../assets/corals.ron"));
    Arc::new(read.unwrap_or_default())
});

impl Catalog {
    /// The table that comes with the program, read once.
    pub fn built_in() -> &'static Self {
        &BUILT_IN
    }

    /// The same, to be shared: what a study is given where the keeper has no
    /// entries of their own.
    pub fn shared() -> Arc<Self> {
        Arc::clone(&BUILT_IN)
    }

    /// All entries, sorted by id.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// The entry with this id.
    pub fn entry(&self, id: &str) -> Option<&Entry> {
        self.entries.iter().find(|entry| entry.id == id)
    }

    /// The contact group with this id.
    pub fn contact(&self, id: &str) -> Option<&Contact> {
        self.contacts.iter().find(|contact| contact.id == id)
    }

    /// All contact groups.
    pub fn contacts(&self) -> &[Contact] {
        &self.contacts
    }

    /// What a short source name stands for.
    pub fn source(&self, id: &str) -> Option<&Source> {
        self.sources.iter().find(|source| source.id == id)
    }

    /// All sources.
    pub fn sources(&self) -> &[Source] {
        &self.sources
    }

    /// Entries in which every word of `query` occurs, in scientific or common
    /// name, alias, growth form, group, mount, place, hazard or note, whatever
    /// the case. Entries whose names hold the first word come first. All of
    /// them without a word.
    pub fn search(&self, query: &str) -> Vec<&Entry> {
        let words: Vec<String> = query.split_whitespace().map(str::to_lowercase).collect();
        let mut found: Vec<(bool, &Entry)> = self
            .entries
            .iter()
            .filter(|entry| {
                let text = entry.words();
                words.iter().all(|word| text.contains(word.as_str()))
            })
            .map(|entry| {
                let names = entry.names_text();
                let named = words.first().is_none_or(|word| names.contains(word));
                (!named, entry)
            })
            .collect();
        found.sort_by_key(|(unnamed, _)| *unnamed);
        found.into_iter().map(|(_, entry)| entry).collect()
    }

    /// How two entries get on when they touch.
    pub fn contact_rule(&self, a: &Entry, b: &Entry) -> ContactRule {
        let one = |from: &Entry, to: &Entry| {
            let Some(group) = self.contact(&from.contact) else {
                return ContactRule::Avoid;
            };
            if from.contact != to.contact {
                return group.others;
            }
            match group.same {
                ContactRule::SameKindOnly if from.genus == to.genus => ContactRule::Fine,
                rule => rule,
            }
        };
        one(a, b).max(one(b, a))
    }
}
