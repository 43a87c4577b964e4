//! The answer of `report` in words, in the keeper's units.

use std::fmt::Write as _;

use super::answer::{Answer, CoralPart, FlowPart, LightPart, TankPart};
use crate::flow::ComputedOn;
use crate::units::{Measure, UnitSystem};

/// The report in words.
pub(super) fn text(answer: &Answer, units: UnitSystem) -> String {
    let mut text = String::new();
    let words = Words { units };
    // Writing to a String cannot fail.
    let _written = words.report(&mut text, answer);
    text
}

/// Writes the parts of a report.
#[derive(Clone, Copy)]
struct Words {
    units: UnitSystem,
}

impl Words {
    fn number(self, measure: Measure, value: f64, decimals: usize) -> String {
        measure.rounded(value, decimals, self.units)
    }

    fn value(self, measure: Measure, value: f64, decimals: usize) -> String {
        measure.rounded_text(value, decimals, self.units)
    }

    fn plain(self, measure: Measure, value: f64) -> String {
        measure.number(value, self.units)
    }

    fn unit(self, measure: Measure) -> &'static str {
        measure.shown(self.units).unit
    }

    fn report(self, to: &mut String, answer: &Answer) -> std::fmt::Result {
        writeln!(to, "{}, layout {:?}", answer.scene, answer.layout)?;
        self.tank(to, &answer.tank)?;
        for note in &answer.notes {
            writeln!(to, "note: {note}")?;
        }
        if let Some(flow) = &answer.flow {
            self.flow(to, flow)?;
        }
        if let Some(light) = &answer.light {
            self.light(to, light)?;
        }
        writeln!(to, "\nFindings, worst first: {}", answer.findings.len())?;
        for (idx, finding) in answer.findings.iter().enumerate() {
            writeln!(
                to,
                "{:3}. {} ({}): {}",
                idx + 1,
                finding.severity,
                finding.certainty,
                finding.text
            )?;
            let [x, y, z] = finding.at_cm.map(|cm| self.number(Measure::Length, cm, 0));
            let unit = self.unit(Measure::Length);
            writeln!(to, "     at x {x}, y {y}, z {z} {unit}")?;
            for symptom in &finding.symptoms {
                writeln!(to, "     . {}", symptom.text)?;
            }
            for remedy in &finding.remedies {
                writeln!(to, "     - {remedy}")?;
            }
        }
        if !answer.corals.is_empty() {
            writeln!(to, "\nCorals")?;
        }
        for coral in &answer.corals {
            write_coral(to, coral)?;
        }
        self.rocks(to, answer)?;
        writeln!(to, "\nCautions")?;
        for caution in &answer.cautions {
            writeln!(to, "- {caution}")?;
        }
        Ok(())
    }

    /// How the rocks stand, and the distances that will not do.
    fn rocks(self, to: &mut String, answer: &Answer) -> std::fmt::Result {
        if answer.standing.is_empty() {
            return Ok(());
        }
        writeln!(
            to,
            "\nStanding, unsafe first (a rough estimate: it proves nothing safe)"
        )?;
        for body in &answer.standing {
            let why = match body.reason {
                "" => String::new(),
                reason => format!(": {reason}"),
            };
            let margin = body.margin_cm.map_or_else(String::new, |cm| {
                format!(", margin {}", self.value(Measure::Length, cm, 1))
            });
            let verdict = body.verdict.replace('_', " ");
            writeln!(to, "- {}: {verdict}{why}{margin}", body.name)?;
        }
        let short: Vec<_> = answer.distances.iter().filter(|d| !d.good).collect();
        if !short.is_empty() {
            writeln!(to, "\nDistances that will not do (common practice)")?;
        }
        for distance in short {
            writeln!(to, "- {}", distance.text)?;
        }
        Ok(())
    }

    fn tank(self, to: &mut String, tank: &TankPart) -> std::fmt::Result {
        let length = |cm: f64| self.plain(Measure::Length, cm);
        let volume = |l: f64| self.value(Measure::Volume, l, 0);
        let mass = |kg: f64| self.value(Measure::Mass, kg, 0);
        writeln!(
            to,
            "Tank {} x {} x {} {}, water {}: {}",
            length(tank.length_cm),
            length(tank.width_cm),
            length(tank.height_cm),
            self.unit(Measure::Length),
            Measure::Length.text(tank.water_cm, self.units),
            volume(tank.gross_l)
        )?;
        let parts = &tank.volumes;
        let part = |l: f64| self.number(Measure::Volume, l, 1);
        writeln!(
            to,
            "  = open water {} + pores of rock {} + solid rock {} + pores of sand {} + grains of \
             sand {} {}; net water, for dosing {}",
            part(parts.open_l),
            part(parts.rock_pores_l),
            part(parts.rock_solid_l),
            part(parts.sand_pores_l),
            part(parts.sand_grains_l),
            self.unit(Measure::Volume),
            self.value(Measure::Volume, tank.net_l, 1)
        )?;
        writeln!(
            to,
            "Rock {} dry, sand {}; with water {}, {} on its footprint, without glass and stand",
            mass(tank.rock_kg),
            mass(tank.sand_kg),
            mass(tank.total_kg),
            self.value(Measure::Load, tank.load_kg_m2, 0)
        )?;
        writeln!(
            to,
            "Pumps turn the net water over {:.0} times an hour, the return {:.1} times; usual for {} \
             are {:.0} to {:.0} (common practice), which says little of where the water moves",
            tank.turnover_per_h,
            tank.return_per_h,
            tank.tank_kind_words,
            tank.usual_turnover_per_h[0],
            tank.usual_turnover_per_h[1]
        )?;
        let unknown = match tank.unknown_power {
            0 => String::new(),
            n => format!(" (without {n} whose power is not given)"),
        };
        writeln!(
            to,
            "Power: pumps {:.0} W, lamps {:.0} W, {:.1} kWh a day{unknown}",
            tank.pump_w, tank.lamp_w, tank.kwh_per_day
        )
    }

    fn flow(self, to: &mut String, flow: &FlowPart) -> std::fmt::Result {
        let what = match flow.estimate {
            "tank" => "tank estimate",
            _ => "slice estimate, which overstates reach",
        };
        let Some(run) = &flow.run else {
            return Ok(());
        };
        let settled = if run.settled {
            "settled"
        } else {
            "not settled: read it as a rough picture"
        };
        writeln!(
            to,
            "\nWater ({what}, {} cells, averaged over {:.0} s, {settled})",
            self.value(Measure::Length, run.cell_cm, 1),
            run.averaged_s
        )?;
        if run.computed_on != ComputedOn::default().to_string() {
            writeln!(to, "  computed on          {}", run.computed_on)?;
        }
        if let Some(may_flip_l) = run.may_flip_l {
            writeln!(
                to,
                "  {} runs              go different ways in {}",
                run.runs,
                self.value(Measure::Volume, may_flip_l, 1)
            )?;
        }
        writeln!(
            to,
            "  mean speed           {} ± {}",
            self.number(Measure::Speed, flow.mean_speed_cm_s, 1),
            self.value(Measure::Speed, flow.mean_speed_half_width_cm_s, 1)
        )?;
        writeln!(
            to,
            "  slowest tenth below  {}",
            self.value(Measure::Speed, flow.slowest_tenth_cm_s, 1)
        )?;
        writeln!(
            to,
            "  slower than {}   {} of {} in cells of open water ({:.1} ± {:.1} %)",
            Measure::Speed.text(flow.dead_limit_cm_s, self.units),
            self.value(Measure::Volume, flow.dead_l, 1),
            self.value(Measure::Volume, flow.water_l, 0),
            flow.dead_share * 100.0,
            flow.dead_share_half_width * 100.0
        )?;
        if let Some(account) = &run.account {
            writeln!(to, "  {account}")?;
        }
        if let (Some(bed), Some(detritus), Some(risk)) =
            (flow.bed_m2, flow.detritus_m2, flow.sand_at_risk_m2)
        {
            let area = |m2: f64| self.value(Measure::Area, m2 * 1e4, 0);
            writeln!(
                to,
                "  open bed             {}; waste stays on {}, sand may move on {}",
                area(bed),
                area(detritus),
                area(risk)
            )?;
        }
        Ok(())
    }

    fn light(self, to: &mut String, light: &LightPart) -> std::fmt::Result {
        let what = if light.full {
            "with mirrors and bounces"
        } else {
            "from the lamps alone"
        };
        writeln!(
            to,
            "\nLight ({what}), PPFD in µmol/m²/s on each surface's own facing"
        )?;
        for lamp in &light.lamps {
            writeln!(
                to,
                "  lamp {:14} {:.0} µmol/s, {} h a day",
                lamp.name, lamp.umol_s, lamp.hours
            )?;
        }
        writeln!(
            to,
            "  surface              a tenth below  half below  a tenth above    shaded"
        )?;
        for surface in &light.surfaces {
            writeln!(
                to,
                "  {:20} {:13.0} {:11.0} {:14.0}   {} of {}",
                surface.on,
                surface.ppfd_low_umol,
                surface.ppfd_median_umol,
                surface.ppfd_high_umol,
                self.number(Measure::Area, surface.shaded_m2 * 1e4, 0),
                self.value(Measure::Area, surface.area_m2 * 1e4, 0)
            )?;
        }
        Ok(())
    }
}

fn write_coral(to: &mut String, coral: &CoralPart) -> std::fmt::Result {
    let name = if coral.name.is_empty() {
        &coral.entry
    } else {
        &coral.name
    };
    let dose = coral
        .dli_mol
        .map_or_else(String::new, |dli| format!(", {dli:.1} mol/m²/d"));
    writeln!(to, "{:4} {name}: {}{dose}", coral.id, coral.verdict)?;
    for strip in &coral.strips {
        writeln!(to, "       {:9} {}", strip.what, strip.text)?;
    }
    Ok(())
}
