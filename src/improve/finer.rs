//! The same tank on finer cells, beside the estimate that everything else
//! stands on: how far that may be believed here.

use glam::DVec3;

use crate::advice::{FlowFigures, flow_figures};
use crate::flow::{
    Agreement, FlowError, FlowField, FlowSetup, block_speed_m_s, blocks, solve_runs_under,
};
use crate::scene::{Coral, ItemId};
use crate::study::Study;
use crate::units::M_PER_CM;

/// How far above a coral its water is looked at, in cm. Own choice.
const ABOVE_CM: f64 = 2.0;

/// What finer cells say, each pair as estimated and on them.
#[derive(Clone, Debug)]
pub struct FinerLook {
    /// Edges of the cells, in m.
    pub cells_m: [f64; 2],
    /// How many runs each rests on.
    pub runs: [usize; 2],
    /// Figures of the water.
    pub figures: [FlowFigures; 2],
    /// How the places agree; none where nothing moves.
    pub agreement: Option<Agreement>,
    /// Corals whose water was said otherwise.
    pub corals: Vec<CoralShift>,
}

/// A coral whose water finer cells have outside of the 80 % interval that was
/// said.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoralShift {
    /// The coral.
    pub coral: ItemId,
    /// Medians of the felt speed, in m/s.
    pub felt_m_s: [f64; 2],
}

/// Solves the tank of `setup`, which is of `study` and finer than `known`, once
/// and sets it beside that; `control` is told the share that is done and says
/// whether to go on.
///
/// # Errors
/// [`FlowError::Cancelled`] if `control` says no; others as in a solve.
pub fn finer_look(
    study: &Study,
    known: &FlowField,
    setup: &FlowSetup,
    control: &mut dyn FnMut(f64) -> bool,
) -> Result<FinerLook, FlowError> {
    let finer = solve_runs_under(setup, 1, control)?;
    Ok(beside(study, [known, &finer]))
}

/// Sets two fields of one study beside each other, the finer last.
fn beside(study: &Study, fields: [&FlowField; 2]) -> FinerLook {
    let places = blocks(study);
    let speeds = fields.map(|field| {
        let speed = |at: &DVec3| block_speed_m_s(field, *at);
        places.iter().map(speed).collect::<Vec<_>>()
    });
    let figures = |field| flow_figures(field, &study.scene().tank, study.limits());
    let shift = |coral: &Coral| {
        let at_m = above_m(coral);
        let felt = |field: &FlowField| field.felt()?.at(field.grid.within(at_m));
        let [known, finer] = fields.map(felt);
        let (known, finer) = (known?, finer?.median_m_s());
        let [low, high] = known.interval_m_s();
        (!(low..=high).contains(&finer)).then_some(CoralShift {
            coral: coral.id,
            felt_m_s: [known.median_m_s(), finer],
        })
    };
    FinerLook {
        cells_m: fields.map(|field| field.grid.cell_m),
        runs: fields.map(|field| field.n_runs),
        figures: fields.map(figures),
        agreement: Agreement::where_known(&speeds[0], &speeds[1]),
        corals: study.layout().corals.iter().filter_map(shift).collect(),
    }
}

/// Where the water of a coral is looked at, in m.
pub fn above_m(coral: &Coral) -> DVec3 {
    let up = coral.facing.normalize_or(DVec3::Z);
    (coral.at_cm + up * (coral.size_cm.z + ABOVE_CM)) * M_PER_CM
}
