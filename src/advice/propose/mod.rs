//! Where one more circulation pump helps: a search over places along the walls,
//! heights and aims, screened on coarse cells, the best solved again on fine
//! ones and, at last, just as a report solves them. Only these figures are
//! shown, and what a report would find amiss with the pump goes with them.

mod engine;
mod harm;
mod places;
mod search;

pub use harm::{new_faults, pump_faults};
pub use places::other_hangs;

use crate::figures::FlowFigures;
use crate::flow::{FlowError, FlowField, RUNS};
use crate::scene::finding::{Finding, Place};
use crate::scene::{ItemId, Pump};
use crate::study::Study;
use crate::{Certainty, Verdict};

/// How strong a pump is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PumpSize {
    /// Its flow, in L/h.
    pub flow_lph: f64,
    /// Diameter of its outlet, in cm.
    pub outlet_cm: f64,
}

/// A pane that may carry gear.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum GearPane {
    /// At x = 0.
    Left,
    /// At x = length.
    Right,
    /// At y = width.
    Back,
}

impl GearPane {
    /// All of them; the front is for looking in.
    pub const ALL: [Self; 3] = [Self::Left, Self::Right, Self::Back];
}

/// What to search for.
#[derive(Clone, Debug)]
pub struct ProposalOptions {
    /// How many different proposals are wanted.
    pub count: usize,
    /// Pumps that the keeper has at hand or could get; each place is tried with
    /// each of them.
    pub sizes: Vec<PumpSize>,
    /// Edge of the cells on which candidates are screened, in m.
    pub screen_cell_m: f64,
    /// Edge of the cells on which the best are solved again, in m; that of a
    /// report if left out.
    pub cell_m: Option<f64>,
    /// Runs of the tank in what is shown, as of a report.
    pub runs: usize,
    /// Panes on which a pump may hang; the back one only in deep tanks.
    pub panes: Vec<GearPane>,
    /// Most candidates that are screened.
    pub screen_max: usize,
    /// Most candidates that are solved again.
    pub verify_max: usize,
}

impl Default for ProposalOptions {
    fn default() -> Self {
        Self {
            count: 3,
            sizes: vec![PumpSize {
                flow_lph: 3000.0,
                outlet_cm: 4.5,
            }],
            screen_cell_m: 0.04,
            cell_m: None,
            runs: RUNS,
            panes: GearPane::ALL.to_vec(),
            screen_max: 240,
            verify_max: 5,
        }
    }
}

/// Why there is no proposal.
#[derive(Debug, thiserror::Error)]
pub enum ProposalError {
    /// Whoever asked said stop.
    #[error("the search was stopped")]
    Stopped,
    /// A value that no search can use.
    #[error("`{name}` is {value}, must lie within {low} to {high}")]
    Option {
        /// Which option.
        name: &'static str,
        /// Its value.
        value: f64,
        /// Least that will do.
        low: f64,
        /// Most that will do.
        high: f64,
    },
    /// No wall has room for a pump.
    #[error("no place along the walls is free for a pump: rock or other pumps are in the way")]
    NoPlace,
    /// The tank as it stands could not be solved.
    #[error("the tank as it stands could not be solved: {reason}")]
    Flow {
        /// What the flow engine said.
        reason: FlowError,
    },
}

/// What a proposal does to the water over one coral.
#[derive(Clone, Debug, PartialEq)]
pub struct CoralFlow {
    /// The coral.
    pub id: ItemId,
    /// What it is called.
    pub name: String,
    /// Mean speed over it before, in m/s.
    pub before_m_s: f64,
    /// Mean speed over it after, in m/s.
    pub after_m_s: f64,
    /// How that suited it before.
    pub before: Verdict,
    /// How it suits it after.
    pub after: Verdict,
}

/// One place and aim for one more pump.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposal {
    /// The pump, ready to be added.
    pub pump: Pump,
    /// Figures of the tank as it stands, on the fine cells.
    pub before: FlowFigures,
    /// Figures with the pump, on the same cells.
    pub after: FlowFigures,
    /// Flow over each coral that the catalog knows, before and after.
    pub corals: Vec<CoralFlow>,
    /// How many candidates were screened.
    pub n_screened: usize,
    /// How sure it is that the tank gets better.
    pub certainty: Certainty,
    /// Where the pump goes.
    pub place: Place,
    /// What a report would find amiss that it does not now; nothing serious.
    pub harms: Vec<Finding>,
    /// Corals that the pump's body stands before, seen from a lamp.
    pub shades: Vec<ItemId>,
}

impl Proposal {
    /// Whether less dead water is within what chance allows: then the tank as
    /// it stands may be as good.
    pub fn is_tie(&self) -> bool {
        let (then, now) = (&self.before, &self.after);
        let chance = then.dead_share_half_width.hypot(now.dead_share_half_width);
        then.dead_share - now.dead_share <= chance
    }
}

/// How finely a batch of layouts is to be solved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grade {
    /// Coarse cells, short averages.
    Screen,
    /// Fine cells, settled averages, one run.
    Verify,
    /// As a report solves it.
    Confirm,
}

/// Solves studies of one tank, in their order; a reason where one failed. It
/// tells the last argument how far it has come (0 to 1) and stops at a no.
pub type Estimator<'e> =
    dyn Fn(&[Study], Grade, &mut dyn FnMut(f64) -> bool) -> Vec<Result<FlowField, FlowError>> + 'e;

/// Searches for places for one more pump in the layout of `study`, best first and unlike
/// each other; fewer than asked for, or none, if no more make the tank better.
///
/// Candidates of each size stand along the side and back walls where rock,
/// corals and other pumps leave room, at three heights; each is aimed straight
/// in, to both sides and at the largest dead spots that it sees. The best places are
/// screened again with finer aims. What is weighed: dead and slow water, bed
/// on which waste stays, sand that moves, corals that leave their range of
/// flow. One that brings anything serious that a report does not find now is
/// not offered. Those whose gain lies within chance come last. The same input
/// gives the same answer.
///
/// `known` is the water of the study as it stands if a report's is at hand:
/// solved on the cells and with the runs of the options.
///
/// `control` hears the share done (0 to 1) and says whether to go on.
///
/// # Errors
/// [`ProposalError`] if it is told to stop, an option is out of its limits, no
/// place is free, or the tank as it stands cannot be solved.
pub fn propose_pumps(
    study: &Study,
    options: &ProposalOptions,
    known: Option<FlowField>,
    control: &mut dyn FnMut(f64) -> bool,
) -> Result<Vec<Proposal>, ProposalError> {
    let engine = engine::Engine::new(study, options);
    let estimate = |studies: &[Study], grade: Grade, control: &mut dyn FnMut(f64) -> bool| {
        engine.solve(studies, grade, control)
    };
    propose_with(study, options, known, &estimate, control)
}

/// [`propose_pumps`] with any estimate of the flow.
///
/// # Errors
/// As [`propose_pumps`].
pub fn propose_with(
    study: &Study,
    options: &ProposalOptions,
    known: Option<FlowField>,
    estimate: &Estimator<'_>,
    control: &mut dyn FnMut(f64) -> bool,
) -> Result<Vec<Proposal>, ProposalError> {
    check(options)?;
    let mut search = search::Search::new((study, known), options, estimate, control)?;
    search.screen()?;
    search.refine()?;
    search.verify()
}

fn check(options: &ProposalOptions) -> Result<(), ProposalError> {
    let sizes = options.sizes.iter().flat_map(|size| {
        [
            ("flow_lph", size.flow_lph, 50.0, 100_000.0),
            ("outlet_cm", size.outlet_cm, 0.5, 30.0),
        ]
    });
    let limits = [
        ("count", options.count as f64, 1.0, 20.0),
        ("sizes", options.sizes.len() as f64, 1.0, 12.0),
        ("screen_cell_m", options.screen_cell_m, 0.005, 0.2),
        ("cell_m", options.cell_m.unwrap_or(0.02), 0.002, 0.2),
        ("runs", options.runs as f64, 1.0, 50.0),
        ("screen_max", options.screen_max as f64, 1.0, 100_000.0),
        ("verify_max", options.verify_max as f64, 1.0, 100.0),
    ];
    for (name, value, low, high) in limits.into_iter().chain(sizes) {
        if !(low..=high).contains(&value) {
            return Err(ProposalError::Option {
                name,
                value,
                low,
                high,
            });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use glam::DVec3;

    use super::*;
    use crate::AdviceOptions;
    use crate::flow::{CellKind, ComputedOn, Estimate, Settling};
    use crate::geometry::CellGrid;
    use crate::scene::{Scene, aim};
    use crate::units::{M_PER_CM, exit_speed_m_s};

    /// A 100 × 50 × 40 cm tank with one block of rock and a still right end.
    fn study() -> Study {
        let text = r#"(
            format: 1, name: "test",
            tank: (length_cm: 100.0, width_cm: 50.0, height_cm: 45.0, water_cm: 40.0,
                sand: (depth_cm: 4.0, grain_mm: 1.0, reflectance: 0.5)),
            layouts: [(
                name: "one",
                rocks: [(
                    id: 1, at_cm: (40.0, 25.0, 0.0),
                    plan: (points_cm: [(-10.0, -10.0), (10.0, -10.0), (10.0, 10.0), (-10.0, 10.0)]),
                    front: (points_cm: [(-10.0, 0.0), (10.0, 0.0), (10.0, 20.0), (-10.0, 20.0)]),
                )],
                corals: [(
                    id: 2, entry: "euphyllia_torch", at_cm: (40.0, 25.0, 20.0),
                    size_cm: (6.0, 6.0, 6.0), mount: Putty, on: Rock(1),
                )],
            )],
        )"#;
        let scene: Scene = ron::from_str(text).unwrap();
        Study::with_built_in(&scene, 0).unwrap()
    }

    /// A stand-in for the flow engine: a slow tank with a dead right end, and
    /// for each pump a wide jet `5.9 U d/s` that rock does not stop.
    fn jets(study: &Study) -> FlowField {
        let grid = CellGrid {
            origin_m: DVec3::ZERO,
            cell_m: 0.04,
            n: [25, 12, 10],
        };
        let rockwork = study.rockwork();
        let n = grid.n_cells();
        let mut field = FlowField {
            grid,
            estimate: Estimate::Tank,
            kind: vec![CellKind::Water; n],
            velocity_m_s: vec![[0.0; 3]; n],
            speed_m_s: vec![0.0; n],
            fluctuation_m_s: vec![0.0; n],
            slow_share: vec![0.0; n],
            speed_half_width_m_s: vec![0.0; n],
            slow_limit_m_s: 0.02,
            settling: Settling {
                settled: true,
                averaged_s: 60.0,
                mean_speed_m_s: 0.0,
                mean_speed_half_width_m_s: 0.0,
                dead_share: 0.0,
                dead_share_half_width: 0.01,
                flip_share: 0.0,
            },
            computed_on: ComputedOn::default(),
            n_runs: 1,
            may_flip: Vec::new(),
            phases: Vec::new(),
            felt: crate::flow::felt::FeltSource::default(),
        };
        for idx in 0..n {
            let at = grid.center_m(grid.ijk(idx));
            if at.z < study.water().sand_m {
                field.kind[idx] = CellKind::Sand;
            } else if rockwork.contains(at) {
                field.kind[idx] = CellKind::Rock;
            } else {
                field.speed_m_s[idx] = if at.x > 0.7 { 0.008 } else { 0.06 };
                for pump in &study.layout().pumps {
                    field.speed_m_s[idx] += jet(pump, at) as f32;
                }
            }
        }
        field
    }

    fn jet(pump: &Pump, at: DVec3) -> f64 {
        let (along, away) = (
            aim(pump.turn_deg, pump.tilt_deg),
            at - pump.at_cm * M_PER_CM,
        );
        let s = away.dot(along);
        if s <= 0.0 {
            return 0.0;
        }
        let r = (away - along * s).length();
        let u0 = exit_speed_m_s(pump.flow_lph, pump.outlet_cm);
        let axis = (5.9 * u0 * pump.outlet_cm * M_PER_CM / s).min(u0);
        axis * (-0.7 * (r / (0.3 * s + 0.02)).powi(2)).exp()
    }

    fn proposals(control: &mut dyn FnMut(f64) -> bool) -> Result<Vec<Proposal>, ProposalError> {
        proposals_with(&ProposalOptions::default(), control)
    }

    fn proposals_with(
        options: &ProposalOptions,
        control: &mut dyn FnMut(f64) -> bool,
    ) -> Result<Vec<Proposal>, ProposalError> {
        let estimate = |studies: &[Study], _: Grade, _: &mut dyn FnMut(f64) -> bool| {
            studies.iter().map(|study| Ok(jets(study))).collect()
        };
        propose_with(&study(), options, None, &estimate, control)
    }

    #[test]
    fn the_search_clears_the_dead_end_three_ways() {
        let mut shares = Vec::new();
        let found = proposals(&mut |share| {
            shares.push(share);
            true
        })
        .unwrap();
        assert_eq!(found.len(), 3, "three proposals");
        let study = study();
        for proposal in &found {
            assert!(
                proposal.after.dead_l < 0.8 * proposal.before.dead_l,
                "{:?}",
                proposal.pump
            );
            let at_m = proposal.pump.at_cm * M_PER_CM;
            let to_wall = at_m.x.min(1.0 - at_m.x).min(0.5 - at_m.y);
            assert!(to_wall < 0.06, "hangs on a wall: {at_m}");
            let clear = study.rockwork().nearest(at_m).map_or(1.0, |(d, _)| d);
            assert!(clear > 0.04, "clear of rock: {at_m}");
            assert_eq!(proposal.pump.id, 3, "a free id");
            // Adding it to the layout gives the very figures that were promised.
            let mut layout = study.layout().clone();
            layout.pumps.push(proposal.pump.clone());
            let again = crate::flow_figures(
                &jets(&study.with_layout(layout)),
                &study.scene().tank,
                &AdviceOptions::default(),
            );
            assert_eq!(again, proposal.after, "{:?}", proposal.pump);
        }
        for (i, a) in found.iter().enumerate() {
            for b in &found[i + 1..] {
                let apart = a.pump.at_cm.distance(b.pump.at_cm) > 19.0;
                let turned = aim(a.pump.turn_deg, a.pump.tilt_deg)
                    .dot(aim(b.pump.turn_deg, b.pump.tilt_deg))
                    < 0.65;
                assert!(apart || turned, "{:?} is like {:?}", a.pump, b.pump);
            }
        }
        assert!(
            shares.windows(2).all(|pair| pair[0] <= pair[1]),
            "progress rises"
        );
        assert_eq!(shares.last(), Some(&1.0), "and ends");
    }

    #[test]
    fn each_size_is_tried_and_the_one_that_helps_is_proposed() {
        let size = |flow_lph, outlet_cm| PumpSize {
            flow_lph,
            outlet_cm,
        };
        // The first is far too weak to stir the dead end.
        let options = ProposalOptions {
            sizes: vec![size(60.0, 4.5), size(3000.0, 4.5)],
            ..ProposalOptions::default()
        };
        let found = proposals_with(&options, &mut |_| true).unwrap();
        assert!(!found.is_empty(), "something helps");
        for proposal in &found {
            assert_eq!(proposal.pump.flow_lph, 3000.0, "{:?}", proposal.pump);
        }
        let none = ProposalOptions {
            sizes: Vec::new(),
            ..ProposalOptions::default()
        };
        let refused = proposals_with(&none, &mut |_| true);
        assert!(matches!(
            refused,
            Err(ProposalError::Option { name: "sizes", .. })
        ));
    }

    #[test]
    fn the_same_input_gives_the_same_answer() {
        let once = proposals(&mut |_| true).unwrap();
        assert_eq!(once, proposals(&mut |_| true).unwrap(), "deterministic");
    }

    #[test]
    fn it_stops_when_told_and_says_why_it_cannot() {
        let mut looks = 0;
        let stopped = proposals(&mut |_| {
            looks += 1;
            looks < 5
        });
        assert!(
            matches!(stopped, Err(ProposalError::Stopped)),
            "{stopped:?}"
        );
        assert_eq!(looks, 5, "not asked again");
        let study = study();
        let fails = |studies: &[Study], _: Grade, _: &mut dyn FnMut(f64) -> bool| {
            studies.iter().map(|_| Err(FlowError::NoWater)).collect()
        };
        let options = ProposalOptions::default();
        let failed = propose_with(&study, &options, None, &fails, &mut |_| true);
        let reason = FlowError::NoWater;
        assert!(
            matches!(&failed, Err(ProposalError::Flow { reason: why }) if *why == reason),
            "{failed:?}"
        );
        let absurd = ProposalOptions {
            sizes: vec![PumpSize {
                flow_lph: f64::NAN,
                outlet_cm: 4.5,
            }],
            ..ProposalOptions::default()
        };
        let refused = propose_with(&study, &absurd, None, &fails, &mut |_| true);
        assert!(
            matches!(
                refused,
                Err(ProposalError::Option {
                    name: "flow_lph",
                    ..
                })
            ),
            "{refused:?}"
        );
    }
}
