//! Where a coral could go, and what could live at a place, as work on the desk.

use std::sync::Arc;

use glam::DVec3;

use super::advising::Outlook;
use super::query::{Answer, BerthKey};
use crate::advice::{self, Acclimation, AdviceInput, Aspect, Berth, BerthFilters, Candidate, Site};
use crate::job::{Job, Notify};
use crate::light::SurfaceOwner;
use crate::scene::{Coral, ItemId, Mount};

/// Berths that are offered at once.
const BERTHS: usize = 10;
/// Entries that are offered for a place.
const CANDIDATES: usize = 24;

/// A place on rock or sand that was asked about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Where, in m.
    pub at_m: DVec3,
    /// Outward normal of the surface.
    pub normal: DVec3,
    /// What it is on.
    pub on: SurfaceOwner,
}

/// What it found.
#[derive(Clone)]
pub(super) struct BerthNews {
    pub(super) berths: Arc<Vec<Berth>>,
    /// What the move to each berth asks of the coral that is moved.
    pub(super) steps: Arc<Vec<Option<Acclimation>>>,
    pub(super) fit_wash: Arc<Vec<f32>>,
    pub(super) candidates: Arc<Vec<Candidate>>,
    /// Light and flow at the place.
    pub(super) figures: Option<Figures>,
}

/// PPFD in µmol/m²/s and mean speed in cm/s.
type Figures = (Option<f64>, Option<f64>);

/// Starts the worker.
pub(super) fn start(
    outlook: Outlook,
    asked: BerthKey,
    notify: Notify,
) -> std::io::Result<Job<Answer>> {
    Job::start("berths", notify, move |context| {
        let found = outlook.with_input(|input| found(input, &asked));
        context.publish(Answer::Berths(found));
        Ok(())
    })
}

fn found(input: &AdviceInput<'_>, asked: &BerthKey) -> BerthNews {
    let entry = (asked.chosen.as_deref()).and_then(|id| input.catalog.entry(id));
    let own = asked.own.and_then(|id| coral_of(input, id));
    let filters = BerthFilters {
        own: own.map(|coral| coral.id),
        size_m: own.map(|coral| coral.size_cm * 0.01),
        ..asked.filters
    };
    let berths = entry.map_or_else(Vec::new, |entry| {
        advice::berths(input, entry, BERTHS, &filters)
    });
    let steps = advice::berth_steps(input, own, &berths);
    let fit_wash = entry.map_or_else(Vec::new, |entry| advice::fit_wash(input, entry, &filters));
    let candidates = asked.place.map_or_else(Vec::new, |place| {
        advice::candidates(input, place.at_m, place.normal, place.on, CANDIDATES)
    });
    BerthNews {
        berths: Arc::new(berths),
        steps: Arc::new(steps),
        fit_wash: Arc::new(fit_wash),
        candidates: Arc::new(candidates),
        figures: asked.place.and_then(|place| figures_at(input, place)),
    }
}

/// Light and flow where a small coral would sit.
fn figures_at(input: &AdviceInput<'_>, place: Place) -> Option<Figures> {
    const SMALL_M: f64 = 0.03;
    let site = Site {
        at_m: place.at_m,
        normal: place.normal,
        on: place.on,
        size_m: DVec3::splat(SMALL_M),
        mount: Mount::Gel,
        own: None,
    };
    let fit = advice::fit_at(input, input.catalog.entries().first()?, &site);
    let value = |what: Aspect| fit.strips.iter().find(|strip| strip.what == what)?.value;
    Some((value(Aspect::Light), value(Aspect::Flow)))
}

fn coral_of<'a>(input: &AdviceInput<'a>, id: ItemId) -> Option<&'a Coral> {
    input.layout.corals.iter().find(|coral| coral.id == id)
}

impl super::Desk {
    /// Which berths are asked for.
    pub fn berth_filters(&self) -> &BerthFilters {
        &self.filters
    }

    /// The place that was asked about, if any.
    pub fn place(&self) -> Option<Place> {
        self.place
    }

    /// The selected coral, if it is of the entry whose berths are shown: it is
    /// the one that would move.
    pub fn moving(&self) -> Option<ItemId> {
        let &[id] = self.selection() else { return None };
        let coral = self.layout().corals.iter().find(|coral| coral.id == id)?;
        (self.chosen_entry() == Some(coral.entry.as_str())).then_some(id)
    }

    /// What is asked about berths, if anything is.
    pub(super) fn berth_key(&mut self) -> Option<BerthKey> {
        if self.chosen_entry.is_none() && self.place.is_none() {
            return None;
        }
        Some(BerthKey {
            advice: self.advice_key(),
            chosen: self.chosen_entry.clone(),
            own: self.moving(),
            filters: self.filters,
            place: self.place,
        })
    }
}
