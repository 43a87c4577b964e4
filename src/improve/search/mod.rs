//! What to do with what is there before anything is bought.
//!
//! One deed: what may change is turned, throttled, dimmed, hung higher or
//! moved, in a fast first look; the best few are solved in full, and only what
//! that shows is offered. The answer is the same for the same input.

mod deeds;
mod flow;
mod full;
mod lamps;
mod places;
mod programmes;
mod tally;

use std::collections::BTreeSet;

use bommie_advice::{
    Finding, GearPane, Proposal, ProposalOptions, PumpSize, Severity, new_faults, propose_pumps,
    usual_outlet_cm,
};
use bommie_flow::FlowField;
use bommie_light::{LightField, LightSolver, Measured};
use thiserror::Error;

use crate::scene::{ItemId, Layout, Pump, Scene};
use crate::study::Study;

pub use deeds::{Deed, deeds_between};
pub use full::{FullSolve, SolveError};
pub use tally::{CoralState, Tally};

use tally::tally;

/// What a search is to better.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Goal {
    /// More corals in their ranges of light and flow.
    #[default]
    Corals,
    /// Less dead water, and no coral the worse for it.
    Water,
}

/// Something that may change.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lever {
    /// Where a pump blows.
    Aim,
    /// How strong a pump is set.
    Throttle,
    /// Where a pump hangs.
    Hang,
    /// Pumps that run in turn instead of all the time.
    Programme,
    /// How bright a lamp is set.
    Dim,
    /// How high a lamp hangs.
    Height,
    /// Where corals stand that are not glued: plugs, loose ones, those in sand.
    Place,
    /// Where glued corals stand.
    Glued,
}

/// What to search for.
#[derive(Clone, Debug, PartialEq)]
pub struct ImproveOptions {
    /// What is to be bettered.
    pub goal: Goal,
    /// How many different plans are wanted.
    pub count: usize,
    /// What may change.
    pub may: BTreeSet<Lever>,
    /// Panes that may carry gear.
    pub panes: BTreeSet<GearPane>,
    /// Pumps, lamps and corals that stay as they are.
    pub fixed: BTreeSet<ItemId>,
    /// Corals (or an anemone) whose corner must stay as quiet as it is: their
    /// speed may not rise by more than a tenth.
    pub quiet: BTreeSet<ItemId>,
    /// Most pumps that may be bought; that is looked at last.
    pub buy_max: usize,
    /// Edge of the cells of the fast first look, in m.
    pub screen_cell_m: f64,
}

impl Default for ImproveOptions {
    fn default() -> Self {
        use Lever::{Aim, Dim, Height, Place, Throttle};
        Self {
            goal: Goal::Corals,
            count: 3,
            may: [Aim, Throttle, Dim, Height, Place].into(),
            panes: GearPane::ALL.into(),
            fixed: BTreeSet::new(),
            quiet: BTreeSet::new(),
            buy_max: 0,
            screen_cell_m: 0.04,
        }
    }
}

/// A layout solved in full, as a report solves it.
struct Solved {
    flow: FlowField,
    light: LightSolver,
    surfaces: LightField,
}

/// What a full solve brings.
#[derive(Clone, Debug)]
pub struct Fresh {
    /// The water; none if light alone was asked for.
    pub flow: Option<FlowField>,
    /// The light at any place.
    pub light: LightSolver,
    /// The light on rock and sand.
    pub surfaces: LightField,
}

impl Fresh {
    /// With the water that it brings, or that of another solve.
    fn with(self, other: Option<&FlowField>) -> Option<Solved> {
        Some(Solved {
            flow: self.flow.or_else(|| other.cloned())?,
            light: self.light,
            surfaces: self.surfaces,
        })
    }
}

/// What a full solve must bring again: water and light, or light alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anew {
    /// Both, as a report has them.
    All,
    /// Both, the water by one run of the tank: to choose what is solved in full.
    Once,
    /// Light; the water is that of the layout as it stands, to the last bit.
    Light,
}

/// Solves a study in full. It tells how far it has come (0 to 1) and stops at
/// a no.
pub type Estimate<'e> =
    dyn Fn(&Study, Anew, &mut dyn FnMut(f64) -> bool) -> Result<Fresh, SolveError> + 'e;

/// One way to a better tank.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The layout as it would be; its name says which plan it is.
    pub layout: Layout,
    /// What to do, in words and numbers.
    pub deeds: Vec<Deed>,
    /// Pumps to buy; none unless asked for.
    pub buys: Vec<Pump>,
    /// The tank as it stands.
    pub before: Tally,
    /// The tank by a full solve of the plan's layout.
    pub after: Tally,
    /// Cautions that go with it: light to get used to, gear to watch.
    pub cautions: Vec<String>,
    /// What a report finds amiss with it that it did not before; nothing
    /// serious.
    pub harms: Vec<Finding>,
}

impl Plan {
    /// Corals in range that it adds.
    pub fn gain(&self) -> usize {
        self.after.in_range().saturating_sub(self.before.in_range())
    }

    /// Whether two plans bring the same.
    pub fn ties_with(&self, other: &Self) -> bool {
        self.after.in_range() == other.after.in_range() && self.after.is_as_dead(&other.after)
    }

    /// Whether the tank as it stands may be as good: as many corals in range,
    /// and dead water within what chance allows.
    pub fn is_tie(&self) -> bool {
        self.after.in_range() == self.before.in_range() && self.after.is_as_dead(&self.before)
    }
}

/// All that a search found.
#[derive(Clone, Debug)]
pub struct Improvement {
    /// The tank as it stands.
    pub before: Tally,
    /// Plans, the best first.
    pub plans: Vec<Plan>,
    /// How many combinations the first look weighed.
    pub n_weighed: usize,
    /// How many solves of the tank that took, in one run or in full.
    pub n_solved: usize,
}

/// Why there is no answer.
#[derive(Debug, Error)]
pub enum ImproveError {
    /// Whoever asked said stop.
    #[error("the search was stopped")]
    Stopped,
    /// Nothing to better.
    #[error("the layout has no coral that the catalog knows; plant one first")]
    NoCorals,
    /// The tank could not be solved.
    #[error("the tank as it stands could not be solved: {reason}")]
    Unsolved {
        /// What the engine said.
        reason: SolveError,
    },
}

/// Searches for ways to bring more corals into their ranges of light and flow
/// with what is there; buying comes last, and only if asked for.
///
/// A plan is offered only if a full solve of it finds more corals in range (or,
/// if water is the goal, less of it dead), none fallen from good to poor, and
/// nothing serious amiss that was not before.
///
/// # Errors
/// [`ImproveError`].
pub fn improve(
    (study, measured): (&Study, &Measured),
    options: &ImproveOptions,
    estimate: &Estimate<'_>,
    control: &mut dyn FnMut(f64) -> bool,
) -> Result<Improvement, ImproveError> {
    let corals = &study.layout().corals;
    let has_corals = corals.iter().any(|coral| study.entry_of(coral).is_some());
    if options.goal == Goal::Corals && !has_corals {
        return Err(ImproveError::NoCorals);
    }
    let now = watched(control, (0.0, 0.2), |tell| estimate(study, Anew::All, tell))?;
    let now = now.and_then(|fresh| fresh.with(None).ok_or(SolveError::NoWater));
    let now = now.map_err(|reason| ImproveError::Unsolved { reason })?;
    let before = tally(study, &now);
    let mut search = Search {
        study,
        measured,
        options,
        estimate,
        now,
        improvement: Improvement {
            before,
            plans: Vec::new(),
            n_weighed: 0,
            n_solved: 1,
        },
    };
    search.run(control)?;
    Ok(search.improvement)
}

struct Search<'a> {
    study: &'a Study,
    measured: &'a Measured,
    options: &'a ImproveOptions,
    estimate: &'a Estimate<'a>,
    now: Solved,
    improvement: Improvement,
}

impl Search<'_> {
    fn run(&mut self, control: &mut dyn FnMut(f64) -> bool) -> Result<(), ImproveError> {
        let lit = lamps::better_lamps((self.study, self.measured), &self.now, self.options);
        self.improvement.n_weighed += lit.n_weighed;
        if !control(0.22) {
            return Err(ImproveError::Stopped);
        }
        let wanted = self.options.count.max(1);
        let stirred = flow::better_pumps(
            self.study,
            &self.now,
            (self.options, lit.layout.as_ref()),
            &mut || control(0.25),
        )?;
        self.improvement.n_weighed += stirred.n_weighed;
        let candidates = self.candidates(lit.layout.as_ref(), &stirred.layouts);
        let (from, to) = (0.3, if self.options.buy_max > 0 { 0.75 } else { 1.0 });
        let step = (to - from) / (candidates.len() as f64 + 1.0).max(1.0);
        for (i, candidate) in candidates.into_iter().enumerate() {
            if self.improvement.plans.len() > wanted {
                break;
            }
            let start = from + step * i as f64;
            let solved = self.verify(&candidate, &[], (control, start, start + step))?;
            // What a plan leaves out of range may find another place in its water.
            if i == 0 || self.improvement.plans.len() < wanted {
                let moved = solved.and_then(|(layout, solved)| {
                    places::moved(&self.study.with_layout(layout), &solved, self.options)
                });
                if let Some(moved) = moved {
                    self.verify(&moved, &[], (control, start, start + step))?;
                }
            }
        }
        if self.options.buy_max > 0 {
            self.buy((control, to))?;
        }
        self.rank();
        if control(1.0) {
            Ok(())
        } else {
            Err(ImproveError::Stopped)
        }
    }

    /// Layouts to look at closer, cheapest to do first.
    fn candidates(&self, lamps: Option<&Layout>, pumps: &[Layout]) -> Vec<Layout> {
        let mut candidates: Vec<Layout> = Vec::new();
        let mut offer = |candidate: Option<Layout>| {
            let new = candidate
                .filter(|layout| layout != self.study.layout() && !candidates.contains(layout));
            candidates.extend(new);
        };
        // What only differs in lamps needs no new water.
        offer(lamps.cloned());
        offer(places::moved(self.study, &self.now, self.options));
        let with_lamps = |pumps: &Layout| {
            let mut both = pumps.clone();
            if let Some(lamps) = lamps {
                both.lamps.clone_from(&lamps.lamps);
            }
            both
        };
        offer(pumps.first().map(with_lamps));
        offer(pumps.first().cloned());
        let in_turn: Vec<Layout> = [pumps.first(), Some(self.study.layout())]
            .into_iter()
            .flatten()
            .filter_map(|layout| programmes::in_turn(layout, self.options))
            .map(|layout| with_lamps(&layout))
            .collect();
        let n_in_turn = in_turn.len();
        for layout in in_turn {
            offer(Some(layout));
        }
        for other in pumps.iter().skip(1) {
            offer(Some(with_lamps(other)));
        }
        let wanted = self.options.count.max(1);
        let most = match self.options.goal {
            Goal::Corals => wanted + 2,
            Goal::Water => wanted,
        };
        candidates.truncate(most + n_in_turn);
        candidates
    }

    /// Solves a candidate and keeps it if it helps, by one run of the tank first
    /// and then in full; gives it back with its fields.
    fn verify(
        &mut self,
        layout: &Layout,
        buys: &[Pump],
        (control, from, to): (&mut dyn FnMut(f64) -> bool, f64, f64),
    ) -> Result<Option<(Layout, Solved)>, ImproveError> {
        let own = self.study.layout();
        let same_water = layout.pumps == own.pumps && layout.corals == own.corals;
        let study = self.study.with_layout(layout.clone());
        let middle = from + 0.2 * (to - from);
        let steps = if same_water {
            vec![(Anew::Light, from, to)]
        } else {
            vec![(Anew::Once, from, middle), (Anew::All, middle, to)]
        };
        let mut last = None;
        for (anew, from, to) in steps {
            let solved = watched(control, (from, to), |tell| {
                (self.estimate)(&study, anew, tell)
            })?;
            self.improvement.n_solved += 1;
            // One that cannot be solved is passed over.
            let kept = same_water.then_some(&self.now.flow);
            let Some(solved) = solved.ok().and_then(|fresh| fresh.with(kept)) else {
                return Ok(None);
            };
            let after = tally(&study, &solved);
            last = Some((layout.clone(), solved));
            if !self.helps(&after) {
                return Ok(last);
            }
            if anew != Anew::Once {
                self.keep(layout, buys, after);
            }
        }
        Ok(last)
    }

    /// Whether a layout that fares so is worth an offer.
    fn helps(&self, after: &Tally) -> bool {
        let before = &self.improvement.before;
        let is_better = match self.options.goal {
            Goal::Corals => after.in_range() > before.in_range(),
            Goal::Water => after.dead_l < before.dead_l && after.in_range() >= before.in_range(),
        };
        let harms = new_faults(&before.faults, &after.faults);
        let is_grave = harms.iter().any(|harm| harm.severity >= Severity::Serious);
        is_better
            && !is_grave
            && after.spares(before)
            && after.keeps_quiet(before, &self.options.quiet)
    }

    fn keep(&mut self, layout: &Layout, buys: &[Pump], after: Tally) {
        let own = self.study.layout();
        let before = &self.improvement.before;
        let cautions = deeds::cautions(
            (own, layout),
            (before, &after),
            self.study.scene(),
            self.study.catalog(),
        );
        self.improvement.plans.push(Plan {
            layout: layout.clone(),
            deeds: deeds_between(own, layout, buys),
            buys: buys.to_vec(),
            before: before.clone(),
            cautions,
            harms: new_faults(&before.faults, &after.faults),
            after,
        });
    }

    /// One, two or three more pumps of a size that fits.
    fn buy(
        &mut self,
        (control, from): (&mut dyn FnMut(f64) -> bool, f64),
    ) -> Result<(), ImproveError> {
        let best = self.improvement.plans.iter().max_by_key(|plan| plan.gain());
        let mut layout =
            best.map_or_else(|| self.study.layout().clone(), |plan| plan.layout.clone());
        let mut buys = Vec::new();
        let step = (1.0 - from) / self.options.buy_max as f64;
        for i in 0..self.options.buy_max {
            let start = from + step * i as f64;
            let options = ProposalOptions {
                count: 1,
                sizes: sizes_that_fit(self.study.scene()),
                screen_max: 120,
                verify_max: 2,
                // It only chooses; what it chooses is solved in full after.
                runs: 1,
                panes: self.options.panes.iter().copied().collect(),
                ..ProposalOptions::default()
            };
            let found = watched(control, (start, start + 0.6 * step), |tell| {
                propose_pumps(
                    &self.study.with_layout(layout.clone()),
                    &options,
                    None,
                    tell,
                )
            })?;
            let Some(Proposal { pump, .. }) = found.ok().and_then(|found| found.into_iter().next())
            else {
                return Ok(());
            };
            layout.pumps.push(pump.clone());
            buys.push(pump);
            self.verify(&layout, &buys, (control, start + 0.6 * step, start + step))?;
        }
        Ok(())
    }

    /// The best first: nothing to buy, then more corals in range, then less
    /// dead water, then fewer deeds. No two of the same deeds.
    fn rank(&mut self) {
        let plans = &mut self.improvement.plans;
        // Dead water counts in steps of a fifth: less than that is a tie.
        let dead_step = |plan: &Plan| (plan.after.dead_l / (0.2 * plan.before.dead_l + 0.5)) as i64;
        let is_water = self.options.goal == Goal::Water;
        let of_water = |plan: &Plan| {
            (
                is_water && plan.is_tie(),
                i64::from(is_water) * dead_step(plan),
            )
        };
        plans.sort_by(|a, b| {
            (a.buys.len().cmp(&b.buys.len()))
                .then(of_water(a).cmp(&of_water(b)))
                .then(b.after.in_range().cmp(&a.after.in_range()))
                .then(dead_step(a).cmp(&dead_step(b)))
                .then(a.deeds.len().cmp(&b.deeds.len()))
        });
        plans.dedup_by(|a, b| a.deeds == b.deeds);
        let bought = plans.iter().filter(|plan| !plan.buys.is_empty()).count();
        let kept = self.options.count.max(1);
        // Buying stands last, but it was asked for: at least one of it stays.
        if bought > 0 && plans.len() > kept {
            let first_bought = plans.len() - bought;
            plans.drain(kept.saturating_sub(1).max(1).min(first_bought)..first_bought);
        }
        plans.truncate(kept.max(1));
        for (i, plan) in plans.iter_mut().enumerate() {
            plan.layout.name = plan_name(self.study.scene(), i + 1);
        }
    }
}

/// A name that no layout of the scene has.
fn plan_name(scene: &Scene, number: usize) -> String {
    let mut name = format!("plan {number}");
    while scene.layouts.iter().any(|layout| layout.name == name) {
        name.push('\'');
    }
    name
}

/// Pumps that suit the tank: 5, 10 and 15 times its water an hour, with the
/// outlets that such pumps have. COMMON PRACTICE.
fn sizes_that_fit(scene: &Scene) -> Vec<PumpSize> {
    let tank = &scene.tank;
    let water_l = tank.length_cm * tank.width_cm * (tank.water_cm - tank.sand.depth_cm) / 1000.0;
    [5.0, 10.0, 15.0]
        .map(|turns| {
            let flow_lph = ((turns * water_l / 100.0).round() * 100.0).clamp(300.0, 20_000.0);
            PumpSize {
                flow_lph,
                outlet_cm: usual_outlet_cm(flow_lph),
            }
        })
        .to_vec()
}

/// Runs `work` under `control` over a part of the way; told to stop, it is not
/// asked again.
fn watched<T>(
    control: &mut dyn FnMut(f64) -> bool,
    (from, to): (f64, f64),
    work: impl FnOnce(&mut dyn FnMut(f64) -> bool) -> T,
) -> Result<T, ImproveError> {
    let mut going = control(from);
    if !going {
        return Err(ImproveError::Stopped);
    }
    let done = work(&mut |share| {
        going = going && control(from + (to - from) * share);
        going
    });
    if going {
        Ok(done)
    } else {
        Err(ImproveError::Stopped)
    }
}
