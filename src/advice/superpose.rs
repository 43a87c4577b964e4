//! The water of several pumps from the water of each alone, for a fast first
//! look: mean speeds add as the root of the sum of squares.
//!
//! Energies of jets that do not meet add up; where they meet head on or follow
//! each other this is wrong by tens of percent, so that it only ranks, and what
//! it chooses is solved in full. At high Reynolds number a pump's water keeps
//! its pattern and its speed goes with the flow, so that a throttle is a factor.

use crate::flow::{CellKind, Cut, FlowError, FlowField, FlowOptions, FlowSetup, solve_many};
use std::sync::Arc;

use crate::scene::{Pump, Scene};
use crate::study::Study;

/// Tank time of a run of one pump, in s: until its jet has crossed the tank,
/// and over which it is averaged. Short, since it only ranks.
const SPIN_UP_S: f64 = 20.0;
const AVERAGE_S: [f64; 2] = [15.0, 15.0];

/// The water of each of `pumps` alone, at full throttle, on cells of `cell_m`;
/// the last field is that of the returns by themselves, and none if there are
/// none. A reason where one failed.
///
/// All share the cells and the rock of the study. `go_on` is asked now and then
/// from any thread.
pub fn each_alone(
    study: &Study,
    (pumps, cell_m): (&[Pump], f64),
    go_on: &(dyn Fn() -> bool + Sync),
) -> (Vec<Result<FlowField, FlowError>>, Option<FlowField>) {
    let options = FlowOptions {
        cut: Cut::Tank,
        cell_m: Some(cell_m),
        spin_up_s: Some(SPIN_UP_S),
        average_s: Some(AVERAGE_S),
        ..FlowOptions::default()
    };
    let (scene, layout) = (study.scene(), study.layout());
    let mut without_returns = Scene::clone(scene);
    without_returns.tank.returns.clear();
    without_returns.tank.overflow = None;
    let without_returns = study
        .after(Arc::new(without_returns), study.layout_idx())
        .unwrap_or_else(|_| study.clone());
    let mut setups: Vec<Result<FlowSetup, FlowError>> = pumps
        .iter()
        .map(|pump| {
            let mut alone = layout.clone();
            let pump = Pump {
                throttle: 1.0,
                ..pump.clone()
            };
            alone.pumps = vec![pump];
            FlowSetup::new(&without_returns.with_layout(alone), &options)
        })
        .collect();
    if !scene.tank.returns.is_empty() {
        let mut bare = layout.clone();
        bare.pumps.clear();
        setups.push(FlowSetup::new(&study.with_layout(bare), &options));
    }
    let sound: Vec<FlowSetup> = setups
        .iter()
        .filter_map(|s| s.as_ref().ok().cloned())
        .collect();
    let mut solved = solve_many(sound, None, go_on).into_iter();
    let mut fields: Vec<Result<FlowField, FlowError>> = setups
        .into_iter()
        .map(|setup| {
            setup?;
            solved.next().unwrap_or(Err(FlowError::Cancelled))
        })
        .collect();
    let returns = if scene.tank.returns.is_empty() {
        None
    } else {
        fields.pop().and_then(Result::ok)
    };
    (fields, returns)
}

/// Speed of several waters together at one place, each with its factor.
pub fn in_quadrature(speeds: impl IntoIterator<Item = (f64, f64)>) -> f64 {
    let squares = speeds
        .into_iter()
        .map(|(speed, factor)| (speed * factor).powi(2));
    squares.sum::<f64>().sqrt()
}

/// Mean speeds of several waters together, for each cell, in m/s; zero where
/// there is no water. Fields of other cells than the first are left out.
pub fn superposed_m_s(parts: &[(&FlowField, f64)]) -> Vec<f32> {
    let Some((first, _)) = parts.first() else {
        return Vec::new();
    };
    let n = first.grid.n_cells();
    (0..n)
        .map(|idx| {
            if first.kind[idx] != CellKind::Water {
                return 0.0;
            }
            let same = parts.iter().filter(|(field, _)| field.speed_m_s.len() == n);
            in_quadrature(same.map(|(field, factor)| (f64::from(field.speed_m_s[idx]), *factor)))
                as f32
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn speeds_add_in_quadrature() {
        assert_eq!(in_quadrature([(3.0, 1.0), (4.0, 1.0)]), 5.0, "3, 4, 5");
        assert_eq!(in_quadrature([(3.0, 2.0)]), 6.0, "a factor");
        assert_eq!(in_quadrature([]), 0.0, "still");
    }

    #[test]
    fn two_pumps_of_a_tank_come_near_their_sum() {
        // Two jets that pass each other: the mean speed of both together, from
        // each alone, within a fifth of the solved one. The method's papers give
        // no figure; the bound is what ranking needs. Coarse cells, short runs.
        let text = r#"(
            format: 1, name: "t",
            tank: (length_cm: 60.0, width_cm: 40.0, height_cm: 40.0, water_cm: 36.0),
            layouts: [(name: "one", pumps: [
                (id: 1, at_cm: (8.0, 10.0, 24.0), flow_lph: 2000.0, outlet_cm: 4.0),
                (id: 2, at_cm: (52.0, 30.0, 14.0), turn_deg: 180.0, flow_lph: 2000.0, outlet_cm: 4.0),
            ])],
        )"#;
        let scene: Scene = ron::from_str(text).unwrap();
        let study = Study::with_built_in(&scene, 0).unwrap();
        let pumps = &scene.layouts[0].pumps;
        let (alone, returns) = each_alone(&study, (pumps, 0.04), &|| true);
        assert!(returns.is_none(), "no returns");
        let alone: Vec<FlowField> = alone.into_iter().map(Result::unwrap).collect();
        let sum = superposed_m_s(&[(&alone[0], 1.0), (&alone[1], 1.0)]);
        let options = FlowOptions {
            cell_m: Some(0.04),
            spin_up_s: Some(SPIN_UP_S),
            average_s: Some(AVERAGE_S),
            ..FlowOptions::default()
        };
        let setup = FlowSetup::new(&study, &options).unwrap();
        let both = crate::flow::solve(setup, &mut |_| true).unwrap();
        let mean = |speeds: &[f32]| {
            let wet = (0..speeds.len()).filter(|i| both.kind[*i] == CellKind::Water);
            let (sum, n) = wet.fold((0.0, 0.0), |(sum, n), i| {
                (sum + f64::from(speeds[i]), n + 1.0)
            });
            sum / n
        };
        let ratio = mean(&sum) / mean(&both.speed_m_s);
        assert!((ratio - 1.0).abs() < 0.2, "ratio of means {ratio}");
    }
}
