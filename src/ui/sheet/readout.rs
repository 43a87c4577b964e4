//! What is known of the place under the pointer.

use glam::{DVec2, DVec3};

use crate::desk::Desk;
use crate::light::LightPlane;
use crate::study::Medium;
use crate::ui::sheet::washes::{cut_at_cm, flow_for};
use crate::ui::sheet::{Sheet, View};

/// What is known of the place under the pointer: the point of the view, on the
/// plane where the view is cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Readout {
    /// View that the pointer is in.
    pub view: View,
    /// The place, in cm.
    pub at_cm: DVec3,
    /// What fills it.
    pub place: Medium,
    /// Time mean of the speed, in cm/s.
    pub speed_cm_s: Option<f64>,
    /// Ends of its 80 % interval, of a solved tank.
    pub interval_cm_s: Option<[f64; 2]>,
    /// Slowest and fastest phase of the pumps' programs, in cm/s.
    pub phases_cm_s: Option<[f64; 2]>,
    /// Lower end of the interval of the former, upper end of that of the latter.
    pub phases_interval_cm_s: Option<[f64; 2]>,
    /// Mean velocity, in cm/s.
    pub velocity_cm_s: Option<DVec3>,
    /// PPFD facing up, in µmol/m²/s.
    pub ppfd_umol: Option<f64>,
}

impl Sheet {
    /// Reads the results at a point of a view.
    pub(super) fn read_at(view: View, flat_cm: DVec2, desk: &Desk) -> Readout {
        let at_cm = view.lift(flat_cm, view.depth(cut_at_cm(desk)));
        let at_m = at_cm / 100.0;
        let place = desk.study().medium_at(at_m);
        let results = desk.results();
        let field = (place == Medium::Water)
            .then(|| flow_for(results, view))
            .flatten()
            .map(|(field, _)| field);
        let flow = field.and_then(|field| field.sample(at_m));
        let plane = match view {
            View::Top => results.light_plan.as_deref(),
            View::Side => results.light_side.as_deref(),
            View::End => results.light_end.as_deref(),
        };
        let light = (place == Medium::Water)
            .then(|| plane.and_then(|plane| light_at(plane, at_m)))
            .flatten();
        let error = field.and_then(|field| field.speed_error(at_m));
        let interval_m_s = |speed_m_s: f64| error.map(|error| error.interval_m_s(speed_m_s));
        let over = field.and_then(|field| field.over_phases(at_m));
        Readout {
            view,
            at_cm,
            place,
            speed_cm_s: flow.map(|sample| sample.speed_m_s * 100.0),
            interval_cm_s: flow
                .and_then(|sample| interval_m_s(sample.speed_m_s))
                .map(|ends| ends.map(|end| end * 100.0)),
            phases_cm_s: over.map(|over| [over.worst_m_s, over.peak_m_s].map(|end| end * 100.0)),
            phases_interval_cm_s: over.and_then(|over| {
                let [low, _] = interval_m_s(over.worst_m_s)?;
                let [_, high] = interval_m_s(over.peak_m_s)?;
                Some([low, high].map(|end| end * 100.0))
            }),
            velocity_cm_s: flow.map(|sample| sample.velocity_m_s * 100.0),
            ppfd_umol: light,
        }
    }
}

/// The cell's value; a plane is one cell thick, wherever it was cut.
fn light_at(plane: &LightPlane, at_m: DVec3) -> Option<f64> {
    let mut at_m = at_m;
    for axis in 0..3 {
        if plane.grid.n[axis] == 1 {
            at_m[axis] = plane.grid.origin_m[axis] + plane.grid.cell_m / 2.0;
        }
    }
    let cell = plane.grid.cell_at(at_m)?;
    Some(f64::from(plane.up_umol[plane.grid.idx(cell)])).filter(|value| *value > 0.0)
}
