//! The search itself: screen, refine, verify.

use glam::DVec3;

use super::harm::{new_faults, pump_faults, shades};
use super::places::{Candidate, Place, Walls, aim_at};
use super::{CoralFlow, Estimator, Grade, Proposal, ProposalError, ProposalOptions};
use crate::fit::{Fitter, Site, range_score, verdict_of};
use crate::flow::felt::FeltSource;
use crate::flow::{CellKind, FlowError, FlowField};
use crate::flow_figures;
use crate::growth::coral_name;
use crate::scene::finding::{Finding, Severity};
use crate::scene::{Layout, aim};
use crate::study::Study;
use crate::units::M_PER_CM;
use crate::{AdviceInput, Certainty, FlowFigures, Surroundings, dead_spots};

/// Layouts that are solved in one batch, between two looks at `control`.
const BATCH: usize = 8;

/// Speed that all water should have, in m/s: most of the gain for corals is
/// reached by 5 cm/s, and fresh waste stays put up to there.
const WANTED_M_S: f64 = 0.05;

/// Places whose aims are refined.
const REFINED: usize = 8;

/// Two proposals are alike if they are this close (in m) and point alike.
const ALIKE_M: f64 = 0.20;
const ALIKE_COSINE: f64 = 0.64;

/// A candidate with what its screening gave; the lower the better.
#[derive(Clone, Copy, Debug)]
struct Ranked {
    candidate: Candidate,
    cost: f64,
}

pub(super) struct Search<'a> {
    study: &'a Study,
    layout: &'a Layout,
    options: &'a ProposalOptions,
    estimate: &'a Estimator<'a>,
    control: &'a mut dyn FnMut(f64) -> bool,
    walls: Walls,
    /// The tank as it stands, on coarse and on fine cells.
    before: Weighed,
    before_fine: Weighed,
    /// What a report finds amiss with it.
    faults: Vec<Finding>,
    /// What coarse cells miss of the speed as it stands, in m/s.
    shift: Vec<f32>,
    dead_m: Vec<DVec3>,
    ranked: Vec<Ranked>,
    n_solved: usize,
}

/// What a field comes down to for the search.
#[derive(Clone, Debug)]
struct Weighed {
    figures: FlowFigures,
    /// Mean over the water of how far its speed misses the wanted one, 0 to 1.
    slack: f64,
    corals: Vec<OverCoral>,
}

#[derive(Clone, Debug)]
struct OverCoral {
    idx: usize,
    speed_m_s: f64,
    score: f64,
}

impl<'a> Search<'a> {
    pub(super) fn new(
        (study, known): (&'a Study, Option<FlowField>),
        options: &'a ProposalOptions,
        estimate: &'a Estimator<'a>,
        control: &'a mut dyn FnMut(f64) -> bool,
    ) -> Result<Self, ProposalError> {
        let fine = match known {
            Some(field) => field,
            None => as_it_stands(study, estimate, Grade::Confirm, &mut |share| {
                control(0.12 * share)
            })?,
        };
        let coarse = as_it_stands(study, estimate, Grade::Screen, &mut |share| {
            control(0.12 + 0.02 * share)
        })?;
        let shift = shift_m_s(&coarse, &fine);
        let corrected = corrected(coarse, &shift);
        let fine_input = input(study, &fine);
        let spots = dead_spots(&fine_input);
        Ok(Self {
            before: weigh(&input(study, &corrected), &corrected),
            before_fine: weigh(&fine_input, &fine),
            faults: pump_faults(&fine_input),
            shift,
            dead_m: spots
                .iter()
                .take(2)
                .map(|spot| spot.place.middle_m())
                .collect(),
            walls: Walls::new(study, options),
            study,
            layout: study.layout(),
            options,
            estimate,
            control,
            ranked: Vec::new(),
            n_solved: 0,
        })
    }

    /// Screens every place with a few aims.
    pub(super) fn screen(&mut self) -> Result<(), ProposalError> {
        let places = self.walls.places();
        let mut candidates: Vec<Candidate> = Vec::new();
        for place in &places {
            let aims = self.first_aims(place);
            for size in &self.options.sizes {
                let of_size = aims.iter().map(|aim| Candidate {
                    size: *size,
                    ..*aim
                });
                candidates.extend(of_size);
            }
        }
        if candidates.is_empty() {
            return Err(ProposalError::NoPlace);
        }
        // Too many: keep an even choice of them, leaving a third for the second round.
        let limit = (2 * self.options.screen_max / 3).max(1);
        let stride = candidates.len().div_ceil(limit);
        let candidates: Vec<Candidate> = candidates.into_iter().step_by(stride).collect();
        self.try_all(&candidates, (0.14, 0.55))
    }

    /// Aims from a place, the same for each size.
    fn first_aims(&self, place: &Place) -> Vec<Candidate> {
        const TO_SIDE_DEG: [f64; 3] = [0.0, -45.0, 45.0];
        let to_sides = TO_SIDE_DEG.map(|side| (place.inwards_deg + side, 0.0));
        let seen = self
            .dead_m
            .iter()
            .filter(|spot| self.walls.sees(place.at_m, **spot));
        let at_spots = seen.map(|spot| aim_at(place.at_m, *spot));
        let mut aims: Vec<Candidate> = Vec::new();
        for (turn_deg, tilt_deg) in to_sides.into_iter().chain(at_spots) {
            let candidate = Candidate {
                size: self.options.sizes[0],
                place: *place,
                turn_deg: wrapped(turn_deg),
                tilt_deg,
            };
            let new = aims
                .iter()
                .all(|other| other.aim().dot(candidate.aim()) < 0.97);
            if new && self.walls.may_point(&candidate) {
                aims.push(candidate);
            }
        }
        aims
    }

    /// Screens finer aims and small shifts of the best places.
    pub(super) fn refine(&mut self) -> Result<(), ProposalError> {
        const TURNS_DEG: [f64; 2] = [-20.0, 20.0];
        const TILTS_DEG: [f64; 2] = [-15.0, 12.0];
        let best: Vec<Candidate> = distinct(&self.ranked, REFINED);
        let mut finer = Vec::new();
        for base in best {
            let turned = TURNS_DEG.map(|by| (base.turn_deg + by, base.tilt_deg));
            let tilted = TILTS_DEG.map(|by| (base.turn_deg, base.tilt_deg + by));
            for (turn_deg, tilt_deg) in turned.into_iter().chain(tilted) {
                finer.push(Candidate {
                    turn_deg: wrapped(turn_deg),
                    tilt_deg,
                    ..base
                });
            }
            let along = DVec3::Z.cross(aim(base.place.inwards_deg, 0.0));
            for shift in [-0.06, 0.06] {
                let mut moved = base;
                moved.place.at_m += along * shift;
                if self.walls.has_room(moved.place.at_m) {
                    finer.push(moved);
                }
            }
        }
        finer.retain(|candidate| self.walls.may_point(candidate));
        finer.truncate(self.options.screen_max.saturating_sub(self.n_solved));
        self.try_all(&finer, (0.55, 0.72))
    }

    /// Solves the best again on fine cells, then those that look best just as
    /// a report does, and returns those that help.
    pub(super) fn verify(&mut self) -> Result<Vec<Proposal>, ProposalError> {
        let wanted = self.options.count;
        let mut best = distinct(&self.ranked, self.options.verify_max.max(wanted));
        let is_dear = self.options.runs > 1;
        if is_dear && best.len() > wanted {
            best = self.tried_once(best)?;
            best.truncate(wanted + 1);
        }
        let from = if is_dear { 0.8 } else { 0.72 };
        let steps = best.len().max(1) as f64;
        let before = self.before_fine.clone();
        let mut proposals: Vec<(f64, Proposal)> = Vec::new();
        for (i, candidate) in best.into_iter().enumerate() {
            if is_dear && proposals.len() == wanted {
                break;
            }
            let within = |share: f64| from + (1.0 - from) * (i as f64 + share) / steps;
            let study = self.with(&candidate);
            let Some(field) = self.solved(&study, Grade::Confirm, &within)? else {
                continue;
            };
            let input = input(&study, &field);
            let after = weigh(&input, &field);
            let harms = new_faults(&self.faults, &pump_faults(&input));
            let is_grave = harms.iter().any(|harm| harm.severity >= Severity::Serious);
            let cost = cost(&before, &after);
            let helps =
                cost < cost_as_it_is(&before) && after.figures.dead_l < before.figures.dead_l;
            if helps && !is_grave {
                let proposal = self.proposal(&candidate, (&before, &after), harms);
                proposals.push((cost, proposal));
            }
        }
        // What may be no better than the tank as it stands comes last.
        proposals.sort_by(|a, b| (a.1.is_tie().cmp(&b.1.is_tie())).then(a.0.total_cmp(&b.0)));
        proposals.truncate(wanted);
        self.go_on(1.0)?;
        Ok(proposals
            .into_iter()
            .map(|(_, proposal)| proposal)
            .collect())
    }

    /// The candidates by what one fine run of each says, best first.
    fn tried_once(&mut self, best: Vec<Candidate>) -> Result<Vec<Candidate>, ProposalError> {
        let steps = best.len().max(1) as f64;
        let before = self.before_fine.clone();
        let mut tried = Vec::new();
        for (i, candidate) in best.into_iter().enumerate() {
            let within = |share: f64| 0.72 + 0.08 * (i as f64 + share) / steps;
            let study = self.with(&candidate);
            if let Some(field) = self.solved(&study, Grade::Verify, &within)? {
                let after = weigh(&input(&study, &field), &field);
                let cost = cost(&before, &after);
                tried.push(Ranked { candidate, cost });
            }
        }
        tried.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        Ok(tried.into_iter().map(|ranked| ranked.candidate).collect())
    }

    /// The water of one study; none if it cannot be solved.
    fn solved(
        &mut self,
        study: &Study,
        grade: Grade,
        within: &dyn Fn(f64) -> f64,
    ) -> Result<Option<FlowField>, ProposalError> {
        let control = &mut *self.control;
        let solved = as_it_stands(study, self.estimate, grade, &mut |share| {
            control(within(share))
        });
        match solved {
            Ok(field) => Ok(Some(field)),
            Err(ProposalError::Stopped) => Err(ProposalError::Stopped),
            Err(_) => Ok(None),
        }
    }

    /// Solves candidates coarsely and ranks them with all so far. One that
    /// cannot be solved is passed over.
    fn try_all(
        &mut self,
        candidates: &[Candidate],
        (from, to): (f64, f64),
    ) -> Result<(), ProposalError> {
        let n = candidates.len().max(1) as f64;
        for (i, batch) in candidates.chunks(BATCH).enumerate() {
            let studies: Vec<Study> = batch.iter().map(|candidate| self.with(candidate)).collect();
            let control = &mut *self.control;
            let share_at = |share: f64| {
                from + (to - from)
                    * (((i * BATCH) as f64 + share * batch.len() as f64) / n).min(1.0)
            };
            let fields = watched(&mut |share| control(share_at(share)), |control| {
                (self.estimate)(&studies, Grade::Screen, control)
            })?;
            for ((candidate, study), field) in batch.iter().zip(&studies).zip(fields) {
                self.n_solved += 1;
                let Ok(field) = field else {
                    continue;
                };
                let field = corrected(field, &self.shift);
                let after = weigh(&input(study, &field), &field);
                self.ranked.push(Ranked {
                    candidate: *candidate,
                    cost: cost(&self.before, &after),
                });
            }
        }
        self.ranked.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        Ok(())
    }

    fn go_on(&mut self, share: f64) -> Result<(), ProposalError> {
        if (self.control)(share) {
            Ok(())
        } else {
            Err(ProposalError::Stopped)
        }
    }

    fn with(&self, candidate: &Candidate) -> Study {
        let mut layout = self.layout.clone();
        layout.pumps.push(candidate.pump(self.layout));
        self.study.with_layout(layout)
    }

    fn proposal(
        &self,
        candidate: &Candidate,
        (before, after): (&Weighed, &Weighed),
        harms: Vec<Finding>,
    ) -> Proposal {
        let pump = candidate.pump(self.layout);
        let surroundings = Surroundings::new(self.study);
        let place = surroundings.point_place(candidate.place.at_m);
        let mut proposal = Proposal {
            shades: shades(self.study, &pump),
            pump,
            before: before.figures,
            after: after.figures,
            corals: self.corals(before, after),
            n_screened: self.n_solved,
            certainty: Certainty::Check,
            place,
            harms,
        };
        if !proposal.is_tie() {
            proposal.certainty = Certainty::Likely;
        }
        proposal
    }

    fn corals(&self, before: &Weighed, after: &Weighed) -> Vec<CoralFlow> {
        let pairs = before.corals.iter().filter_map(|then| {
            let now = after.corals.iter().find(|now| now.idx == then.idx)?;
            let coral = self.layout.corals.get(then.idx)?;
            let entry = self.study.entry_of(coral)?;
            Some(CoralFlow {
                id: coral.id,
                name: coral_name(coral, entry),
                before_m_s: then.speed_m_s,
                after_m_s: now.speed_m_s,
                before: verdict_of(then.score),
                after: verdict_of(now.score),
            })
        });
        pairs.collect()
    }
}

/// Runs `work` under `control`; told to stop, it is not asked again.
fn watched<T>(
    control: &mut dyn FnMut(f64) -> bool,
    work: impl FnOnce(&mut dyn FnMut(f64) -> bool) -> T,
) -> Result<T, ProposalError> {
    let mut going = control(0.0);
    if !going {
        return Err(ProposalError::Stopped);
    }
    let done = work(&mut |share| {
        going = going && control(share);
        going
    });
    if going {
        Ok(done)
    } else {
        Err(ProposalError::Stopped)
    }
}

/// One layout as it stands.
fn as_it_stands(
    study: &Study,
    estimate: &Estimator<'_>,
    grade: Grade,
    control: &mut dyn FnMut(f64) -> bool,
) -> Result<FlowField, ProposalError> {
    let solved = watched(control, |control| {
        estimate(std::slice::from_ref(study), grade, control)
    })?;
    match solved.into_iter().next() {
        Some(Ok(field)) => Ok(field),
        Some(Err(reason)) => Err(ProposalError::Flow { reason }),
        // One study was asked about: no answer is a run that was stopped.
        None => Err(ProposalError::Flow {
            reason: FlowError::Cancelled,
        }),
    }
}

fn input<'b>(study: &'b Study, field: &'b FlowField) -> AdviceInput<'b> {
    AdviceInput {
        flow: Some(field),
        ..AdviceInput::of(study)
    }
}

fn weigh(input: &AdviceInput<'_>, field: &FlowField) -> Weighed {
    let fitter = Fitter::new(input);
    let over = |(idx, coral): (usize, &crate::scene::Coral)| {
        let entry = input.catalog.entry(&coral.entry)?;
        let over = fitter.flow_over(&Site::of_coral(input, coral))?;
        let range = &entry.flow_cm_s;
        let speed_cm_s = over.speed_m_s / M_PER_CM;
        Some(OverCoral {
            idx,
            speed_m_s: over.speed_m_s,
            score: range_score(speed_cm_s, range.low, range.optimum, range.high),
        })
    };
    Weighed {
        figures: flow_figures(field, &input.scene.tank, input.options),
        slack: slack(field),
        corals: input
            .layout
            .corals
            .iter()
            .enumerate()
            .filter_map(over)
            .collect(),
    }
}

/// Speed on fine cells less that on coarse ones, of the same layout, for each
/// coarse cell of water, in m/s.
///
/// Coarse cells hold the water back, so that too much of it seems dead; what a
/// pump changes they tell better than what there is. A candidate's coarse
/// field is therefore shifted by this before it is weighed.
fn shift_m_s(coarse: &FlowField, fine: &FlowField) -> Vec<f32> {
    let shift = |idx: usize| {
        if coarse.kind[idx] != CellKind::Water {
            return 0.0;
        }
        let at_m = coarse.grid.center_m(coarse.grid.ijk(idx));
        fine.sample(at_m).map_or(0.0, |sample| {
            (sample.speed_m_s - f64::from(coarse.speed_m_s[idx])) as f32
        })
    };
    (0..coarse.grid.n_cells()).map(shift).collect()
}

fn corrected(mut field: FlowField, shift: &[f32]) -> FlowField {
    for (idx, by) in shift.iter().enumerate() {
        if field.kind.get(idx) == Some(&CellKind::Water) {
            field.speed_m_s[idx] = (field.speed_m_s[idx] + by).max(0.0);
        }
    }
    // Shifted speeds are no longer an estimate of their own to judge by.
    field.felt = FeltSource::default();
    field.phases.clear();
    field
}

/// Mean over the water of `max(0, 1 − speed/wanted)`.
fn slack(field: &FlowField) -> f64 {
    let (mut sum, mut count) = (0.0, 0_usize);
    for (kind, speed) in field.kind.iter().zip(&field.speed_m_s) {
        if *kind == CellKind::Water {
            sum += (1.0 - f64::from(*speed) / WANTED_M_S).max(0.0);
            count += 1;
        }
    }
    sum / (count as f64).max(1.0)
}

/// What a field costs; the lower the better. Shares of water and bed, 0 to 1
/// each: dead water, which the search is asked for, counts four times, slow
/// water by half, settled waste by a fifth (its share of the bed is many times
/// the share of dead water), moving sand double (it soils every coral), and
/// each coral that leaves its range of flow a twentieth.
fn cost(before: &Weighed, after: &Weighed) -> f64 {
    let bed_share = |part: Option<f64>| match (part, after.figures.bed_m2) {
        (Some(part), Some(bed)) if bed > 0.0 => part / bed,
        _ => 0.0,
    };
    let corals: f64 = after
        .corals
        .iter()
        .filter_map(|now| {
            let then = before.corals.iter().find(|then| then.idx == now.idx)?;
            let left = then.score >= 0.5 && now.score < 0.5;
            let harm = (then.score - now.score).max(0.0);
            let gain = (now.score.min(0.5) - then.score.min(0.5)).max(0.0);
            Some(if left { 0.05 } else { 0.0 } + 0.02 * (harm - gain))
        })
        .sum();
    4.0 * after.figures.dead_share
        + 0.5 * after.slack
        + 0.2 * bed_share(after.figures.detritus_m2)
        + 2.0 * bed_share(after.figures.sand_at_risk_m2)
        + corals
}

fn cost_as_it_is(before: &Weighed) -> f64 {
    cost(before, before)
}

/// The best candidates that are not alike.
fn distinct(ranked: &[Ranked], count: usize) -> Vec<Candidate> {
    let mut chosen: Vec<Candidate> = Vec::new();
    for Ranked { candidate, .. } in ranked {
        let alike = |other: &Candidate| {
            other.place.at_m.distance(candidate.place.at_m) < ALIKE_M
                && other.aim().dot(candidate.aim()) > ALIKE_COSINE
        };
        if !chosen.iter().any(alike) {
            chosen.push(*candidate);
        }
        if chosen.len() == count {
            break;
        }
    }
    chosen
}

fn wrapped(turn_deg: f64) -> f64 {
    turn_deg.rem_euclid(360.0)
}
