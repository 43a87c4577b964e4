//! Pumps: places, aims and throttles by the water of each pump alone, added up as the
//! root of the sum of squares.

use bommie_advice::{GearPane, Site, each_alone, in_quadrature, other_hangs, superposed_m_s};
use bommie_flow::{CellKind, FlowField};
use glam::DVec3;

use super::lamps::worth_in;
use super::tally::with_input;
use super::{Goal, ImproveError, ImproveOptions, Lever, Solved};
use crate::catalog::Range;
use crate::scene::{ItemId, Layout, Pump, aim};
use crate::study::Study;
use crate::units::M_PER_CM;

/// Turns and tilts that are tried from where a pump blows now, in degrees.
const AIMS_DEG: [(f64, f64); 9] = [
    (0.0, 0.0),
    (-20.0, 0.0),
    (20.0, 0.0),
    (-45.0, 0.0),
    (45.0, 0.0),
    (0.0, 15.0),
    (0.0, -15.0),
    (-25.0, 12.0),
    (25.0, 12.0),
];

/// Other places that are tried for a pump, where it may hang anew.
const HANGS: usize = 5;

/// Throttles that are tried.
const THROTTLES: [f64; 6] = [1.0, 0.85, 0.7, 0.55, 0.4, 0.25];

/// Free way that a jet must have, in m; one that blows at a pane or rock at
/// once is none.
const FREE_M: f64 = 0.15;

/// Changed pumps that are looked at together.
const TOGETHER_MAX: usize = 2;

/// What the search over pumps found.
pub(super) struct Stirred {
    /// Layouts with other aims or throttles, best first and unlike each other.
    pub(super) layouts: Vec<Layout>,
    /// Combinations that were weighed.
    pub(super) n_weighed: usize,
}

/// One pump with one aim, alone at full throttle.
struct Single {
    pump_idx: usize,
    pump: Pump,
    /// Speed at each point over the corals, in m/s.
    over: Vec<f64>,
    /// The share of its water that it moves at each cell.
    field: FlowField,
}

/// A coral as pumps see it.
struct Target<'a> {
    id: ItemId,
    range: &'a Range,
    points_m: Vec<DVec3>,
    /// How much bringing it into range is worth: less where its light is wrong
    /// all the same.
    weight: f64,
}

/// A pump's choice: which single, at which throttle.
type Choice = (usize, f64);

/// The best aims and throttles for the corals.
pub(super) fn better_pumps(
    study: &Study,
    now: &Solved,
    (options, lit): (&ImproveOptions, Option<&Layout>),
    go_on: &mut dyn FnMut() -> bool,
) -> Result<Stirred, ImproveError> {
    let layout = study.layout();
    let none = Stirred {
        layouts: Vec::new(),
        n_weighed: 0,
    };
    let may_turn = options.may.contains(&Lever::Aim);
    let may_throttle = options.may.contains(&Lever::Throttle);
    let may_hang = options.may.contains(&Lever::Hang);
    if layout.pumps.is_empty() || !(may_turn || may_throttle || may_hang) {
        return Ok(none);
    }
    let targets = targets(study, now, lit);
    let (singles, returns) = singles(study, options, &targets, go_on)?;
    // A pump that could not be solved alone leaves nothing to add up.
    let Some(start) = start(layout, &singles) else {
        return Ok(none);
    };
    let back: Vec<f64> = targets
        .iter()
        .map(|target| {
            returns
                .as_ref()
                .map_or(0.0, |field| mean_over(field, &target.points_m))
        })
        .collect();
    let fine = targets
        .iter()
        .map(|target| mean_over(&now.flow, &target.points_m));
    let mut search = PumpSearch {
        layout,
        options,
        targets: &targets,
        singles: &singles,
        returns: returns.as_ref(),
        back,
        shift: vec![0.0; targets.len()],
        fine: fine.collect(),
        start: start.clone(),
        dead_before: 0.0,
        corals_before: 0.0,
        dead_limit_m_s: study.limits().dead_limit_m_s,
        n_weighed: 0,
    };
    search.settle_start();
    let ranked = search.rank();
    let layouts = ranked
        .iter()
        .map(|choices| search.layout_of(choices))
        .collect();
    Ok(Stirred {
        layouts,
        n_weighed: search.n_weighed,
    })
}

/// Each pump with each aim alone, and the returns.
fn singles(
    study: &Study,
    options: &ImproveOptions,
    targets: &[Target<'_>],
    go_on: &mut dyn FnMut() -> bool,
) -> Result<(Vec<Single>, Option<FlowField>), ImproveError> {
    let pumps = variants(study, options);
    let alone: Vec<Pump> = pumps.iter().map(|(_, pump)| pump.clone()).collect();
    if !go_on() {
        return Err(ImproveError::Stopped);
    }
    let (fields, returns) = each_alone(study, (&alone, options.screen_cell_m), &|| true);
    if !go_on() {
        return Err(ImproveError::Stopped);
    }
    let singles = pumps.into_iter().zip(fields);
    let singles = singles.filter_map(|((pump_idx, pump), field)| {
        let field = field.ok()?;
        let over = targets
            .iter()
            .map(|target| mean_over(&field, &target.points_m));
        Some(Single {
            pump_idx,
            pump,
            over: over.collect(),
            field,
        })
    });
    Ok((singles.collect(), returns))
}

/// The pumps as they are set; none if one of them could not be solved alone.
fn start(layout: &Layout, singles: &[Single]) -> Option<Vec<Choice>> {
    let of_pump = |pump_idx: usize| {
        let own = &layout.pumps[pump_idx];
        let as_it_is = |single: &Single| {
            let pump = &single.pump;
            single.pump_idx == pump_idx
                && pump.at_cm == own.at_cm
                && (pump.turn_deg, pump.tilt_deg) == (own.turn_deg, own.tilt_deg)
        };
        let single = singles.iter().position(as_it_is)?;
        Some((single, own.throttle))
    };
    (0..layout.pumps.len()).map(of_pump).collect()
}

fn targets<'a>(study: &'a Study, now: &Solved, lit: Option<&Layout>) -> Vec<Target<'a>> {
    const ABOVE_M: [f64; 3] = [0.01, 0.02, 0.03];
    let rockwork = study.rockwork();
    let tally = super::tally::tally(study, now);
    with_input(study, now, |input| {
        let target = |coral: &crate::scene::Coral| {
            let entry = study.entry_of(coral)?;
            let site = Site::of_coral(input, coral);
            let points = ABOVE_M.map(|above| site.at_m + site.normal * (site.size_m.z + above));
            let is_lit = tally
                .coral(coral.id)
                .is_none_or(|state| state.light == bommie_advice::Verdict::Good);
            Some(Target {
                id: coral.id,
                range: &entry.flow_cm_s,
                points_m: points
                    .into_iter()
                    .filter(|at| !rockwork.contains(*at))
                    .collect(),
                weight: if is_lit || lit.is_some() { 1.0 } else { 0.4 },
            })
        };
        let corals = study.layout().corals.iter();
        corals.filter_map(target).collect()
    })
}

/// Each pump with each place and aim that it may have, the present ones first.
fn variants(study: &Study, options: &ImproveOptions) -> Vec<(usize, Pump)> {
    let (rockwork, layout) = (study.rockwork(), study.layout());
    let tank = &study.scene().tank;
    let high = DVec3::new(tank.length_cm, tank.width_cm, tank.water_cm) * M_PER_CM;
    let low = DVec3::new(0.0, 0.0, tank.sand.depth_cm * M_PER_CM);
    let is_free = |pump: &Pump| {
        let at_m = pump.at_cm * M_PER_CM;
        let along = aim(pump.turn_deg, pump.tilt_deg);
        (1..=5).all(|step| {
            let p = at_m + along * (FREE_M * f64::from(step) / 5.0);
            p.cmpge(low).all() && p.cmple(high).all() && !rockwork.contains(p)
        })
    };
    let mut variants = Vec::new();
    for (pump_idx, pump) in layout.pumps.iter().enumerate() {
        variants.push((pump_idx, pump.clone()));
        if pump.locked || options.fixed.contains(&pump.id) {
            continue;
        }
        if options.may.contains(&Lever::Hang) {
            let panes: Vec<GearPane> = options.panes.iter().copied().collect();
            let hung = other_hangs(study, pump_idx, &panes, HANGS);
            variants.extend(hung.into_iter().map(|pump| (pump_idx, pump)));
        }
        if !options.may.contains(&Lever::Aim) {
            continue;
        }
        for (turn, tilt) in AIMS_DEG.into_iter().skip(1) {
            let turned = Pump {
                turn_deg: (pump.turn_deg + turn).rem_euclid(360.0),
                tilt_deg: (pump.tilt_deg + tilt).clamp(-60.0, 45.0),
                ..pump.clone()
            };
            if is_free(&turned) {
                variants.push((pump_idx, turned));
            }
        }
    }
    variants
}

fn mean_over(field: &FlowField, points_m: &[DVec3]) -> f64 {
    let samples: Vec<f64> = points_m
        .iter()
        .filter_map(|at_m| field.sample(*at_m))
        .map(|sample| sample.speed_m_s)
        .collect();
    samples.iter().sum::<f64>() / samples.len().max(1) as f64
}

struct PumpSearch<'a> {
    layout: &'a Layout,
    options: &'a ImproveOptions,
    targets: &'a [Target<'a>],
    singles: &'a [Single],
    returns: Option<&'a FlowField>,
    /// Speed of the returns over each coral, in m/s.
    back: Vec<f64>,
    /// What adding up misses of the full solve as it stands, in m/s.
    shift: Vec<f64>,
    /// The full solve over each coral, in m/s.
    fine: Vec<f64>,
    start: Vec<Choice>,
    dead_before: f64,
    corals_before: f64,
    dead_limit_m_s: f64,
    n_weighed: usize,
}

impl PumpSearch<'_> {
    /// Learns what adding up misses in the tank as it stands.
    fn settle_start(&mut self) {
        let added = self.speeds(&self.start);
        self.shift = self
            .fine
            .iter()
            .zip(added)
            .map(|(fine, added)| fine - added)
            .collect();
        self.dead_before = self.dead_share(&self.start);
        self.corals_before = self.worth_to_corals(&self.start);
    }

    /// Speed over each coral, in m/s.
    fn speeds(&self, choices: &[Choice]) -> Vec<f64> {
        (0..self.targets.len())
            .map(|i| {
                let pumps = choices
                    .iter()
                    .map(|(single, throttle)| (self.singles[*single].over[i], *throttle));
                let added = in_quadrature(pumps.chain([(self.back[i], 1.0)]));
                (added + self.shift.get(i).copied().unwrap_or(0.0)).max(0.0)
            })
            .collect()
    }

    /// Share of the coarse water below the limit.
    fn dead_share(&self, choices: &[Choice]) -> f64 {
        let pumps = choices
            .iter()
            .map(|(single, throttle)| (&self.singles[*single].field, *throttle));
        let parts: Vec<(&FlowField, f64)> = pumps
            .chain(self.returns.map(|field| (field, 1.0)))
            .collect();
        let speeds = superposed_m_s(&parts);
        let Some((first, _)) = parts.first() else {
            return 0.0;
        };
        let limit = self.dead_limit_m_s as f32;
        let wet = (0..speeds.len()).filter(|i| first.kind[*i] == CellKind::Water);
        let (dead, n) = wet.fold((0.0, 0.0), |(dead, n), i| {
            (dead + f64::from(u8::from(speeds[i] < limit)), n + 1.0_f64)
        });
        dead / n.max(1.0)
    }

    fn worth(&mut self, choices: &[Choice]) -> f64 {
        self.n_weighed += 1;
        let of_deeds = 0.05 * self.n_deeds(choices) as f64;
        let of_corals = self.worth_to_corals(choices);
        match self.options.goal {
            Goal::Corals => of_corals - of_deeds,
            Goal::Water => {
                let less_dead = self.dead_before - self.dead_share(choices);
                let lost = (of_corals - self.corals_before).min(0.0);
                100.0 * less_dead + lost - of_deeds
            }
        }
    }

    fn worth_to_corals(&self, choices: &[Choice]) -> f64 {
        let speeds = self.speeds(choices);
        let corals = self.targets.iter().zip(&speeds).zip(&self.fine);
        corals
            .map(|((target, speed), fine)| {
                let mut worth = target.weight * worth_in(target.range, speed / M_PER_CM);
                if self.options.quiet.contains(&target.id) && *speed > 1.05 * fine + 0.003 {
                    worth -= 3.0;
                }
                worth
            })
            .sum()
    }

    fn n_deeds(&self, choices: &[Choice]) -> usize {
        let pairs = choices.iter().zip(&self.start);
        let at = |choice: &Choice| self.singles[choice.0].pump.at_cm;
        // To hang a pump anew asks more than to turn it.
        pairs
            .map(|(a, b)| {
                let is_hung = 2 * usize::from(at(a) != at(b));
                usize::from(a.0 != b.0) + usize::from(a.1 != b.1) + is_hung
            })
            .sum()
    }

    /// What one pump may be set to, its present setting left out.
    fn choices(&self, pump_idx: usize) -> Vec<Choice> {
        let pump = &self.layout.pumps[pump_idx];
        if pump.locked || self.options.fixed.contains(&pump.id) {
            return Vec::new();
        }
        let may_throttle = self.options.may.contains(&Lever::Throttle);
        let throttles: Vec<f64> = if may_throttle {
            THROTTLES
                .into_iter()
                .filter(|t| *t != pump.throttle)
                .chain([pump.throttle])
                .collect()
        } else {
            vec![pump.throttle]
        };
        let singles = (0..self.singles.len()).filter(|i| self.singles[*i].pump_idx == pump_idx);
        singles
            .flat_map(|single| throttles.iter().map(move |throttle| (single, *throttle)))
            .filter(|choice| *choice != self.start[pump_idx])
            .collect()
    }

    /// The best settings, best first: one pump changed, then two together, then
    /// the rest one after the other from the best of these.
    fn rank(&mut self) -> Vec<Vec<Choice>> {
        const KEPT: usize = 60;
        let base = self.worth(&self.start.clone());
        let mut found: Vec<(f64, Vec<Choice>)> = Vec::new();
        let n = self.start.len();
        let mut of_one: Vec<(usize, Choice, f64)> = Vec::new();
        for pump_idx in 0..n {
            for choice in self.choices(pump_idx) {
                let mut choices = self.start.clone();
                choices[pump_idx] = choice;
                let worth = self.worth(&choices);
                of_one.push((pump_idx, choice, worth));
                found.push((worth, choices));
            }
        }
        of_one.sort_by(|a, b| b.2.total_cmp(&a.2));
        if TOGETHER_MAX > 1 {
            // Water takes a look at each of its cells, so fewer pairs.
            let n_best = match self.options.goal {
                Goal::Corals => 120,
                Goal::Water => 40,
            };
            let best: Vec<_> = of_one.iter().take(n_best).copied().collect();
            for (i, (first, a, _)) in best.iter().enumerate() {
                for (second, b, _) in &best[i + 1..] {
                    if first != second {
                        let mut choices = self.start.clone();
                        choices[*first] = *a;
                        choices[*second] = *b;
                        found.push((self.worth(&choices), choices));
                    }
                }
            }
        }
        found.sort_by(|a, b| b.0.total_cmp(&a.0));
        if let Some((worth, choices)) = found.first().cloned() {
            found.push(self.climbed(worth, choices));
        }
        found.sort_by(|a, b| b.0.total_cmp(&a.0));
        found.truncate(KEPT);
        found.retain(|(worth, _)| *worth > base + 0.05);
        // Dead water must not grow: each litre weighs against the corals.
        let dead_before = self.dead_before;
        let mut weighed: Vec<(f64, Vec<Choice>)> = found
            .into_iter()
            .map(|(worth, choices)| {
                let more = self.dead_share(&choices) - dead_before;
                (worth - 4.0 * more.max(0.0), choices)
            })
            .collect();
        weighed.retain(|(worth, _)| *worth > base);
        weighed.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut chosen: Vec<Vec<Choice>> = Vec::new();
        for (_, choices) in weighed {
            let apart = |other: &Vec<Choice>| other.iter().zip(&choices).any(|(a, b)| a.0 != b.0);
            if chosen.iter().all(apart) {
                chosen.push(choices);
            }
            if chosen.len() > self.options.count {
                break;
            }
        }
        chosen
    }

    /// Betters one pump after the other until nothing is gained.
    fn climbed(&mut self, worth: f64, choices: Vec<Choice>) -> (f64, Vec<Choice>) {
        const ROUNDS_MAX: usize = 4;
        let mut best = (worth, choices);
        for _round in 0..ROUNDS_MAX {
            let before = best.0;
            for pump_idx in 0..self.start.len() {
                for choice in self.choices(pump_idx) {
                    let mut choices = best.1.clone();
                    choices[pump_idx] = choice;
                    let worth = self.worth(&choices);
                    if worth > best.0 + 1e-9 {
                        best = (worth, choices);
                    }
                }
            }
            if best.0 <= before {
                break;
            }
        }
        best
    }

    fn layout_of(&self, choices: &[Choice]) -> Layout {
        let mut layout = self.layout.clone();
        for (pump, (single, throttle)) in layout.pumps.iter_mut().zip(choices) {
            let aimed = &self.singles[*single].pump;
            pump.at_cm = aimed.at_cm;
            pump.turn_deg = aimed.turn_deg;
            pump.tilt_deg = aimed.tilt_deg;
            pump.throttle = *throttle;
        }
        layout
    }
}
