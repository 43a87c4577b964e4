//! Tables as CSV, one for each list that a command gives.

use super::answer::{Answer, Solved};
use super::solve::Case;
use crate::advice::{self, Comparison, Move, Verdict, csv_field, stock_list};
use crate::units::UnitSystem;
use crate::words::{Speaker, stock_csv};

/// A table under construction.
struct Csv(String);

impl Csv {
    fn new(head: &str) -> Self {
        Self(format!("{head}\n"))
    }

    fn row(&mut self, cells: &[String]) {
        let cells: Vec<String> = cells.iter().map(|cell| csv_field(cell)).collect();
        self.0.push_str(&cells.join(","));
        self.0.push('\n');
    }
}

fn number(value: Option<f64>) -> String {
    value.map_or_else(String::new, |value| format!("{value:.3}"))
}

/// All tables of a report, with their file names.
pub(super) fn of_report(
    case: &Case,
    solved: &Solved,
    answer: &Answer,
) -> Vec<(&'static str, String)> {
    let stock = stock_list(&case.study);
    let mut tables = vec![
        ("findings.csv", findings(answer)),
        ("corals.csv", corals(answer)),
        (
            "stock.csv",
            stock_csv(&stock, &case.speaker(UnitSystem::Metric)),
        ),
        ("standing.csv", standing(case)),
        ("water.csv", water(case)),
    ];
    if solved.lit.is_some() {
        tables.push(("light.csv", light(answer)));
    }
    tables
}

/// All tables of a comparison, with their file names.
pub(super) fn of_comparison(
    comparison: &Comparison,
    moves: &[Move],
    speaker: &Speaker<'_>,
) -> Vec<(&'static str, String)> {
    vec![
        ("figures.csv", figures(comparison)),
        ("fates.csv", fates(comparison, speaker)),
        ("moves.csv", moves_table(moves, speaker)),
    ]
}

fn findings(answer: &Answer) -> String {
    let mut csv = Csv::new("kind,severity,certainty,x_cm,y_cm,z_cm,item,text");
    for finding in &answer.findings {
        let [x, y, z] = finding.at_cm.map(|v| v.to_string());
        let item = finding.item.map_or_else(String::new, |id| id.to_string());
        csv.row(&[
            finding.kind.to_owned(),
            finding.severity.to_owned(),
            finding.certainty.to_owned(),
            x,
            y,
            z,
            item,
            finding.text.clone(),
        ]);
    }
    csv.0
}

fn corals(answer: &Answer) -> String {
    let mut csv = Csv::new(
        "id,entry,name,x_cm,y_cm,z_cm,verdict,dli_mol,aspect,value,low,optimum,high,unit,aspect_verdict",
    );
    for coral in &answer.corals {
        let [x, y, z] = coral.at_cm.map(|v| v.to_string());
        for strip in &coral.strips {
            csv.row(&[
                coral.id.to_string(),
                coral.entry.clone(),
                coral.name.clone(),
                x.clone(),
                y.clone(),
                z.clone(),
                coral.verdict.to_owned(),
                number(coral.dli_mol),
                strip.what.to_owned(),
                number(strip.value),
                strip.low.to_string(),
                strip.optimum.to_string(),
                number(strip.high),
                strip.unit.to_owned(),
                strip.verdict.to_owned(),
            ]);
        }
    }
    csv.0
}

fn light(answer: &Answer) -> String {
    let mut csv =
        Csv::new("on,rock,area_m2,ppfd_low_umol,ppfd_median_umol,ppfd_high_umol,shaded_m2");
    for surface in answer.light.iter().flat_map(|light| &light.surfaces) {
        csv.row(&[
            surface.on.clone(),
            surface.rock.map_or_else(String::new, |id| id.to_string()),
            format!("{:.4}", surface.area_m2),
            number(Some(surface.ppfd_low_umol)),
            number(Some(surface.ppfd_median_umol)),
            number(Some(surface.ppfd_high_umol)),
            format!("{:.4}", surface.shaded_m2),
        ]);
    }
    csv.0
}

/// Margins are empty where nothing carries the rock.
fn standing(case: &Case) -> String {
    let mut csv = Csv::new(
        "rocks,name,volume_l,dry_kg,wet_kg,carried_kg,x_cm,y_cm,z_cm,margin_cm,tipping_deg,dug_margin_cm,overhang_share,left_cm,right_cm,front_cm,back_cm,pane_cm2,verdict,reason",
    );
    let speaker = case.speaker(UnitSystem::Metric);
    for (body, how, why) in advice::stances(&case.study) {
        let ids: Vec<String> = body.rocks.iter().map(ToString::to_string).collect();
        let mut cells = vec![ids.join(" "), speaker.bare_names(&body.rocks)];
        let center_cm = body.center_m * 100.0;
        let [left, right, front, back] = body.clear_m.map(|m| m * 100.0);
        let numbers = [
            body.volume_m3 * 1000.0,
            body.dry_kg,
            body.wet_kg,
            body.carried_kg,
            center_cm.x,
            center_cm.y,
            center_cm.z,
            body.margin_m * 100.0,
            body.tipping_deg,
            body.dug_margin_m * 100.0,
            body.overhang_share,
            left,
            right,
            front,
            back,
            body.pane_m2 * 1e4,
        ];
        cells.extend(numbers.map(|value| number(value.is_finite().then_some(value))));
        cells.push(how.tag().to_owned());
        cells.push(advice::stance_reason(why).to_owned());
        csv.row(&cells);
    }
    csv.0
}

fn water(case: &Case) -> String {
    let card = advice::water_card(&case.study);
    let mut csv = Csv::new("name,value,unit");
    let mut row = |name: &str, value: f64, unit: &str| {
        csv.row(&[name.to_owned(), number(Some(value)), unit.to_owned()]);
    };
    row("gross", card.gross_l, "L");
    row("open water", card.volumes.open_l, "L");
    row("pores of rock", card.volumes.rock_pores_l, "L");
    row("solid rock", card.volumes.rock_solid_l, "L");
    row("pores of sand", card.volumes.sand_pores_l, "L");
    row("grains of sand", card.volumes.sand_grains_l, "L");
    row("net", card.net_l, "L");
    row("rock, dry", card.rock_kg, "kg");
    row("sand, dry", card.sand_kg, "kg");
    row("total", card.total_kg, "kg");
    row("load", card.load_kg_m2, "kg/m2");
    let speaker = case.speaker(UnitSystem::Metric);
    for (id, per_h) in &card.turnover {
        let name = speaker.bare_name(*id);
        row(&format!("turnover of {name}"), *per_h, "1/h");
    }
    row("turnover", card.turnover_per_h, "1/h");
    row("returns", card.return_per_h, "1/h");
    row("pumps", card.pump_w, "W");
    row("lamps", card.lamp_w, "W");
    row("power not given", card.unknown as f64, "items");
    row("energy", card.kwh_per_day, "kWh/d");
    csv.0
}

fn figures(comparison: &Comparison) -> String {
    let mut csv = Csv::new("name,unit,first,second,uncertainty,better");
    for row in &comparison.rows {
        csv.row(&[
            row.name.to_owned(),
            row.unit.to_owned(),
            number(row.first),
            number(row.second),
            number(Some(row.uncertainty)),
            row.outcome.tag().to_owned(),
        ]);
    }
    csv.0
}

fn fates(comparison: &Comparison, speaker: &Speaker<'_>) -> String {
    let mut csv = Csv::new("id,name,before,after,causes,acclimation");
    for fate in &comparison.corals {
        let verdict = |verdict: Option<Verdict>| verdict.map_or("", Verdict::tag).to_owned();
        let plan = fate
            .acclimation
            .as_ref()
            .map(|plan| speaker.acclimation(plan));
        csv.row(&[
            fate.id.to_string(),
            fate.name.clone(),
            verdict(fate.before),
            verdict(fate.after),
            speaker.fate_causes(fate).join(" "),
            plan.unwrap_or_default(),
        ]);
    }
    csv.0
}

fn moves_table(moves: &[Move], speaker: &Speaker<'_>) -> String {
    let mut csv = Csv::new("step,kind,items,text,dry_kg,wet_kg");
    for (idx, step) in moves.iter().enumerate() {
        let ids: Vec<String> = step.items.iter().map(ToString::to_string).collect();
        csv.row(&[
            (idx + 1).to_string(),
            step.kind.tag().to_owned(),
            ids.join(" "),
            speaker.step(step),
            number(step.dry_kg),
            number(step.wet_kg),
        ]);
    }
    csv.0
}
