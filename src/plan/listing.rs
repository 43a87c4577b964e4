//! What a plan says in tables, as a keeper reads it.

use super::table::{Cell, Table};
use super::{BerthList, PlanInput, coral_name};
use crate::advice::{
    self, Aspect, Comparison, Finding, Fit, Move, Outcome, Remedy, Severity, Standing, Strip,
    Verdict, WaterCard,
};
use crate::catalog::{Topic, cautions};
use crate::scene::{Body, Lamp, Layout, Output, Programme, Pump, PumpKind, Rock, Scene, Spread};
use crate::study::Study;

/// A number with at most one place after the point.
pub(super) fn tenth(value: f64) -> String {
    let rounded = (value * 10.0).round() / 10.0 + 0.0;
    format!("{rounded}")
}

fn place(at_cm: glam::DVec3) -> String {
    format!("{}, {}, {}", tenth(at_cm.x), tenth(at_cm.y), tenth(at_cm.z))
}

fn degrees(value: f64) -> String {
    format!("{}°", tenth(value))
}

/// Rocks, where they stand and what they weigh.
pub(super) fn rocks(study: &Study) -> Table {
    let (layout, bodies) = (study.layout(), advice::standing(study));
    let mut table = Table::new(&[
        "key",
        "rock",
        "origin x, y, z cm",
        "#turned",
        "#leaning",
        "#dry kg",
        "#in water kg",
        "bonded with",
    ]);
    for rock in &layout.rocks {
        let body = bodies.iter().find(|body| body.rocks.contains(&rock.id));
        let is_first = body.is_some_and(|body| body.rocks.first() == Some(&rock.id));
        let weight = |of: fn(&Standing) -> f64| match body {
            Some(body) if is_first => format!("{:.1}", of(body)),
            _ => "with it".to_owned(),
        };
        table.row([
            rock.id.to_string(),
            rock_word(rock),
            place(rock.at_cm),
            degrees(rock.turn_deg),
            degrees(rock.tilt_deg),
            weight(|body| body.dry_kg),
            weight(|body| body.wet_kg),
            bonded_with(layout, rock),
        ]);
    }
    table
}

fn rock_word(rock: &Rock) -> String {
    if rock.name.is_empty() {
        format!("rock {}", rock.id)
    } else {
        rock.name.clone()
    }
}

fn bonded_with(layout: &Layout, rock: &Rock) -> String {
    let others = layout.rocks.iter().filter(|other| {
        other.id != rock.id && rock.bonded.is_some() && other.bonded == rock.bonded
    });
    others.map(rock_word).collect::<Vec<_>>().join(", ")
}

/// Pumps and returns.
pub(super) fn pumps(scene: &Scene, layout: &Layout) -> Table {
    let mut table = Table::new(&[
        "key",
        "pump",
        "outlet at x, y, z cm",
        "#aimed about the vertical",
        "#upwards",
        "#L/h as set",
        "#outlet cm",
        "runs",
        "#W",
    ]);
    for pump in &layout.pumps {
        table.row([
            pump.id.to_string(),
            pump_word(pump),
            place(pump.at_cm),
            degrees(pump.turn_deg),
            degrees(pump.tilt_deg),
            format!("{:.0}", pump.flow_lph * pump.throttle),
            tenth(pump.outlet_cm),
            programme(pump.programme),
            pump.power_w.map_or_else(|| "not given".to_owned(), tenth),
        ]);
    }
    for nozzle in &scene.tank.returns {
        table.row([
            String::new(),
            "return".to_owned(),
            place(nozzle.at_cm),
            degrees(nozzle.turn_deg),
            degrees(nozzle.tilt_deg),
            format!("{:.0}", nozzle.flow_lph),
            tenth(nozzle.outlet_cm),
            "steadily".to_owned(),
            String::new(),
        ]);
    }
    table
}

fn pump_word(pump: &Pump) -> String {
    let kind = match pump.kind {
        PumpKind::Propeller => "propeller".to_owned(),
        PumpKind::CrossFlow { length_cm } => format!("cross-flow, {} cm", tenth(length_cm)),
        PumpKind::Nozzle => "nozzle".to_owned(),
    };
    if pump.name.is_empty() {
        kind
    } else {
        format!("{} ({kind})", pump.name)
    }
}

fn programme(programme: Programme) -> String {
    match programme {
        Programme::Steady => "steadily".to_owned(),
        Programme::Pulse { period_s, share } => {
            format!("{:.0} % of every {} s", share * 100.0, tenth(period_s))
        }
        Programme::Alternate {
            set,
            period_s,
            turn,
            of,
        } => format!(
            "turn {} of {of} in set {set}, every {} s",
            turn + 1,
            tenth(period_s)
        ),
    }
}

/// Lamps.
pub(super) fn lamps(input: &PlanInput<'_>) -> Table {
    let mut table = Table::new(&[
        "key",
        "lamp",
        "face at x, y, z cm",
        "#turned",
        "#leaning",
        "face",
        "beam",
        "light",
        "hours a day",
    ]);
    let outputs = input.solver.map(|solver| solver.outputs_umol_s());
    for (idx, lamp) in input.advice.layout.lamps.iter().enumerate() {
        let output = outputs.and_then(|outputs| outputs.get(idx));
        let light = match output {
            Some(umol_s) => format!("{umol_s:.0} µmol/s as set"),
            None => given_output(lamp),
        };
        table.row([
            lamp.id.to_string(),
            lamp.name.clone(),
            place(lamp.at_cm),
            degrees(lamp.turn_deg),
            degrees(lamp.tilt_deg),
            face(lamp.body),
            match &lamp.spread {
                Spread::Beam { full_angle_deg } => format!("{}°", tenth(*full_angle_deg)),
                Spread::Measured { file, .. } => format!("as measured ({file})"),
            },
            light,
            format!(
                "{}, {} of them ramping",
                tenth(lamp.day.hours),
                tenth(2.0 * lamp.day.ramp_hours)
            ),
        ]);
    }
    table
}

fn given_output(lamp: &Lamp) -> String {
    match lamp.output {
        Output::Photons { umol_s } => format!("{:.0} µmol/s as set", umol_s * lamp.dim),
        Output::Power { power_w, .. } => format!("{:.0} W as set", power_w * lamp.dim),
        Output::Reading { ppfd_umol, .. } => format!("from a reading of {ppfd_umol:.0}"),
    }
}

fn face(body: Body) -> String {
    match body {
        Body::Panel {
            length_cm,
            width_cm,
        } => format!("{} × {} cm", tenth(length_cm), tenth(width_cm)),
        Body::Disc { diameter_cm } => format!("{} cm across", tenth(diameter_cm)),
        Body::Tube { length_cm } => format!("tube of {} cm", tenth(length_cm)),
    }
}

/// The stock: what lives where, how it is held, what it gets and wants.
pub(super) fn corals(input: &PlanInput<'_>) -> Table {
    let layout = input.advice.layout;
    let rows = advice::stock_list(input.advice.study);
    let mut table = Table::new(&[
        "key",
        "coral",
        "genus",
        "place",
        "on",
        "held by",
        "base x, y, z cm",
        "size cm",
        "light, µmol/m²/s",
        "flow, cm/s",
        "sits",
        "since, note",
    ]);
    for (coral, row) in layout.corals.iter().zip(rows) {
        let fit = advice::fit(input.advice, coral);
        let strip = |what| strip_of(fit.as_ref(), what);
        let verdict = fit.as_ref().map_or_else(String::new, sits);
        let is_off = fit.as_ref().is_some_and(|fit| fit.verdict <= Verdict::Poor);
        let note = [row.since.as_str(), row.note.as_str()].join(" ");
        let size = row.size_cm.map(tenth).join(" × ");
        table.row([
            Cell::from(coral.id.to_string()),
            coral_name(input.advice.catalog, coral).into(),
            row.genus.into(),
            row.place.into(),
            row.on.into(),
            row.mount.into(),
            place(coral.at_cm).into(),
            size.into(),
            strip(Aspect::Light),
            strip(Aspect::Flow),
            Cell::marked(verdict, is_off),
            note.trim().to_owned().into(),
        ]);
    }
    table
}

/// The verdict, with what makes it poor.
fn sits(fit: &Fit) -> String {
    let poor = fit
        .strips
        .iter()
        .filter(|strip| strip.verdict <= Verdict::Poor);
    let why: Vec<String> = poor
        .map(|strip| format!("{:?}", strip.what).to_lowercase())
        .collect();
    let word = verdict_word(fit.verdict);
    if why.is_empty() {
        word.to_owned()
    } else {
        format!("{word}: {}", why.join(", "))
    }
}

/// Value and range of one aspect, as "74, wants 40 to 120", in the unit that
/// advice gives it: µmol/m²/s for light, cm/s for flow.
fn strip_of(fit: Option<&Fit>, what: Aspect) -> Cell {
    let strip = fit.and_then(|fit| fit.strips.iter().find(|strip| strip.what == what));
    let Some(strip) = strip else {
        return "".into();
    };
    let range = if strip.high.is_finite() {
        format!("{} to {}", tenth(strip.low), tenth(strip.high))
    } else {
        format!("{} or more", tenth(strip.low))
    };
    let text = match strip.value {
        Some(value) => format!("{}, wants {range}", round_value(strip, value)),
        None => format!("wants {range}"),
    };
    Cell::marked(text, strip.verdict <= Verdict::Poor)
}

fn round_value(strip: &Strip, value: f64) -> String {
    if strip.optimum >= 20.0 {
        format!("{value:.0}")
    } else {
        tenth(value)
    }
}

fn verdict_word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Bad => "badly",
        Verdict::Poor => "poorly",
        Verdict::Fair => "fairly",
        Verdict::Good => "well",
        Verdict::Unknown => "not known",
    }
}

/// What was noticed, worst first, numbered as on the sheets.
pub(super) fn findings(findings: &[Finding]) -> Table {
    let mut table = Table::new(&[
        "#no.",
        "how bad",
        "how sure",
        "what",
        "around x, y, z cm",
        "what can be done",
    ]);
    for (idx, finding) in findings.iter().enumerate() {
        let is_serious = finding.severity == Severity::Serious;
        let mut remedies: Vec<&str> = finding.remedies.iter().filter_map(remedy).collect();
        remedies.dedup();
        let at_cm = (finding.at_m * 100.0).round();
        table.row([
            Cell::from((idx + 1).to_string()),
            Cell::marked(finding.severity.word(), is_serious),
            finding.certainty.word().into(),
            finding.text.clone().into(),
            place(at_cm).into(),
            remedies.join("; ").into(),
        ]);
    }
    table
}

fn remedy(remedy: &Remedy) -> Option<&'static str> {
    match remedy {
        Remedy::ProposePump => Some("look for a place for one more pump"),
        Remedy::AddPump(_) => Some("add the proposed pump"),
        Remedy::ShowBerths(_) => Some("look for a better place"),
        Remedy::ListCandidates => Some("see what could live there"),
        // Choosing an item is for the screen.
        Remedy::Select(_) => None,
    }
}

/// Places kept in mind for an entry.
pub(super) fn berths(list: &BerthList<'_>) -> Table {
    let mut table = Table::new(&[
        "#no.",
        "place",
        "x, y, z cm",
        "held by",
        "would sit",
        "light, µmol/m²/s",
        "flow, cm/s",
        "besides",
    ]);
    for (idx, berth) in list.berths.iter().enumerate() {
        let fit = Some(&berth.fit);
        table.row([
            Cell::from((idx + 1).to_string()),
            berth.place.clone().into(),
            place(berth.at_m * 100.0).into(),
            berth.mount.tag().into(),
            verdict_word(berth.fit.verdict).into(),
            strip_of(fit, Aspect::Light),
            strip_of(fit, Aspect::Flow),
            berth.notes.join(" ").into(),
        ]);
    }
    table
}

/// Steps from one layout to another, to tick off.
pub(super) fn moves(moves: &[Move]) -> Table {
    let mut table = Table::new(&["#step", "done", "key", "what to do"]);
    for (idx, step) in moves.iter().enumerate() {
        let keys: Vec<String> = step.items.iter().map(ToString::to_string).collect();
        let number = (idx + 1).to_string();
        table.row([number, "□".to_owned(), keys.join(", "), step.text.clone()]);
    }
    table
}

/// How each rock or bonded group stands.
pub(super) fn standing(bodies: &[Standing]) -> Table {
    let mut table = Table::new(&[
        "rock",
        "#volume L",
        "#dry kg",
        "#in water kg",
        "#carries kg",
        "#center inside support cm",
        "#tips at",
        "#sand dug away cm",
        "#overhang",
        "#nearest glass cm",
    ]);
    for body in bodies {
        let margin = |m: f64| {
            if m.is_finite() {
                tenth(m * 100.0)
            } else {
                "nothing under it".to_owned()
            }
        };
        let glass_m = body.clear_m.into_iter().fold(f64::INFINITY, f64::min);
        table.row([
            Cell::from(body.name.clone()),
            tenth(body.volume_m3 * 1000.0).into(),
            tenth(body.dry_kg).into(),
            tenth(body.wet_kg).into(),
            tenth(body.carried_kg).into(),
            Cell::marked(margin(body.margin_m), body.margin_m < 0.0),
            format!("{:.0}°", body.tipping_deg).into(),
            Cell::marked(margin(body.dug_margin_m), body.dug_margin_m < 0.0),
            format!("{:.0} %", body.overhang_share * 100.0).into(),
            tenth(glass_m * 100.0).into(),
        ]);
    }
    table
}

/// Water, mass, turnover and power.
pub(super) fn water(card: &WaterCard) -> Table {
    let mut rows: Vec<[String; 3]> = Vec::new();
    let mut row = |what: &str, value: f64, unit: &str| {
        rows.push([what.to_owned(), tenth(value), unit.to_owned()]);
    };
    row("length × width × water height", card.gross_l.round(), "L");
    row("displaced by rock, its pores flooded", card.rock_l, "L");
    row("displaced by sand grains", card.sand_l, "L");
    row("net water, the figure for dosing", card.net_l.round(), "L");
    row("dry rock", card.rock_kg, "kg");
    row("dry sand", card.sand_kg, "kg");
    row(
        "water, rock and sand, without glass and stand",
        card.total_kg.round(),
        "kg",
    );
    row(
        "the same on the tank's footprint",
        card.load_kg_m2.round(),
        "kg/m²",
    );
    for (name, per_h) in &card.turnover {
        row(&format!("turnover of {name}"), *per_h, "1/h");
    }
    row("turnover of all pumps", card.turnover_per_h, "1/h");
    row("turnover of the returns", card.return_per_h, "1/h");
    row("pumps, nearly all of it heat", card.pump_w, "W");
    row("lamps", card.lamp_w, "W");
    row("a day", card.kwh_per_day, "kWh");
    if card.unknown > 0 {
        row(
            "pumps and lamps whose power is not given",
            card.unknown as f64,
            "",
        );
    }
    // In two halves beside each other.
    let half = rows.len().div_ceil(2);
    let (left, right) = rows.split_at(half);
    let mut table = Table::new(&[
        "water and mass",
        "#value",
        "unit",
        "water, mass and power",
        "#value",
        "unit",
    ]);
    let none = || [const { String::new() }; 3];
    for (idx, one) in left.iter().enumerate() {
        let other = right.get(idx).cloned().unwrap_or_else(none);
        table.row(one.iter().chain(&other).cloned());
    }
    table
}

/// Cautions for people and animals.
pub(super) fn cautions_table() -> Table {
    let mut table = Table::new(&["about", "caution"]);
    for caution in cautions() {
        table.row([topic(caution.topic), caution.text.as_str()]);
    }
    table
}

fn topic(topic: Topic) -> &'static str {
    match topic {
        Topic::Electricity => "electricity",
        Topic::Weight => "weight and floor",
        Topic::Rock => "rock that falls",
        Topic::Palytoxin => "palytoxin",
        Topic::Cuts => "cuts",
        Topic::Glue => "glue and mortar",
        Topic::Medicine => "medicine",
        Topic::Lamps => "lamps",
        Topic::Flooding => "flooding",
        Topic::Animals => "animals",
    }
}

/// Figures of two layouts, with which is better.
pub(super) fn figures(comparison: &Comparison) -> Table {
    let mut table = Table::new(&["figure", "#A", "#B", "unit", "#sure to within", "better"]);
    for row in &comparison.rows {
        let value = |value: Option<f64>| value.map_or_else(|| "–".to_owned(), tenth);
        let better = match row.outcome {
            Outcome::First => "A",
            Outcome::Second => "B",
            Outcome::Tie => "a tie",
            Outcome::Differs => "as you like",
            Outcome::Unknown => "not known",
        };
        table.row([
            row.name.to_owned(),
            value(row.first),
            value(row.second),
            row.unit.to_owned(),
            tenth(row.uncertainty),
            better.to_owned(),
        ]);
    }
    table
}

/// What becomes of each coral.
pub(super) fn fates(comparison: &Comparison) -> Table {
    let mut table = Table::new(&[
        "key",
        "coral",
        "sits in A",
        "sits in B",
        "why",
        "getting used to the light",
    ]);
    for fate in &comparison.corals {
        let word = |verdict: Option<Verdict>| verdict.map_or("not there", verdict_word);
        let is_off = fate.after.is_some_and(|verdict| verdict <= Verdict::Poor);
        let light = fate.acclimation.as_ref().map(|plan| plan.text.clone());
        table.row([
            Cell::from(fate.id.to_string()),
            fate.name.clone().into(),
            word(fate.before).into(),
            Cell::marked(word(fate.after), is_off),
            fate.causes.join(" ").into(),
            light.unwrap_or_default().into(),
        ]);
    }
    table
}
