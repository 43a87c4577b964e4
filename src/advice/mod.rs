//! What Bommie notices: pure functions of a scene and its fields.
//!
//! It does no I/O, reads no clock, starts no thread and knows no screen. Every
//! rule is listed with its source and its check in `METHODS.md` beside this
//! file.
//!
//! ```
//! use bommie_advice::{AdviceInput, Kind, findings};
//! use bommie_light::{LightOptions, LightSolver, Measured};
//! use bommie_model::{scene::Scene, study::Study};
//!
//! let scene = concat!(env!("CARGO_MANIFEST_DIR"), "/../../scenes/window-seat.ron");
//! let scene: Scene = ron::from_str(&std::fs::read_to_string(scene)?)?;
//! let study = Study::with_built_in(&scene, 0)?;
//! // What needs the water stays silent until it is solved.
//! let solver = LightSolver::new(&study, &Measured::new(), &LightOptions::default())?;
//! let light = solver.field(0.03, &|_share_done| true);
//! let input = AdviceInput {
//!     light: Some(&light),
//!     ..AdviceInput::of(&study)
//! };
//! let found = findings(&input);
//! assert!(found.iter().any(|it| it.kind == Kind::Shade), "a table throws one");
//! assert!(found.iter().all(|it| it.kind != Kind::DeadSpot), "of water nothing");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

use bommie_flow as flow;
use bommie_light as light;
use bommie_model::{catalog, geometry, scene, study, units};

mod acclimation;
mod ahead;
mod bed;
mod berths;
mod body;
mod compare;
mod corals;
mod creep;
mod daily;
mod dead;
mod distances;
mod figures;
mod fit;
mod fit_change;
mod flips;
mod growth;
mod hollows;
mod hull;
mod jets;
mod lamps;
mod levels;
mod look;
mod mass;
mod moments;
mod moves;
mod objection;
mod outage;
mod place;
mod plausible;
mod propose;
mod room;
mod seat;
mod shade;
mod stance;
mod standing;
mod stock;
mod superpose;
mod told_once;
mod turnover;
mod water;

pub use crate::scene::finding::{Certainty, Finding, Kind, Remedy, Severity, sort_worst_first};
pub use acclimation::{Acclimation, WeekStep, acclimation};
pub use ahead::later_events;
pub use bed::{BedCell, bed_cells, sand_findings, settling_stress_pa};
pub use berths::{
    Berth, BerthFilters, Candidate, Sought, berth_steps, berths, candidates, cutting_size_m,
    fit_wash, seek_berths,
};
pub use body::{Body, Push, Tipping, tipping};
pub use compare::{
    Better, Comparison, CoralFate, FateCause, FigureRow, LayoutFigures, Outcome, compare,
    figure_rows, layout_figures, rank,
};
pub use corals::{coral_findings, growth_findings};
pub use daily::{CoralDay, DOSE_HOURS, DailyLight, DailyWater, daily_light, daily_water};
pub use dead::dead_spots;
pub use distances::{Between, Distance, distances};
pub use figures::{FlowFigures, flow_figures};
pub use fit::{Aspect, Fit, Site, Strip, Verdict, fit, fit_at, range_score};
pub use fit_change::fit_change;
pub use flips::flip_findings;
pub use growth::{GrowthEvent, Meeting, Months, Pace, grown, growth_events, size_after_cm};
pub use hollows::{animal_findings, open_lane_m, widest_cave_m};
pub use lamps::lamp_findings;
pub use look::{AHEAD_MONTHS, Ahead, corals_ahead, rock_shares, water_shares};
pub use mass::{Bulk, RockWeight, bulk, rock_weights};
pub use moves::{Move, MoveKind, Pose, moves, with_light_steps};
pub use objection::{Measures, Objection};
pub use outage::{
    DrainDown, StandingWave, drain_down, driven_waves, standing_waves, waves_and_drivers,
};
pub use place::Surroundings;
pub use plausible::{lamp_file_mistakes, mistakes};
pub use propose::{
    CoralFlow, Estimator, GearPane, Grade, Proposal, ProposalError, ProposalOptions, PumpSize,
    new_faults, other_hangs, propose_pumps, propose_with, pump_faults,
};
pub use room::{reach_m, required_gap_m};
pub use seat::usual_mount;
pub use shade::shaded_zones;
pub use stance::{Stance, stance, stance_reason, stances};
pub use standing::{Contact, Ground, Standing, standing, standing_findings};
pub use stock::{StockRow, csv_field, stock_list};
pub use superpose::{each_alone, in_quadrature, superposed_m_s};
pub use turnover::{TankKind, fitting_pump, tank_kind, usual_outlet_cm};
pub use water::{Volumes, WaterCard, water_card};

use glam::DVec3;

use crate::catalog::Catalog;
use crate::flow::FlowField;
use crate::light::{LightField, LightSample};
use crate::scene::{Layout, Scene};
use crate::study::Study;

/// Limits that the keeper may change.
pub use crate::study::Limits as AdviceOptions;

/// Everything that advice looks at. A field that is not solved yet is left out,
/// and what needs it stays silent or says so.
#[derive(Clone, Copy)]
pub struct AdviceInput<'a> {
    /// What is looked at.
    pub study: &'a Study,
    /// Its tank and stock.
    pub scene: &'a Scene,
    /// Its arrangement.
    pub layout: &'a Layout,
    /// What is known of the corals.
    pub catalog: &'a Catalog,
    /// The water, if solved.
    pub flow: Option<&'a FlowField>,
    /// The light, if solved.
    pub light: Option<&'a LightField>,
    /// Light at a place (in m) on a facing, for places off the patches.
    pub light_at: Option<&'a dyn Fn(DVec3, DVec3) -> LightSample>,
    /// Limits that the keeper may change.
    pub options: &'a AdviceOptions,
}

impl<'a> AdviceInput<'a> {
    /// A study of which no field is solved.
    pub fn of(study: &'a Study) -> Self {
        Self {
            study,
            scene: study.scene(),
            layout: study.layout(),
            catalog: study.catalog(),
            flow: None,
            light: None,
            light_at: None,
            options: study.limits(),
        }
    }
}

/// All findings, worst first; among equals the surer and the larger first.
pub fn findings(input: &AdviceInput<'_>) -> Vec<Finding> {
    findings_grown(input, input)
}

/// The same for a tank that is looked at as it will be: `later` holds the
/// grown layout and its fields, while what growth brings is dated from
/// `today`.
pub fn findings_grown(later: &AdviceInput<'_>, today: &AdviceInput<'_>) -> Vec<Finding> {
    let input = later;
    let wrong = mistakes(input.study);
    let mut all = dead_spots(input);
    all.extend(flip_findings(input));
    all.extend(shaded_zones(input));
    all.extend(sand_findings(input));
    all.extend(coral_findings(input));
    all.extend(growth_findings(today));
    all.extend(standing_findings(input));
    all.extend(animal_findings(input));
    all.retain(|finding| !follows_from(finding, &wrong));
    levels::gather(input, &mut all);
    told_once::gather(&mut all);
    all.extend(wrong);
    for finding in &mut all {
        finding.place = finding.place.within(&input.scene.tank);
    }
    sort_worst_first(&mut all);
    all
}

/// Whether a finding only says what a mistake of the scene brings with it: a
/// coral in rock gets no light, a rock that floats does not stand.
fn follows_from(finding: &Finding, wrong: &[Finding]) -> bool {
    let about_item = matches!(
        finding.kind,
        Kind::CoralLight | Kind::CoralFlow | Kind::CoralRoom | Kind::CoralMount | Kind::Standing
    );
    let has_mistake = |id| wrong.iter().any(|mistake| mistake.items.contains(&id));
    about_item && finding.item().is_some_and(has_mistake)
}
