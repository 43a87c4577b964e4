//! Who speaks: units, language and what the things of a layout are called.

use crate::catalog::{Catalog, Status};
use crate::scene::{Animal, Item, ItemId, ItemKind, Layout, Scene};
use crate::units::{Measure, UnitSystem};

/// A language to speak in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Language {
    /// American English.
    #[default]
    English,
}

/// Says things about the items of a layout in the keeper's language and units.
#[derive(Clone, Copy, Debug)]
pub struct Speaker<'a> {
    /// Units of all values.
    pub units: UnitSystem,
    /// Language of all words.
    pub language: Language,
    /// Whose items are spoken of.
    pub(crate) layout: &'a Layout,
    /// A second layout, whose items have names too.
    pub(crate) other: Option<&'a Layout>,
    pub(crate) animals: &'a [Animal],
    pub(crate) catalog: &'a Catalog,
}

impl<'a> Speaker<'a> {
    /// Someone who knows the items of a layout of a scene.
    pub fn new(scene: &'a Scene, layout: &'a Layout, units: UnitSystem) -> Self {
        Self {
            units,
            language: Language::English,
            layout,
            other: None,
            animals: &scene.animals,
            catalog: Catalog::built_in(),
        }
    }

    /// The same with items of a second layout, for what the first one lacks.
    #[must_use]
    pub fn knowing(mut self, other: &'a Layout) -> Self {
        self.other = Some(other);
        self
    }

    /// A value with its unit, with so many digits behind the point as its
    /// metric unit would have.
    pub fn value(&self, measure: Measure, stored: f64, decimals: usize) -> String {
        measure.rounded_text(stored, decimals, self.units)
    }

    /// The number of a value alone.
    pub fn number(&self, measure: Measure, stored: f64, decimals: usize) -> String {
        measure.rounded(stored, decimals, self.units)
    }

    /// The unit of a measure.
    pub fn unit(&self, measure: Measure) -> &'static str {
        measure.shown(self.units).unit
    }

    /// A place as numbers, in cm as it is given.
    pub fn at(&self, at_cm: glam::DVec3, decimals: usize) -> String {
        let number = |value| self.number(Measure::Length, value, decimals);
        let (x, y, z) = (number(at_cm.x), number(at_cm.y), number(at_cm.z));
        format!("x {x}, y {y}, z {z} {}", self.unit(Measure::Length))
    }

    /// The same without the names of the axes.
    pub fn at_short(&self, at_cm: glam::DVec3, decimals: usize) -> String {
        let number = |value| self.number(Measure::Length, value, decimals);
        let (x, y, z) = (number(at_cm.x), number(at_cm.y), number(at_cm.z));
        format!("{x}, {y}, {z} {}", self.unit(Measure::Length))
    }

    fn find(&self, id: ItemId) -> Option<Item> {
        let others = self.other.into_iter();
        let mut layouts = std::iter::once(self.layout).chain(others);
        layouts.find_map(|layout| layout.item(id))
    }

    /// What an item is called without an article, as in "left island" or
    /// "rock 3": its name if no other item of its kind has it, else its kind
    /// and number.
    pub fn bare_name(&self, id: ItemId) -> String {
        let Some(item) = self.find(id) else {
            return format!("item {id}");
        };
        let kind = kind_word(item.kind());
        let name = self.given_name(&item);
        let layout = self.other.filter(|_| self.layout.item(id).is_none());
        let layout = layout.unwrap_or(self.layout);
        let same = |other: &ItemId| {
            *other != id
                && layout.item(*other).is_some_and(|other| {
                    other.kind() == item.kind() && self.given_name(&other) == name
                })
        };
        let is_shared = layout.ids().any(|other| same(&other));
        match name {
            name if name.is_empty() || name == kind => format!("{kind} {id}"),
            name if is_shared => format!("{name} {id}"),
            name => name,
        }
    }

    /// The keeper's name for an item, or for a coral the trade's word.
    fn given_name(&self, item: &Item) -> String {
        if let Item::Coral(coral) = item
            && coral.name.trim().is_empty()
        {
            let entry = self.catalog.entry(&coral.entry);
            return entry.map_or_else(|| coral.entry.clone(), |entry| entry.plain_name.clone());
        }
        item.name().trim().to_owned()
    }

    /// How sure the growth rate of a coral's kind is; none if it is no coral or
    /// not in the catalog.
    pub(crate) fn growth_status(&self, id: ItemId) -> Option<Status> {
        let Some(Item::Coral(coral)) = self.find(id) else {
            return None;
        };
        let entry = self.catalog.entry(&coral.entry)?;
        Some(entry.growth_cm_yr.basis.status)
    }

    /// What a coral is called in a sentence with its genus beside the trade's
    /// word, as in "the plate coral (Fungia)"; a name of the keeper's own, and
    /// one that holds the genus, stand alone.
    pub fn name_with_genus(&self, id: ItemId) -> String {
        let name = self.name(id);
        let Some(Item::Coral(coral)) = self.find(id) else {
            return name;
        };
        let entry = self.catalog.entry(&coral.entry);
        match entry.filter(|_| coral.name.trim().is_empty()) {
            Some(entry) if !name.contains(&entry.genus) => format!("{name} ({})", entry.genus),
            _ => name,
        }
    }

    /// What an item is called in a sentence, as in "the left island" or "rock
    /// 3".
    pub fn name(&self, id: ItemId) -> String {
        let bare = self.bare_name(id);
        let is_numbered = bare.ends_with(|c: char| c.is_ascii_digit());
        // A name that the keeper began with its article keeps it.
        let has_article = bare.split(' ').next() == Some("the");
        if is_numbered || has_article {
            bare
        } else {
            format!("the {bare}")
        }
    }

    /// Several items, as in "the arch and rock 3".
    pub fn names(&self, ids: &[ItemId]) -> String {
        let names: Vec<String> = ids.iter().map(|id| self.name(*id)).collect();
        crate::listed(&names)
    }

    /// Several items without articles.
    pub fn bare_names(&self, ids: &[ItemId]) -> String {
        let names: Vec<String> = ids.iter().map(|id| self.bare_name(*id)).collect();
        names.join(", ")
    }

    /// What an animal is called.
    pub(crate) fn animal(&self, idx: usize) -> String {
        let name = self.animals.get(idx).map(|animal| animal.name.trim());
        match name {
            Some(name) if !name.is_empty() => name.to_owned(),
            _ => format!("animal {}", idx + 1),
        }
    }
}

/// The word for a kind of item.
pub(crate) fn kind_word(kind: ItemKind) -> &'static str {
    match kind {
        ItemKind::Rock => "rock",
        ItemKind::Pump => "pump",
        ItemKind::Lamp => "lamp",
        ItemKind::Coral => "coral",
    }
}
