//! What a plan says in tables, as a keeper reads it.

use super::table::{Cell, Table};
use super::{BerthList, PlanInput, coral_name};
use crate::advice::{
    self, Aspect, Distance, Finding, Fit, Move, Remedy, RockWeight, Severity, Stance, Verdict,
    WaterCard,
};
use crate::catalog::{Topic, cautions};
use crate::scene::{
    Body, ItemId, Lamp, Layout, Output, Programme, Pump, PumpKind, Rock, Scene, Spread,
};
use crate::study::Study;
use crate::units::{M_PER_CM, Measure, UnitSystem};
use crate::words::{
    Speaker, aspect_word, certainty_word, mount_word, severity_word, verdict_adverb, volume_parts,
};

/// A number with at most one place after the point.
pub(super) fn tenth(value: f64) -> String {
    let rounded = (value * 10.0).round() / 10.0 + 0.0;
    format!("{rounded}")
}

/// A table whose titles name units: `{length}` and the like become the
/// keeper's.
pub(super) fn titled(titles: &[&str], speaker: &Speaker<'_>) -> Table {
    const UNITS: [(&str, Measure); 8] = [
        ("{length}", Measure::Length),
        ("{volume}", Measure::Volume),
        ("{mass}", Measure::Mass),
        ("{flow}", Measure::Flow),
        ("{speed}", Measure::Speed),
        ("{area}", Measure::Area),
        ("{light}", Measure::Ppfd),
        ("{power}", Measure::Power),
    ];
    let titles: Vec<String> = titles
        .iter()
        .map(|title| {
            UNITS
                .iter()
                .fold((*title).to_owned(), |title, (mark, measure)| {
                    title.replace(mark, speaker.unit(*measure))
                })
        })
        .collect();
    let titles: Vec<&str> = titles.iter().map(String::as_str).collect();
    Table::new(&titles)
}

/// A number of a measure with no more digits than it needs.
pub(super) fn bare(measure: Measure, value: f64, speaker: &Speaker<'_>) -> String {
    measure.number(value, speaker.units)
}

pub(super) fn place(at_cm: glam::DVec3, speaker: &Speaker<'_>) -> String {
    let number = |value: f64| bare(Measure::Length, value, speaker);
    format!(
        "{}, {}, {}",
        number(at_cm.x),
        number(at_cm.y),
        number(at_cm.z)
    )
}

fn degrees(value: f64) -> String {
    format!("{}°", tenth(value))
}

/// Rocks, where they stand and what they weigh.
pub(super) fn rocks(layout: &Layout, speaker: &Speaker<'_>) -> Table {
    let titles = [
        "key",
        "rock",
        "origin x, y, z {length}",
        "#turned",
        "#leaning",
        "#dry {mass}",
        "#in water {mass}",
        "glued to",
    ];
    let mut table = titled(&titles, speaker);
    let weights = advice::rock_weights(layout);
    for rock in &layout.rocks {
        let own = weights.iter().find(|weight| weight.id == rock.id);
        let mass = |of: fn(&RockWeight) -> f64| {
            own.map_or_else(String::new, |own| speaker.number(Measure::Mass, of(own), 1))
        };
        table.row([
            rock.id.to_string(),
            speaker.bare_name(rock.id),
            place(rock.at_cm, speaker),
            degrees(rock.turn_deg),
            degrees(rock.tilt_deg),
            mass(|own| own.dry_kg),
            mass(|own| own.wet_kg),
            bonded_with(layout, rock, speaker),
        ]);
    }
    table
}

fn bonded_with(layout: &Layout, rock: &Rock, speaker: &Speaker<'_>) -> String {
    let others = layout.rocks.iter().filter(|other| {
        other.id != rock.id && rock.bonded.is_some() && other.bonded == rock.bonded
    });
    let ids: Vec<ItemId> = others.map(|other| other.id).collect();
    speaker.bare_names(&ids)
}

/// Pumps and returns.
pub(super) fn pumps(scene: &Scene, layout: &Layout, speaker: &Speaker<'_>) -> Table {
    let titles = [
        "key",
        "pump",
        "outlet at x, y, z {length}",
        "#aimed about the vertical",
        "#upward",
        "#{flow} as set",
        "#outlet {length}",
        "runs",
        "#W",
    ];
    let mut table = titled(&titles, speaker);
    let length = |cm: f64| bare(Measure::Length, cm, speaker);
    let flow = |lph: f64| speaker.number(Measure::Flow, lph, 0);
    for pump in &layout.pumps {
        table.row([
            pump.id.to_string(),
            pump_word(pump, speaker),
            place(pump.at_cm, speaker),
            degrees(pump.turn_deg),
            degrees(pump.tilt_deg),
            flow(pump.flow_lph * pump.throttle),
            length(pump.outlet_cm),
            programme(pump.programme),
            pump.power_w.map_or_else(|| "not given".to_owned(), tenth),
        ]);
    }
    for nozzle in &scene.tank.returns {
        table.row([
            String::new(),
            "return".to_owned(),
            place(nozzle.at_cm, speaker),
            degrees(nozzle.turn_deg),
            degrees(nozzle.tilt_deg),
            flow(nozzle.flow_lph),
            length(nozzle.outlet_cm),
            "steadily".to_owned(),
            String::new(),
        ]);
    }
    table
}

fn pump_word(pump: &Pump, speaker: &Speaker<'_>) -> String {
    let kind = match pump.kind {
        PumpKind::Propeller => "propeller".to_owned(),
        PumpKind::CrossFlow { length_cm } => {
            format!(
                "cross-flow, {}",
                Measure::Length.text(length_cm, speaker.units)
            )
        }
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
    let speaker = &input.speaker();
    let mut table = titled(
        &[
            "key",
            "lamp",
            "face at x, y, z {length}",
            "#turned",
            "#leaning",
            "face",
            "beam",
            "light",
            "hours a day",
        ],
        speaker,
    );
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
            place(lamp.at_cm, speaker),
            degrees(lamp.turn_deg),
            degrees(lamp.tilt_deg),
            face(lamp.body, speaker),
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

fn face(body: Body, speaker: &Speaker<'_>) -> String {
    let number = |cm: f64| bare(Measure::Length, cm, speaker);
    let length = |cm: f64| Measure::Length.text(cm, speaker.units);
    match body {
        Body::Panel {
            length_cm,
            width_cm,
        } => format!("{} × {}", number(length_cm), length(width_cm)),
        Body::Disc { diameter_cm } => format!("{} across", length(diameter_cm)),
        Body::Tube { length_cm } => format!("tube of {}", length(length_cm)),
    }
}

/// The stock: what lives where, how it is held, what it gets and wants.
pub(super) fn corals(input: &PlanInput<'_>) -> Table {
    let layout = input.advice.layout;
    let speaker = input.speaker();
    let rows = advice::stock_list(input.advice.study);
    let mut table = titled(
        &[
            "key",
            "coral",
            "genus",
            "place",
            "on",
            "held by",
            "base x, y, z {length}",
            "size {length}",
            "light, {light}",
            "flow, {speed}",
            "sits",
            "since, note",
        ],
        &speaker,
    );
    for (coral, row) in layout.corals.iter().zip(rows) {
        let fit = advice::fit(input.advice, coral);
        let strip = |what| strip_of(fit.as_ref(), what, &speaker);
        let verdict = fit.as_ref().map_or_else(String::new, sits);
        let is_off = fit.as_ref().is_some_and(|fit| fit.verdict <= Verdict::Poor);
        let note = [row.since.as_str(), row.note.as_str()].join(" ");
        let size = row
            .size_cm
            .map(|cm| bare(Measure::Length, cm, &speaker))
            .join(" × ");
        table.row([
            Cell::from(coral.id.to_string()),
            coral_name(input.advice.catalog, coral).into(),
            row.genus.into(),
            speaker.place(&row.place).into(),
            speaker.support(row.on).into(),
            mount_word(row.mount).into(),
            place(coral.at_cm, &speaker).into(),
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
        .map(|strip| aspect_word(strip.what).to_owned())
        .collect();
    let word = verdict_adverb(fit.verdict);
    if why.is_empty() {
        word.to_owned()
    } else {
        format!("{word}: {}", why.join(", "))
    }
}

/// Value and range of one aspect, as "74, wants 40 to 120", in the keeper's
/// units.
fn strip_of(fit: Option<&Fit>, what: Aspect, speaker: &Speaker<'_>) -> Cell {
    let strip = fit.and_then(|fit| fit.strips.iter().find(|strip| strip.what == what));
    let Some(strip) = strip else {
        return "".into();
    };
    let number = |value: f64| bare(strip.figure.measure(), value, speaker);
    let range = if strip.high.is_finite() {
        format!("{} to {}", number(strip.low), number(strip.high))
    } else {
        format!("{} or more", number(strip.low))
    };
    let text = match strip.value {
        Some(value) => format!("{}, wants {range}", number(value)),
        None => format!("wants {range}"),
    };
    Cell::marked(text, strip.verdict <= Verdict::Poor)
}

/// What was noticed, worst first, numbered as on the sheets.
pub(super) fn findings(findings: &[Finding], speaker: &Speaker<'_>) -> Table {
    let mut table = titled(
        &[
            "#no.",
            "how bad",
            "how sure",
            "what",
            "around x, y, z {length}",
            "what can be done",
        ],
        speaker,
    );
    for (idx, finding) in findings.iter().enumerate() {
        let is_serious = finding.severity == Severity::Serious;
        // Choosing an item is for the screen.
        let useful = finding
            .remedies
            .iter()
            .filter(|remedy| !matches!(remedy, Remedy::Select(_)));
        let remedies: Vec<String> = useful.map(|remedy| speaker.remedy(remedy)).collect();
        let at_cm = finding.place.at_cm.round();
        table.row([
            Cell::from((idx + 1).to_string()),
            Cell::marked(severity_word(finding.severity), is_serious),
            certainty_word(finding.certainty).into(),
            speaker.finding(finding).into(),
            place(at_cm, speaker).into(),
            remedies.join("; ").into(),
        ]);
    }
    table
}

/// Places kept in mind for an entry.
pub(super) fn berths(list: &BerthList<'_>, speaker: &Speaker<'_>) -> Table {
    let mut table = titled(
        &[
            "#no.",
            "place",
            "x, y, z {length}",
            "held by",
            "would sit",
            "light, {light}",
            "flow, {speed}",
            "besides",
        ],
        speaker,
    );
    for (idx, berth) in list.berths.iter().enumerate() {
        let fit = Some(&berth.fit);
        table.row([
            Cell::from((idx + 1).to_string()),
            speaker.seat(berth.on, &berth.place).into(),
            place(berth.at_m * 100.0, speaker).into(),
            mount_word(berth.mount).into(),
            verdict_adverb(berth.fit.verdict).into(),
            strip_of(fit, Aspect::Light, speaker),
            strip_of(fit, Aspect::Flow, speaker),
            berth.notes.join(" ").into(),
        ]);
    }
    table
}

/// Steps from one layout to another, to tick off.
pub(super) fn moves(moves: &[Move], speaker: &Speaker<'_>) -> Table {
    let mut table = Table::new(&["#step", "done", "key", "what to do"]);
    for (idx, step) in moves.iter().enumerate() {
        let keys: Vec<String> = step.items.iter().map(ToString::to_string).collect();
        let number = (idx + 1).to_string();
        table.row([number, "□".to_owned(), keys.join(", "), speaker.step(step)]);
    }
    table
}

/// How each rock or bonded group stands.
pub(super) fn standing(study: &Study, speaker: &Speaker<'_>) -> Table {
    let mut table = titled(
        &[
            "rock",
            "build it so?",
            "why",
            "#volume {volume}",
            "#dry {mass}",
            "#in water {mass}",
            "#carries {mass}",
            "#center inside support {length}",
            "#tips at",
            "#sand dug away {length}",
            "#overhang",
            "#nearest glass {length}",
        ],
        speaker,
    );
    let mass = |kg: f64| speaker.number(Measure::Mass, kg, 1);
    for (body, stance, why) in advice::stances(study) {
        let margin = |m: f64| {
            if m.is_finite() {
                bare(Measure::Length, m * 100.0, speaker)
            } else {
                "nothing under it".to_owned()
            }
        };
        let glass_m = body.clear_m.into_iter().fold(f64::INFINITY, f64::min);
        table.row([
            Cell::from(speaker.bare_names(&body.rocks)),
            Cell::marked(stance.word(), stance != Stance::Safe),
            advice::stance_reason(why).into(),
            bare(Measure::Volume, body.volume_m3 * 1000.0, speaker).into(),
            mass(body.dry_kg).into(),
            mass(body.wet_kg).into(),
            mass(body.carried_kg).into(),
            Cell::marked(margin(body.margin_m), body.margin_m < 0.0),
            format!("{:.0}°", body.tipping_deg).into(),
            Cell::marked(margin(body.dug_margin_m), body.dug_margin_m < 0.0),
            format!("{:.0} %", body.overhang_share * 100.0).into(),
            bare(Measure::Length, glass_m * 100.0, speaker).into(),
        ]);
    }
    table
}

/// Distances that will not do.
pub(super) fn distances(distances: &[Distance], speaker: &Speaker<'_>) -> Table {
    let mut table = Table::new(&["distance", "#is", "#wanted"]);
    for distance in distances.iter().filter(|distance| !distance.is_good()) {
        let is = speaker.value(Measure::Length, distance.distance_m / M_PER_CM, 1);
        table.row([
            Cell::from(speaker.between(distance)),
            Cell::marked(is, true),
            Cell::from(speaker.wanted(distance)),
        ]);
    }
    table
}

/// Water, mass, turnover and power.
pub(super) fn water(card: &WaterCard, speaker: &Speaker<'_>) -> Table {
    let mut rows: Vec<[String; 3]> = Vec::new();
    let mut row = |what: &str, measure: Measure, value: f64, decimals: usize| {
        let value = speaker.number(measure, value, decimals);
        rows.push([what.to_owned(), value, speaker.unit(measure).to_owned()]);
    };
    for (part, liters) in volume_parts(&card.volumes) {
        row(part, Measure::Volume, liters, 1);
    }
    row(
        "together: length × width × water height",
        Measure::Volume,
        card.gross_l,
        1,
    );
    row("net water, for dosing", Measure::Volume, card.net_l, 1);
    row("dry rock", Measure::Mass, card.rock_kg, 1);
    row("dry sand", Measure::Mass, card.sand_kg, 1);
    row(
        "water, rock and sand, without glass and stand",
        Measure::Mass,
        card.total_kg,
        0,
    );
    row(
        "the same on the tank's footprint",
        Measure::Load,
        card.load_kg_m2,
        0,
    );
    for (id, per_h) in &card.turnover {
        let name = speaker.bare_name(*id);
        row(&format!("turnover of {name}"), Measure::PerHour, *per_h, 1);
    }
    row(
        "turnover of all pumps",
        Measure::PerHour,
        card.turnover_per_h,
        1,
    );
    row(
        "turnover of the returns",
        Measure::PerHour,
        card.return_per_h,
        1,
    );
    row(
        "pumps, nearly all of it heat",
        Measure::Power,
        card.pump_w,
        0,
    );
    row("lamps", Measure::Power, card.lamp_w, 0);
    row("a day", Measure::Energy, card.kwh_per_day, 1);
    if card.unknown > 0 {
        let unknown = card.unknown as f64;
        row(
            "pumps and lamps whose power is not given",
            Measure::Count,
            unknown,
            0,
        );
    }
    in_halves(&rows)
}

/// Rows of name, value and unit in two halves beside each other.
fn in_halves(rows: &[[String; 3]]) -> Table {
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
pub(super) fn cautions_table(units: UnitSystem) -> Table {
    let mut table = Table::new(&["about", "caution"]);
    for caution in cautions() {
        table.row([topic(caution.topic), caution.text_in(units)]);
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
