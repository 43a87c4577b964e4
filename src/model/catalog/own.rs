//! Reads a catalog text and lays it over what is there: the keeper's own
//! entries and changes survive updates of the built-in table.

use serde::Deserialize;

use super::{Catalog, CatalogError, Contact, Entry, Range, Source, Sourced};

/// The format number that this program reads.
const FORMAT: u32 = 1;

/// Corals wider than this are not planned in tanks, in cm.
const SIZE_MAX_CM: f64 = 300.0;

/// A keeper's change of some values of an entry; the rest stays.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Change {
    /// Entry that it changes.
    pub id: String,
    /// Other common name.
    #[serde(default)]
    pub plain_name: Option<String>,
    /// Other range of light, PPFD in µmol/m²/s.
    #[serde(default)]
    pub light_ppfd_umol: Option<Range>,
    /// Other range of flow, in cm/s.
    #[serde(default)]
    pub flow_cm_s: Option<Range>,
    /// Other width when grown, in cm.
    #[serde(default)]
    pub spread_cm: Option<Sourced>,
    /// Other growth of its edge, in cm a year.
    #[serde(default)]
    pub growth_cm_yr: Option<Range>,
    /// Other reach, in cm.
    #[serde(default)]
    pub reach_cm: Option<Sourced>,
    /// Other gap, in cm.
    #[serde(default)]
    pub gap_cm: Option<Sourced>,
    /// Other note.
    #[serde(default)]
    pub note: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CatalogFile {
    format: u32,
    #[serde(default)]
    sources: Vec<Source>,
    #[serde(default)]
    contacts: Vec<Contact>,
    #[serde(default)]
    entries: Vec<Entry>,
    #[serde(default)]
    changes: Vec<Change>,
}

impl Catalog {
    /// This catalog with the entries and changes of a keeper's own `text` laid
    /// over it: a whole entry takes the place of one with the same id, a change
    /// only of the values that it names.
    ///
    /// # Errors
    /// [`CatalogError`] if the text does not read, has another format, changes
    /// an entry that is not there, or holds a value out of its limits. Nothing
    /// is taken over then.
    pub fn with_own(&self, text: &str) -> Result<Self, CatalogError> {
        let file: CatalogFile = ron::from_str(text).map_err(|source| CatalogError::Syntax {
            source: Box::new(source),
        })?;
        if file.format != FORMAT {
            return Err(CatalogError::Format {
                found: file.format,
                known: FORMAT,
            });
        }
        let mut merged = self.clone();
        lay_over(&mut merged.sources, file.sources, |source| &source.id);
        lay_over(&mut merged.contacts, file.contacts, |contact| &contact.id);
        lay_over(&mut merged.entries, file.entries, |entry| &entry.id);
        for change in file.changes {
            let id = change.id.clone();
            let entry = merged
                .entries
                .iter_mut()
                .find(|entry| entry.id == id)
                .ok_or_else(|| CatalogError::Value {
                    entry: id,
                    what: "is changed but is not in the catalog".to_owned(),
                })?;
            apply(entry, change);
        }
        merged.entries.sort_by(|a, b| a.id.cmp(&b.id));
        for entry in &merged.entries {
            check(&merged, entry)?;
        }
        Ok(merged)
    }
}

fn lay_over<T>(all: &mut Vec<T>, own: Vec<T>, id: impl Fn(&T) -> &String) {
    for item in own {
        match all.iter_mut().find(|old| id(old) == id(&item)) {
            Some(old) => *old = item,
            None => all.push(item),
        }
    }
}

fn apply(entry: &mut Entry, change: Change) {
    fn set<T>(value: &mut T, new: Option<T>) {
        if let Some(new) = new {
            *value = new;
        }
    }
    set(&mut entry.plain_name, change.plain_name);
    set(&mut entry.light_ppfd_umol, change.light_ppfd_umol);
    set(&mut entry.flow_cm_s, change.flow_cm_s);
    set(&mut entry.spread_cm, change.spread_cm);
    set(&mut entry.growth_cm_yr, change.growth_cm_yr);
    set(&mut entry.reach_cm, change.reach_cm);
    set(&mut entry.gap_cm, change.gap_cm);
    set(&mut entry.note, change.note);
}

fn check(catalog: &Catalog, entry: &Entry) -> Result<(), CatalogError> {
    let fault = |what: String| {
        Err(CatalogError::Value {
            entry: entry.id.clone(),
            what,
        })
    };
    let ranges = [
        ("light_ppfd_umol", &entry.light_ppfd_umol, 2500.0),
        ("flow_cm_s", &entry.flow_cm_s, 200.0),
        ("growth_cm_yr", &entry.growth_cm_yr, 100.0),
    ];
    for (name, range, limit) in ranges {
        let rising = range.low <= range.optimum && range.optimum <= range.high;
        if !(rising && range.low >= 0.0 && range.high <= limit) {
            return fault(format!(
                "`{name}` is {} / {} / {}, must rise and lie within 0 to {limit}",
                range.low, range.optimum, range.high
            ));
        }
    }
    let sizes = [
        ("spread_cm", &entry.spread_cm),
        ("reach_cm", &entry.reach_cm),
        ("gap_cm", &entry.gap_cm),
    ];
    for (name, size) in sizes {
        if !(0.0..=SIZE_MAX_CM).contains(&size.value) {
            return fault(format!(
                "`{name}` is {}, must lie within 0 to {SIZE_MAX_CM} cm",
                size.value
            ));
        }
    }
    if !entry
        .aggressiveness
        .is_none_or(|a| (0.0..=100.0).contains(&a))
    {
        return fault("`aggressiveness` must lie within 0 to 100".to_owned());
    }
    if entry.shade_tolerance > 4 {
        return fault("`shade_tolerance` must lie within 0 to 4".to_owned());
    }
    if catalog.contact(&entry.contact).is_none() {
        return fault(format!("contact group `{}` is not known", entry.contact));
    }
    for source in entry.sources() {
        if catalog.source(source).is_none() {
            return fault(format!("source `{source}` is not known"));
        }
    }
    Ok(())
}

impl Entry {
    /// Short names of all sources that its values give.
    pub fn sources(&self) -> impl Iterator<Item = &str> + '_ {
        let bases = [
            &self.light_ppfd_umol.basis,
            &self.flow_cm_s.basis,
            &self.spread_cm.basis,
            &self.growth_cm_yr.basis,
            &self.reach_cm.basis,
            &self.gap_cm.basis,
        ];
        bases
            .into_iter()
            .flat_map(|basis| basis.sources.iter().map(String::as_str))
    }
}
