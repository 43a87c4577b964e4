//! Where a coral could go, and what could live at a place, as work on the desk.

use std::sync::Arc;

use glam::DVec3;

use super::advising::Outlook;
use super::keys::BerthKey;
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

/// What the worker looks for.
pub(super) struct BerthTask {
    pub(super) outlook: Outlook,
    pub(super) chosen: Option<String>,
    /// The coral that would move there, if it is in the layout already.
    pub(super) own: Option<ItemId>,
    pub(super) filters: BerthFilters,
    pub(super) place: Option<Place>,
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
pub(super) fn start(task: BerthTask, notify: Notify) -> std::io::Result<Job<BerthNews>> {
    Job::start("berths", notify, move |context| {
        let found = task.outlook.with_input(|input| {
            let entry = task
                .chosen
                .as_deref()
                .and_then(|id| input.catalog.entry(id));
            let own = task.own.and_then(|id| coral_of(input, id));
            let filters = BerthFilters {
                own: own.map(|coral| coral.id),
                size_m: own.map(|coral| coral.size_cm * 0.01),
                ..task.filters
            };
            let berths = entry.map_or_else(Vec::new, |entry| {
                advice::berths(input, entry, BERTHS, &filters)
            });
            let steps = advice::berth_steps(input, own, &berths);
            let fit_wash =
                entry.map_or_else(Vec::new, |entry| advice::fit_wash(input, entry, &filters));
            let candidates = task.place.map_or_else(Vec::new, |place| {
                advice::candidates(input, place.at_m, place.normal, place.on, CANDIDATES)
            });
            BerthNews {
                berths: Arc::new(berths),
                steps: Arc::new(steps),
                fit_wash: Arc::new(fit_wash),
                candidates: Arc::new(candidates),
                figures: task.place.and_then(|place| figures_at(input, place)),
            }
        });
        context.publish(found);
        Ok(())
    })
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

    pub(super) fn tend_berths(&mut self) {
        let wish = BerthKey {
            advice: self.advice_key(),
            chosen: self.chosen_entry.clone(),
            own: self.moving(),
            filters: self.filters,
            place: self.place,
        };
        let is_asked = wish.chosen.is_some() || wish.place.is_some();
        let task = BerthTask {
            outlook: self.outlook(),
            chosen: wish.chosen.clone(),
            own: wish.own,
            filters: wish.filters,
            place: wish.place,
        };
        let notify = Arc::clone(&self.notify);
        let updates = self
            .engines
            .berths
            .tend(is_asked.then_some(&wish), |_| start(task, notify));
        for update in updates {
            match update {
                crate::job::Update::Partial(news) => {
                    self.results.berths = news.berths;
                    self.results.berth_steps = news.steps;
                    self.results.fit_wash = news.fit_wash;
                    self.results.candidates = news.candidates;
                    self.results.place_figures = news.figures;
                }
                crate::job::Update::Failed(reason) => {
                    self.fail("Berths could not be worked out", reason);
                }
                crate::job::Update::Done => {}
            }
        }
        self.results.berths_are_old = is_asked && !self.engines.berths.shows(&wish);
        if !is_asked {
            self.results.berths = Arc::default();
            self.results.berth_steps = Arc::default();
            self.results.fit_wash = Arc::default();
            self.results.candidates = Arc::default();
            self.results.place_figures = None;
        }
    }
}
