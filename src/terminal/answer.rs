//! What `report` says, as data: the JSON of `--json` and the source of the text.
//! Field names are stable and documented in `JSON.md` beside this file.

use glam::DVec3;
use serde::Serialize;

use super::noticed::{FindingPart, finding_part};
use super::solve::{Case, Lit};
use crate::advice::{
    self, AdviceInput, AdviceOptions, Distance, Finding, Fit, FlowFigures, Stance, Standing, Strip,
    Verdict, WaterCard,
};
use crate::catalog::{Entry, cautions};
use crate::flow::{Estimate, FlowField, PumpPhase};
use crate::light::{LightField, SurfaceOwner, dli_mol, full_light_hours};
use crate::scene::finding::{Figure, Note};
use crate::scene::{Coral, Layout};
use crate::units::{M_PER_CM, Measure, UnitSystem};
use crate::words::{Speaker, water_account};

/// How far above a coral its light is looked at, in cm.
const ABOVE_CM: f64 = 0.5;

/// Number of the answer's own format.
const ANSWER_FORMAT: u32 = 1;

/// The whole answer of `report --json`.
#[derive(Debug, Serialize)]
pub(super) struct Answer {
    pub(super) answer_format: u32,
    pub(super) file: String,
    pub(super) scene: String,
    pub(super) layout: String,
    pub(super) tank: TankPart,
    pub(super) flow: Option<FlowPart>,
    pub(super) light: Option<LightPart>,
    pub(super) findings: Vec<FindingPart>,
    /// How the rocks stand, what must not be built so first.
    pub(super) standing: Vec<StandingPart>,
    /// What a builder checks with a ruler, what will not do first.
    pub(super) distances: Vec<DistancePart>,
    pub(super) corals: Vec<CoralPart>,
    /// What kept a part of the answer away, or makes it doubtful.
    pub(super) notes: Vec<String>,
    pub(super) cautions: Vec<String>,
}

#[derive(Debug, Serialize)]
pub(super) struct TankPart {
    pub(super) length_cm: f64,
    pub(super) width_cm: f64,
    pub(super) height_cm: f64,
    pub(super) water_cm: f64,
    pub(super) gross_l: f64,
    pub(super) net_l: f64,
    pub(super) volumes: VolumesPart,
    pub(super) rock_kg: f64,
    pub(super) sand_kg: f64,
    pub(super) total_kg: f64,
    pub(super) load_kg_m2: f64,
    pub(super) turnover_per_h: f64,
    /// `soft`, `mixed` or `small_polyped`, by its corals.
    pub(super) tank_kind: &'static str,
    #[serde(skip)]
    pub(super) tank_kind_words: &'static str,
    /// What keepers turn over in such a tank (common practice).
    pub(super) usual_turnover_per_h: [f64; 2],
    pub(super) return_per_h: f64,
    pub(super) pump_w: f64,
    pub(super) lamp_w: f64,
    pub(super) unknown_power: usize,
    pub(super) kwh_per_day: f64,
}

/// The tank up to the water line in parts that sum to `gross_l`.
#[derive(Debug, Serialize)]
pub(super) struct VolumesPart {
    pub(super) open_l: f64,
    pub(super) rock_pores_l: f64,
    pub(super) rock_solid_l: f64,
    pub(super) sand_pores_l: f64,
    pub(super) sand_grains_l: f64,
}

/// A flow field in figures.
#[derive(Debug, Serialize)]
pub(super) struct FlowPart {
    /// `tank`, `plan_slice` or `side_slice`.
    pub(super) estimate: &'static str,
    /// How it was run; not given for the figures of a proposal.
    #[serde(flatten)]
    pub(super) run: Option<RunPart>,
    pub(super) water_l: f64,
    pub(super) dead_limit_cm_s: f64,
    pub(super) dead_l: f64,
    pub(super) dead_share: f64,
    pub(super) dead_share_half_width: f64,
    pub(super) mean_speed_cm_s: f64,
    pub(super) mean_speed_half_width_cm_s: f64,
    pub(super) slowest_tenth_cm_s: f64,
    pub(super) bed_m2: Option<f64>,
    pub(super) detritus_m2: Option<f64>,
    pub(super) sand_at_risk_m2: Option<f64>,
}

#[derive(Debug, Serialize)]
pub(super) struct RunPart {
    pub(super) cell_cm: f64,
    pub(super) settled: bool,
    pub(super) averaged_s: f64,
    /// The processor or the graphics card that computed it.
    pub(super) computed_on: String,
    /// How many runs were made.
    pub(super) runs: usize,
    /// Water in which those runs go different ways; not given for one run.
    pub(super) may_flip_l: Option<f64>,
    /// What each phase of the pumps' programs brings; empty where none changes.
    pub(super) phases: Vec<PhasePart>,
    /// Open water that lies in no cell of the estimate: what corals and gear
    /// fill, and cells cut off (below zero where they take more in). With
    /// `water_l` it is the tank's `open_l`. Of a tank estimate.
    pub(super) not_in_cells_l: Option<f64>,
    #[serde(skip)]
    pub(super) account: Option<String>,
}

/// A time in which the same pumps run.
#[derive(Debug, Serialize)]
pub(super) struct PhasePart {
    /// Ids of those of the pumps with a program that run.
    pub(super) running: Vec<u32>,
    pub(super) share: f64,
    pub(super) mean_speed_cm_s: f64,
}

#[derive(Debug, Serialize)]
pub(super) struct LightPart {
    /// Whether mirrors and bounces are in.
    pub(super) full: bool,
    pub(super) lamps: Vec<LampPart>,
    pub(super) surfaces: Vec<SurfacePart>,
}

#[derive(Debug, Serialize)]
pub(super) struct LampPart {
    pub(super) id: u32,
    pub(super) name: String,
    /// Photon flux as set.
    pub(super) umol_s: f64,
    pub(super) hours: f64,
    pub(super) full_light_hours: f64,
}

/// Light on one rock, or on the sand.
#[derive(Debug, Serialize)]
pub(super) struct SurfacePart {
    /// `sand`, or the rock's name.
    pub(super) on: String,
    pub(super) rock: Option<u32>,
    pub(super) area_m2: f64,
    /// A tenth of the surface has less.
    pub(super) ppfd_low_umol: f64,
    pub(super) ppfd_median_umol: f64,
    /// A tenth of the surface has more.
    pub(super) ppfd_high_umol: f64,
    /// Surface below the share of open light that counts as shade.
    pub(super) shaded_m2: f64,
}

#[derive(Debug, Serialize)]
pub(super) struct StandingPart {
    pub(super) rocks: Vec<u32>,
    pub(super) name: String,
    /// `do_not`, `watch` or `safe`.
    pub(super) verdict: &'static str,
    /// Why; empty where it is safe.
    pub(super) reason: &'static str,
    /// None where nothing is under it.
    pub(super) margin_cm: Option<f64>,
    pub(super) tipping_deg: f64,
    /// The margin with the sand dug away; none where nothing is left.
    pub(super) dug_margin_cm: Option<f64>,
    pub(super) dry_kg: f64,
    pub(super) wet_kg: f64,
}

#[derive(Debug, Serialize)]
pub(super) struct DistancePart {
    pub(super) between: &'static str,
    pub(super) items: Vec<u32>,
    pub(super) distance_cm: f64,
    /// Least that is wanted; most for a reach.
    pub(super) wanted_cm: f64,
    pub(super) good: bool,
    /// The same in words.
    pub(super) text: String,
}

#[derive(Debug, Serialize)]
pub(super) struct CoralPart {
    pub(super) id: u32,
    pub(super) entry: String,
    pub(super) name: String,
    pub(super) at_cm: [f64; 3],
    /// `good`, `fair`, `poor`, `bad` or `unknown`: the weakest strip.
    pub(super) verdict: &'static str,
    /// Daily light on its facing; none without light.
    pub(super) dli_mol: Option<f64>,
    /// Mean speed over it in the slowest and in the fastest phase of the pumps'
    /// programs; none where no pump changes.
    pub(super) slowest_phase_cm_s: Option<f64>,
    pub(super) fastest_phase_cm_s: Option<f64>,
    pub(super) strips: Vec<StripPart>,
}

#[derive(Debug, Serialize)]
pub(super) struct StripPart {
    pub(super) what: &'static str,
    pub(super) value: Option<f64>,
    pub(super) low: f64,
    pub(super) optimum: f64,
    /// None where there is no upper limit.
    pub(super) high: Option<f64>,
    pub(super) unit: &'static str,
    pub(super) certainty: &'static str,
    pub(super) verdict: &'static str,
    pub(super) text: String,
    pub(super) remedy: String,
}

/// What the engines found for a case, as far as it was asked for.
pub(super) struct Solved {
    pub(super) flow: Option<FlowField>,
    pub(super) lit: Option<Lit>,
    pub(super) notes: Vec<String>,
}

/// Hands advice the case and what was solved.
pub(super) fn with_advice<R>(
    case: &Case,
    solved: &Solved,
    use_it: impl FnOnce(&AdviceInput<'_>) -> R,
) -> R {
    let light_at = solved
        .lit
        .as_ref()
        .map(|lit| |at_m, facing| lit.solver.sample(at_m, Some(facing)));
    use_it(&AdviceInput {
        flow: solved.flow.as_ref(),
        light: solved.lit.as_ref().and_then(|lit| lit.field.as_ref()),
        light_at: light_at.as_ref().map(|look| look as _),
        ..AdviceInput::of(&case.study)
    })
}

impl Answer {
    pub(super) fn of(case: &Case, solved: &Solved, units: UnitSystem) -> Self {
        let speaker = case.speaker(units);
        with_advice(case, solved, |input| {
            let lit = solved.lit.as_ref();
            let findings = findings(case, solved, input);
            Self {
                answer_format: ANSWER_FORMAT,
                file: case.file.clone(),
                scene: case.study.scene().name.clone(),
                layout: case.layout().name.clone(),
                tank: tank_part(case, &advice::water_card(&case.study)),
                flow: solved
                    .flow
                    .as_ref()
                    .map(|field| flow_part(field, input, units)),
                light: lit.map(|lit| light_part(case.layout(), lit, input.options)),
                findings: findings
                    .iter()
                    .map(|finding| finding_part(finding, &speaker))
                    .collect(),
                standing: advice::stances(input.study)
                    .iter()
                    .map(|stance| standing_part(stance, &speaker))
                    .collect(),
                distances: advice::distances(input.study)
                    .iter()
                    .map(|distance| distance_part(distance, &speaker))
                    .collect(),
                corals: case
                    .layout()
                    .corals
                    .iter()
                    .map(|coral| coral_part(coral, input, lit, &speaker))
                    .collect(),
                notes: solved.notes.clone(),
                cautions: cautions()
                    .iter()
                    .map(|caution| caution.text_in(units).to_owned())
                    .collect(),
            }
        })
    }
}

fn tank_part(case: &Case, card: &WaterCard) -> TankPart {
    let tank = &case.study.scene().tank;
    let kind = advice::tank_kind(&case.study);
    TankPart {
        length_cm: tank.length_cm,
        width_cm: tank.width_cm,
        height_cm: tank.height_cm,
        water_cm: tank.water_cm,
        gross_l: card.gross_l,
        net_l: card.net_l,
        volumes: VolumesPart {
            open_l: card.volumes.open_l,
            rock_pores_l: card.volumes.rock_pores_l,
            rock_solid_l: card.volumes.rock_solid_l,
            sand_pores_l: card.volumes.sand_pores_l,
            sand_grains_l: card.volumes.sand_grains_l,
        },
        rock_kg: card.rock_kg,
        sand_kg: card.sand_kg,
        total_kg: card.total_kg,
        load_kg_m2: card.load_kg_m2,
        turnover_per_h: card.turnover_per_h,
        tank_kind: kind.tag(),
        tank_kind_words: kind.words(),
        usual_turnover_per_h: kind.turnover_per_h(),
        return_per_h: card.return_per_h,
        pump_w: card.pump_w,
        lamp_w: card.lamp_w,
        unknown_power: card.unknown,
        kwh_per_day: card.kwh_per_day,
    }
}

fn flow_part(field: &FlowField, input: &AdviceInput<'_>, units: UnitSystem) -> FlowPart {
    let figures = advice::flow_figures(field, &input.scene.tank, input.options);
    let open_l = advice::water_card(input.study).volumes.open_l;
    let is_tank = figures.estimate == Estimate::Tank;
    let run = RunPart {
        cell_cm: field.grid.cell_m / M_PER_CM,
        settled: field.settling.settled,
        averaged_s: field.settling.averaged_s,
        computed_on: field.computed_on.to_string(),
        runs: field.n_runs,
        may_flip_l: (field.n_runs > 1).then_some(field.settling.flip_share * figures.water_l),
        phases: field
            .phases
            .iter()
            .map(|of| phase_part(field, of))
            .collect(),
        not_in_cells_l: is_tank.then_some(open_l - figures.water_l),
        account: is_tank.then(|| water_account(open_l, figures.water_l, units)),
    };
    FlowPart {
        run: Some(run),
        ..figures_part(&figures, input.options)
    }
}

fn phase_part(field: &FlowField, phase: &PumpPhase) -> PhasePart {
    // Cells without water have no speed.
    let sum: f64 = phase.speed_m_s.iter().map(|speed| f64::from(*speed)).sum();
    PhasePart {
        running: phase.running.clone(),
        share: phase.share,
        mean_speed_cm_s: sum / field.n_water().max(1) as f64 / M_PER_CM,
    }
}

pub(super) fn figures_part(figures: &FlowFigures, options: &AdviceOptions) -> FlowPart {
    FlowPart {
        estimate: match figures.estimate {
            Estimate::Tank => "tank",
            Estimate::PlanSlice => "plan_slice",
            Estimate::SideSlice => "side_slice",
        },
        run: None,
        water_l: figures.water_l,
        dead_limit_cm_s: options.dead_limit_m_s / M_PER_CM,
        dead_l: figures.dead_l,
        dead_share: figures.dead_share,
        dead_share_half_width: figures.dead_share_half_width,
        mean_speed_cm_s: figures.mean_speed_m_s / M_PER_CM,
        mean_speed_half_width_cm_s: figures.mean_speed_half_width_m_s / M_PER_CM,
        slowest_tenth_cm_s: figures.slowest_tenth_m_s / M_PER_CM,
        bed_m2: figures.bed_m2,
        detritus_m2: figures.detritus_m2,
        sand_at_risk_m2: figures.sand_at_risk_m2,
    }
}

fn light_part(layout: &Layout, lit: &Lit, options: &AdviceOptions) -> LightPart {
    let lamps = layout
        .lamps
        .iter()
        .zip(lit.solver.outputs_umol_s())
        .map(|(lamp, umol_s)| LampPart {
            id: lamp.id,
            name: lamp.name.clone(),
            umol_s: *umol_s,
            hours: lamp.day.hours,
            full_light_hours: full_light_hours(&lamp.day),
        });
    let field = lit.field.as_ref();
    let rocks = (0..layout.rocks.len()).map(SurfaceOwner::Rock);
    let owners = rocks.chain(std::iter::once(SurfaceOwner::Sand));
    LightPart {
        full: field.is_some_and(|field| field.full),
        lamps: lamps.collect(),
        surfaces: field
            .into_iter()
            .flat_map(|field| {
                owners
                    .clone()
                    .filter_map(|owner| surface_part(layout, field, owner, options))
            })
            .collect(),
    }
}

/// Light on one rock or on the sand; none where it has no surface in the water.
fn surface_part(
    layout: &Layout,
    field: &LightField,
    owner: SurfaceOwner,
    options: &AdviceOptions,
) -> Option<SurfacePart> {
    let mut patches: Vec<_> = field
        .patches
        .iter()
        .filter(|patch| patch.owner == owner)
        .collect();
    patches.sort_by(|a, b| a.ppfd_umol.total_cmp(&b.ppfd_umol));
    let area_m2: f64 = patches.iter().map(|patch| patch.area_m2).sum();
    let quantile = |share: f64| {
        let mut below_m2 = 0.0;
        let found = patches.iter().find(|patch| {
            below_m2 += patch.area_m2;
            below_m2 >= share * area_m2
        });
        found.or(patches.last()).map(|patch| patch.ppfd_umol)
    };
    let shaded = patches
        .iter()
        .filter(|patch| patch.open_share() < options.shade_share);
    let rock = match owner {
        SurfaceOwner::Rock(idx) => layout.rocks.get(idx),
        SurfaceOwner::Sand => None,
    };
    Some(SurfacePart {
        on: rock.map_or_else(|| "sand".to_owned(), |rock| rock.name.clone()),
        rock: rock.map(|rock| rock.id),
        area_m2,
        ppfd_low_umol: quantile(0.1)?,
        ppfd_median_umol: quantile(0.5)?,
        ppfd_high_umol: quantile(0.9)?,
        shaded_m2: shaded.map(|patch| patch.area_m2).sum(),
    })
}

fn standing_part(
    (body, how, why): &(Standing, Stance, Option<Note>),
    speaker: &Speaker<'_>,
) -> StandingPart {
    let margin = |m: f64| m.is_finite().then_some(m / M_PER_CM);
    StandingPart {
        rocks: body.rocks.clone(),
        name: speaker.names(&body.rocks),
        verdict: how.tag(),
        reason: advice::stance_reason(*why),
        margin_cm: margin(body.margin_m),
        tipping_deg: body.tipping_deg,
        dug_margin_cm: margin(body.dug_margin_m),
        dry_kg: body.dry_kg,
        wet_kg: body.wet_kg,
    }
}

fn distance_part(distance: &Distance, speaker: &Speaker<'_>) -> DistancePart {
    DistancePart {
        between: distance.between.tag(),
        items: distance.items.clone(),
        distance_cm: distance.distance_m / M_PER_CM,
        wanted_cm: distance.wanted_m / M_PER_CM,
        good: distance.is_good(),
        text: speaker.distance(distance),
    }
}

fn coral_part(
    coral: &Coral,
    input: &AdviceInput<'_>,
    lit: Option<&Lit>,
    speaker: &Speaker<'_>,
) -> CoralPart {
    let fit = advice::fit(input, coral);
    let entry = input.catalog.entry(&coral.entry);
    let (verdict, strips) = match (&fit, entry) {
        (Some(fit), Some(entry)) => fit_parts(fit, entry, speaker),
        _ => (Verdict::Unknown.tag(), Vec::new()),
    };
    let dose = |lit: &Lit| {
        // Right above it, where its light is judged too: it shades its own base.
        let facing = coral.facing.normalize_or(DVec3::Z);
        let top_cm = coral.at_cm + facing * (coral.size_cm.z + ABOVE_CM);
        let each = lit.solver.sample_of_each(top_cm * M_PER_CM, Some(facing));
        let lamps = input.layout.lamps.iter().zip(lit.solver.outputs_umol_s());
        lamps
            .zip(each)
            .map(|((lamp, output), one)| dli_mol(one.facing_umol * output, &lamp.day))
            .sum()
    };
    let of_phase = |figure: Figure| {
        let mut others = fit
            .iter()
            .flat_map(|fit| &fit.strips)
            .flat_map(|s| &s.others);
        others.find(|q| q.figure == figure).map(|q| q.value)
    };
    CoralPart {
        slowest_phase_cm_s: of_phase(Figure::SlowestPhase),
        fastest_phase_cm_s: of_phase(Figure::FastestPhase),
        id: coral.id,
        entry: coral.entry.clone(),
        name: coral.name.clone(),
        at_cm: coral.at_cm.to_array(),
        verdict,
        dli_mol: lit.map(dose),
        strips,
    }
}

pub(super) fn fit_parts(
    fit: &Fit,
    entry: &Entry,
    speaker: &Speaker<'_>,
) -> (&'static str, Vec<StripPart>) {
    let strips = fit.strips.iter();
    (
        fit.verdict.tag(),
        strips
            .map(|strip| strip_part(strip, entry, speaker))
            .collect(),
    )
}

fn strip_part(strip: &Strip, entry: &Entry, speaker: &Speaker<'_>) -> StripPart {
    StripPart {
        what: strip.what.tag(),
        value: strip.value,
        low: strip.low,
        optimum: strip.optimum,
        high: strip.high.is_finite().then_some(strip.high),
        unit: match strip.figure.measure() {
            Measure::Plain => "times",
            measure => measure.shown(UnitSystem::Metric).unit,
        },
        certainty: strip.certainty.tag(),
        verdict: strip.verdict.tag(),
        text: speaker.strip(strip, entry),
        remedy: speaker.strip_remedy(strip, entry),
    }
}

/// All findings of a case, those about its lamps included, worst first.
pub(super) fn findings(case: &Case, solved: &Solved, input: &AdviceInput<'_>) -> Vec<Finding> {
    let mut findings = advice::findings(input);
    if let Some(lit) = &solved.lit {
        findings.extend(advice::lamp_findings(case.layout(), lit.solver.notes()));
    }
    let missing = case.lamps_without_file();
    findings.extend(advice::lamp_file_mistakes(input.study, &missing));
    advice::sort_worst_first(&mut findings);
    findings
}
