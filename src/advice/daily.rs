//! A day by the hour: light on each coral with its dose, and what pumps move.

use glam::DVec3;

use crate::catalog::Range;
use crate::light::LightSolver;
use crate::scene::{ItemId, Layout};
use crate::{AdviceInput, Site};

/// Hours of full light that a coral's range of PPFD is meant for when it is
/// told as a dose a day.
///
/// **Source** COMMON PRACTICE: reef lamps run 8 to 12 h a day.
pub const DOSE_HOURS: f64 = 10.0;

/// Points of a day, one every quarter of an hour.
const POINTS: usize = 96;

/// A coral's light over a day.
#[derive(Clone, Debug, PartialEq)]
pub struct CoralDay {
    /// The coral.
    pub id: ItemId,
    /// PPFD on it from midnight on, evenly over the day, in µmol/m²/s.
    pub ppfd_umol: Vec<f64>,
    /// Highest of them.
    pub most_umol: f64,
    /// Daily light integral, in mol/m²/d.
    pub dose_mol: f64,
    /// The doses that it likes, in mol/m²/d: its range of PPFD over
    /// [`DOSE_HOURS`]; none for one that the catalog does not know.
    pub likes_mol: Option<[f64; 2]>,
}

/// Light over a day.
#[derive(Clone, Debug, PartialEq)]
pub struct DailyLight {
    /// One for each coral.
    pub corals: Vec<CoralDay>,
    /// Hours of the points.
    pub hours: Vec<f64>,
    /// Hour of the first light and of the last one; none without light. If
    /// light goes on past midnight the last is beyond 24.
    pub lit: Option<[f64; 2]>,
}

/// What pumps move by the hour.
#[derive(Clone, Debug, PartialEq)]
pub struct DailyWater {
    /// Of each pump, from midnight on, one for each hour, in L/h: as set, by
    /// its share of that hour and the share of time that its programme lets it
    /// run.
    pub pumps: Vec<(ItemId, Vec<f64>)>,
    /// Of all pumps, in L/h.
    pub all_lph: Vec<f64>,
}

/// The light of a layout over a day, from how much each lamp gives each coral
/// and each lamp's hours and ramps; light adds up.
///
/// The dose is the sum over quarters of an hour, exact for ramps that begin and
/// end on them.
pub fn daily_light(input: &AdviceInput<'_>, solver: &LightSolver) -> DailyLight {
    let layout = input.layout;
    let hour_of = |i: usize| 24.0 * (i as f64 + 0.5) / POINTS as f64;
    let hours: Vec<f64> = (0..POINTS).map(hour_of).collect();
    let corals = layout.corals.iter().map(|coral| {
        let parts = parts_on(input, solver, coral);
        let at = |hour: &f64| {
            let each = layout.lamps.iter().zip(&parts);
            each.map(|(lamp, part)| part * lamp.day.share_at(*hour))
                .sum()
        };
        let ppfd_umol: Vec<f64> = hours.iter().map(at).collect();
        let mean = ppfd_umol.iter().sum::<f64>() / POINTS as f64;
        let entry = input.catalog.entry(&coral.entry);
        CoralDay {
            id: coral.id,
            most_umol: ppfd_umol.iter().copied().fold(0.0, f64::max),
            dose_mol: dose_of(mean, 24.0),
            likes_mol: entry.map(|entry| liked(&entry.light_ppfd_umol)),
            ppfd_umol,
        }
    });
    DailyLight {
        corals: corals.collect(),
        lit: lit(layout),
        hours,
    }
}

/// PPFD of each lamp as it is set on a coral, as its fit takes it.
fn parts_on(
    input: &AdviceInput<'_>,
    solver: &LightSolver,
    coral: &crate::scene::Coral,
) -> Vec<f64> {
    const ABOVE_M: f64 = 0.005;
    let site = Site::of_coral(input, coral);
    let at_m: DVec3 = site.at_m + site.normal * (site.size_m.z + ABOVE_M);
    let ones = solver.sample_of_each(at_m, Some(site.normal));
    let outputs = solver.outputs_umol_s();
    let each = ones.iter().zip(outputs);
    each.map(|(one, output)| one.facing_umol * output).collect()
}

fn dose_of(ppfd_umol: f64, hours: f64) -> f64 {
    ppfd_umol * hours * 3600e-6
}

fn liked(range: &Range) -> [f64; 2] {
    [range.low, range.high].map(|ppfd| dose_of(ppfd, DOSE_HOURS))
}

/// First and last light of all lamps that shine.
fn lit(layout: &Layout) -> Option<[f64; 2]> {
    let days = layout.lamps.iter().filter(|lamp| lamp.dim > 0.0);
    let days = days.map(|lamp| lamp.day).filter(|day| day.hours > 0.0);
    days.map(|day| [day.first_hour, day.first_hour + day.hours])
        .reduce(|all, one| [all[0].min(one[0]), all[1].max(one[1])])
}

/// What the pumps of a layout move by the hour.
pub fn daily_water(layout: &Layout) -> DailyWater {
    let pumps = layout.pumps.iter().map(|pump| {
        let usual_lph = pump.real_flow_lph() * pump.running_share();
        let by_hour = (0..24).map(|hour| usual_lph * pump.share_at(f64::from(hour)));
        (pump.id, by_hour.collect::<Vec<f64>>())
    });
    let pumps: Vec<_> = pumps.collect();
    let all = (0..24).map(|hour| pumps.iter().map(|(_, by_hour)| by_hour[hour]).sum());
    DailyWater {
        all_lph: all.collect(),
        pumps,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalog::Catalog;
    use crate::light::{LightOptions, Measured, dli_mol};
    use crate::scene::Scene;
    use crate::study::{Study, StudySettings};
    use std::sync::Arc;

    fn scene() -> Arc<Scene> {
        let text = r#"(
            format: 1, name: "t",
            tank: (length_cm: 60.0, width_cm: 40.0, height_cm: 40.0, water_cm: 36.0),
            layouts: [(
                name: "one",
                pumps: [
                    (id: 1, at_cm: (5.0, 20.0, 25.0), flow_lph: 2000.0, outlet_cm: 3.0, throttle: 0.5,
                     programme: Pulse(period_s: 10.0, share: 0.5),
                     by_hour: [(hour: 8.0, share: 1.0), (hour: 22.0, share: 0.4)]),
                ],
                lamps: [
                    (id: 2, body: Disc(diameter_cm: 10.0), at_cm: (20.0, 20.0, 50.0),
                     output: Photons(umol_s: 60.0), day: (hours: 9.0, ramp_hours: 1.5, first_hour: 10.0)),
                    (id: 3, body: Disc(diameter_cm: 10.0), at_cm: (40.0, 20.0, 50.0),
                     output: Photons(umol_s: 30.0), day: (hours: 12.0, ramp_hours: 0.5, first_hour: 14.0)),
                ],
                corals: [
                    (id: 4, entry: "caulastraea", at_cm: (30.0, 20.0, 0.0), size_cm: (4.0, 4.0, 3.0), mount: Sand, on: Sand),
                ],
            )],
        )"#;
        Arc::new(ron::from_str(text).unwrap())
    }

    #[test]
    fn a_dose_is_the_sum_of_those_of_the_lamps() {
        let study = Study::new(scene(), 0, Catalog::shared(), StudySettings::default()).unwrap();
        let options = LightOptions::default();
        let solver = LightSolver::new(&study, &Measured::default(), &options).unwrap();
        let input = AdviceInput::of(&study);
        let daily = daily_light(&input, &solver);
        let coral = &daily.corals[0];
        let parts = parts_on(&input, &solver, &study.layout().corals[0]);
        let lamps = &study.layout().lamps;
        // By the closed form of each lamp's trapezoid; ramps begin and end on
        // quarters, so that sums over quarters are exact.
        let wanted: f64 = (parts.iter().zip(lamps))
            .map(|(part, lamp)| dli_mol(*part, &lamp.day))
            .sum();
        assert!(
            (coral.dose_mol / wanted - 1.0).abs() < 1e-9,
            "{} against {wanted}",
            coral.dose_mol
        );
        assert!(
            (coral.most_umol / parts.iter().sum::<f64>() - 1.0).abs() < 1e-9,
            "both lamps shine at once"
        );
        assert_eq!(daily.lit, Some([10.0, 26.0]), "past midnight");
        assert_eq!(coral.ppfd_umol[96 * 5 / 24], 0.0, "night");
    }

    #[test]
    fn pumps_move_what_their_hours_let_them() {
        let water = daily_water(&scene().layouts[0]);
        // 2000 L/h, set to a half, running half of the time.
        assert!((water.all_lph[12] - 500.0).abs() < 1e-9, "by day");
        assert!((water.all_lph[3] - 200.0).abs() < 1e-9, "by night");
        assert_eq!(water.pumps[0].1, water.all_lph, "the only pump");
    }
}
