//! What stands in a plan, and in which order.

use glam::DVec2;

use super::listed::Made;
use super::table::Block;
use super::wash::WashKind;
use super::{Document, Levels, PlanInput, face, lid, listing, pages, readings, sheet, versus};
use crate::advice::{self, AdviceInput, CoralFate};
use crate::flow::{Estimate, FlowField};
use crate::scene::Scene;
use crate::units::{M_PER_CM, Measure, UnitSystem};
use crate::words::{Speaker, water_account};

/// The plan of one layout.
pub(super) fn plan(input: &PlanInput<'_>) -> Document {
    let (scene, layout) = (input.advice.scene, input.advice.layout);
    let room_mm = pages::sheet_room_mm(input.paper);
    // What lies on the lid while hands are in the water is what is to be built.
    let built = PlanInput {
        advice: match input.way {
            Some(way) if !way.is_from => way.other,
            _ => input.advice,
        },
        ..*input
    };
    let made = Made::new(input.advice.study, input.levels());
    let lengths = match input.units {
        UnitSystem::Metric => "cm",
        UnitSystem::Us => "inches",
    };
    let mut blocks = vec![Block::Sheet(
        format!("plan, dimensions in {lengths}"),
        sheet::plan_sheet(input, &made, room_mm),
    )];
    blocks.extend(washes(input, &made));
    blocks.extend(noticed(input));
    blocks.extend(certainty(input));
    blocks.extend(stock(input));
    if let Some(way) = input.way {
        let (from, to) = if way.is_from {
            (way.other, input.advice)
        } else {
            (input.advice, way.other)
        };
        let fates = advice::compare(from, to).corals;
        blocks.extend(moves((from, to), &fates, input.units));
        let other = Made::new(way.other.study, input.levels());
        let both = if way.is_from {
            [&other, &made]
        } else {
            [&made, &other]
        };
        blocks.push(Block::Sheet(
            format!("once moved to “{}”; red dashes: before", to.layout.name),
            sheet::target_sheet(input, both, room_mm),
        ));
    }
    blocks.extend(weights(input));
    blocks.extend(readings::readings(input));
    blocks.push(Block::Heading("Cautions".to_owned(), true));
    blocks.push(Block::Table(listing::cautions_table(input.units)));
    blocks.extend(lid(&built, room_mm));
    Document {
        title: scene.name.clone(),
        subtitle: subtitle(scene, &format!("layout “{}”", layout.name), input.units),
        stamp: stamp(scene),
        paper: input.paper,
        blocks: noted(blocks, input),
    }
}

/// What is laid on the lid.
fn lid(input: &PlanInput<'_>, room_mm: DVec2) -> Vec<Block> {
    let made = Made::new(input.advice.study, input.levels());
    let scaled = lid::scaled(input, &made, room_mm);
    let mut blocks = vec![Block::Sheet("to lay on the lid".to_owned(), scaled)];
    if input.with_tiles {
        let tiles = lid::tiles(input, &made).into_iter();
        blocks.extend(tiles.map(Block::Page));
    }
    blocks
}

/// Two layouts side by side.
pub(super) fn comparison(first: &PlanInput<'_>, second: &PlanInput<'_>) -> Document {
    let scene = first.advice.scene;
    let names = [&first.advice.layout.name, &second.advice.layout.name];
    let room_mm = pages::sheet_room_mm(first.paper);
    // Cut at the same levels, to be compared.
    let made = [first, second].map(|it| Made::new(it.advice.study, first.levels()));
    let both = [(first, &made[0]), (second, &made[1])];
    let mut blocks = vec![Block::Sheet(
        "A and B".to_owned(),
        sheet::pair_sheet(both, None, room_mm).unwrap_or_default(),
    )];
    for (kind, title) in [
        (WashKind::Flow, "flow in A and B"),
        (WashKind::Light, "light in A and B"),
    ] {
        let drawn = sheet::pair_sheet(both, Some(kind), room_mm);
        blocks.extend(drawn.map(|drawing| Block::Sheet(title.to_owned(), drawing)));
    }
    let compared = advice::compare(first.advice, second.advice);
    let speaker = second.speaker().knowing(first.advice.layout);
    blocks.push(Block::Heading("Figures".to_owned(), true));
    blocks.push(Block::Text(format!(
        "A is “{}”, B is “{}”.",
        names[0], names[1]
    )));
    blocks.push(Block::Table(versus::figures(&compared, &speaker)));
    blocks.push(Block::Aside(
        "A tie is a difference smaller than the figures are sure of. “As you like” is a difference that is neither better nor worse by itself."
            .to_owned(),
    ));
    if !compared.corals.is_empty() {
        blocks.push(Block::Heading(
            "What becomes of each coral".to_owned(),
            true,
        ));
        blocks.push(Block::Table(versus::fates(&compared, &speaker)));
    }
    let both = (first.advice, second.advice);
    blocks.extend(moves(both, &compared.corals, first.units));
    blocks.push(Block::Sheet(
        format!("once moved to “{}”; red dashes: before", names[1]),
        sheet::target_sheet(second, [&made[0], &made[1]], room_mm),
    ));
    blocks.extend(certainty(first));
    blocks.push(Block::Heading("Cautions".to_owned(), true));
    blocks.push(Block::Table(listing::cautions_table(first.units)));
    Document {
        title: scene.name.clone(),
        subtitle: subtitle(
            scene,
            &format!("“{}” (A) and “{}” (B)", names[0], names[1]),
            first.units,
        ),
        stamp: stamp(scene),
        paper: first.paper,
        blocks: noted(blocks, first),
    }
}

fn subtitle(scene: &Scene, what: &str, units: UnitSystem) -> String {
    let tank = &scene.tank;
    let number = |cm: f64| Measure::Length.number(cm, units);
    format!(
        "{what}; tank {} × {} × {} inside",
        number(tank.length_cm),
        number(tank.width_cm),
        Measure::Length.text(tank.height_cm, units)
    )
}

/// Which program, and a number that changes with anything in the scene: two
/// prints with the same number show the same scene.
pub(super) fn stamp(scene: &Scene) -> String {
    // FNV-1a, 64 bits (Fowler, Noll & Vo): short, and the same everywhere.
    const PRIME: u64 = 0x0000_0100_0000_01B3;
    let text = format!("{scene:?}");
    let number = text.bytes().fold(0xCBF2_9CE4_8422_2325_u64, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(PRIME)
    });
    format!(
        "Bommie {} · scene {:08x} · estimates, not measurements: read “How sure this is”",
        env!("CARGO_PKG_VERSION"),
        number >> 32
    )
}

/// Says so if names have letters that the paper's typeface lacks.
fn noted(blocks: Vec<Block>, input: &PlanInput<'_>) -> Vec<Block> {
    let layout = input.advice.layout;
    let mut names = vec![&input.advice.scene.name, &layout.name];
    names.extend(layout.rocks.iter().map(|rock| &rock.name));
    names.extend(layout.pumps.iter().map(|pump| &pump.name));
    names.extend(layout.lamps.iter().map(|lamp| &lamp.name));
    names.extend(
        layout
            .corals
            .iter()
            .flat_map(|coral| [&coral.name, &coral.note]),
    );
    let mut blocks = blocks;
    if names.iter().any(|name| !face::can_show(name)) {
        blocks.push(Block::Aside(
            "Some names have letters that the typeface on paper lacks; they show as boxes there. The HTML plan shows them in full."
                .to_owned(),
        ));
    }
    blocks
}

fn washes(input: &PlanInput<'_>, made: &Made<'_>) -> Vec<Block> {
    let (scene, layout) = (input.advice.scene, input.advice.layout);
    let room_mm = pages::sheet_room_mm(input.paper);
    let levels = input.levels();
    let mut blocks = Vec::new();
    if let Some(field) = input.advice.flow {
        let words = flow_words(input, field);
        let drawing = sheet::wash_sheet(input, made, WashKind::Flow, &words, room_mm);
        blocks.extend(drawing.map(|d| Block::Sheet("flow".to_owned(), d)));
    }
    // Light is looked at where the corals are.
    let n_corals = layout.corals.len() as f64;
    let mean_cm = layout.corals.iter().map(|coral| coral.at_cm.z).sum::<f64>() / n_corals;
    let levels = Levels {
        top_cm: if mean_cm.is_finite() && input.levels.is_none() {
            mean_cm.clamp(scene.tank.sand.depth_cm + 1.0, scene.tank.water_cm - 1.0)
        } else {
            levels.top_cm
        },
        ..levels
    };
    let words = light_words(input);
    let drawing = sheet::wash_sheet(input, &made.cut(levels), WashKind::Light, &words, room_mm);
    blocks.extend(drawing.map(|d| Block::Sheet("light".to_owned(), d)));
    blocks
}

fn flow_words(input: &PlanInput<'_>, field: &FlowField) -> Vec<String> {
    let figures = advice::flow_figures(field, &input.advice.scene.tank, input.advice.options);
    let speed = |m_s: f64, decimals: usize| {
        Measure::Speed.rounded_text(m_s / M_PER_CM, decimals, input.units)
    };
    let bare = |m_s: f64| Measure::Speed.rounded(m_s / M_PER_CM, 1, input.units);
    let volume = |l: f64, decimals: usize| Measure::Volume.rounded(l, decimals, input.units);
    let mut words = vec![
        format!(
            "Mean speed {} ± {}; a tenth of the water is slower than {}.",
            bare(figures.mean_speed_m_s),
            speed(figures.mean_speed_half_width_m_s, 1),
            speed(figures.slowest_tenth_m_s, 1)
        ),
        format!(
            "{} of {} {} are slower than {} ({:.1} ± {:.1} %).",
            volume(figures.dead_l, 1),
            volume(figures.water_l, 0),
            Measure::Volume.shown(input.units).unit,
            speed(input.advice.options.dead_limit_m_s, 1),
            figures.dead_share * 100.0,
            figures.dead_share_half_width * 100.0
        ),
    ];
    if figures.estimate == Estimate::Tank {
        let open_l = advice::water_card(input.advice.study).volumes.open_l;
        words.push(water_account(open_l, figures.water_l, input.units));
    }
    words.push(
        "Red numbers are zones in the list of what was noticed; black ones are keys.".to_owned(),
    );
    words
}

fn light_words(input: &PlanInput<'_>) -> Vec<String> {
    let mut words = vec!["On a level sensor facing up, all lamps as set at full day.".to_owned()];
    if let Some(light) = input.advice.light {
        words.push(if light.full {
            "With mirrors at the panes and light thrown back by rock and sand.".to_owned()
        } else {
            "From the lamps alone, without mirrors and bounces.".to_owned()
        });
    }
    words.push(
        "Red numbers are zones in the list of what was noticed; black ones are keys.".to_owned(),
    );
    words
}

fn noticed(input: &PlanInput<'_>) -> Vec<Block> {
    let mut blocks = vec![Block::Heading(
        "What was noticed, worst first".to_owned(),
        true,
    )];
    blocks.extend(input.notes.iter().map(|note| Block::Aside(note.clone())));
    if input.findings.is_empty() {
        blocks.push(Block::Text("Nothing.".to_owned()));
    } else {
        blocks.push(Block::Table(listing::findings(
            input.findings,
            &input.speaker(),
        )));
    }
    blocks
}

/// Everything with its place: corals, rocks, gear, and places kept in mind.
fn stock(input: &PlanInput<'_>) -> Vec<Block> {
    let (scene, layout) = (input.advice.scene, input.advice.layout);
    let mut blocks = vec![Block::Heading("What stands where".to_owned(), true)];
    blocks.push(Block::Aside(
        "x from the left glass, y from the front glass, z from the inner bottom; turned counter-clockwise seen from above, from the right."
            .to_owned(),
    ));
    if !layout.corals.is_empty() {
        blocks.push(Block::Heading("Corals and their berths".to_owned(), false));
        blocks.push(Block::Table(listing::corals(input)));
    }
    for list in input.berths {
        let title = format!("Places kept in mind for {}", list.entry.label());
        blocks.push(Block::Heading(title, false));
        blocks.push(if list.berths.is_empty() {
            Block::Text("No place in this layout suits it.".to_owned())
        } else {
            Block::Table(listing::berths(list, &input.speaker()))
        });
    }
    if !layout.rocks.is_empty() {
        blocks.push(Block::Heading("Rocks".to_owned(), false));
        blocks.push(Block::Table(listing::rocks(layout, &input.speaker())));
    }
    if !layout.pumps.is_empty() || !scene.tank.returns.is_empty() {
        blocks.push(Block::Heading("Pumps and returns".to_owned(), false));
        blocks.push(Block::Table(listing::pumps(
            scene,
            layout,
            &input.speaker(),
        )));
    }
    if !layout.lamps.is_empty() {
        blocks.push(Block::Heading("Lamps".to_owned(), false));
        blocks.push(Block::Table(listing::lamps(input)));
    }
    blocks
}

/// Steps from one layout to another, with what each coral gets to bear.
fn moves(
    (from, to): (&AdviceInput<'_>, &AdviceInput<'_>),
    fates: &[CoralFate],
    units: UnitSystem,
) -> Vec<Block> {
    let speaker = Speaker::new(to.scene, to.layout, units).knowing(from.layout);
    let steps = advice::moves(from.study, to.study);
    let steps = advice::with_light_steps(steps, fates);
    let names = [&from.layout.name, &to.layout.name];
    let title = format!("Step by step from “{}” to “{}”", names[0], names[1]);
    let mut blocks = vec![Block::Heading(title, true)];
    if steps.is_empty() {
        blocks.push(Block::Text("Nothing has to be moved.".to_owned()));
        return blocks;
    }
    blocks.push(Block::Text(
        "Unplug pumps, heaters and lamps before you reach in. Never lift a rock until you know which animals are under it, and have a second person for heavy ones."
            .to_owned(),
    ));
    blocks.push(Block::Table(listing::moves(&steps, &speaker)));
    blocks
}

fn weights(input: &PlanInput<'_>) -> Vec<Block> {
    let study = input.advice.study;
    let mut blocks = vec![Block::Heading("Whether the rocks stand".to_owned(), true)];
    if !study.layout().rocks.is_empty() {
        blocks.push(Block::Table(listing::standing(study, &input.speaker())));
    }
    blocks.push(Block::Aside(
        "A rough statics estimate that proves nothing safe. Push each rock with a finger: if it rocks, it will fall. A negative figure means that the center of mass lies outside what carries it."
            .to_owned(),
    ));
    let distances = advice::distances(study);
    let table = listing::distances(&distances, &input.speaker());
    let n_good = distances.len() - table.rows.len();
    if !distances.is_empty() {
        blocks.push(Block::Heading("Distances".to_owned(), false));
        if !table.rows.is_empty() {
            blocks.push(Block::Table(table));
        }
        blocks.push(Block::Aside(format!(
            "{n_good} of {} distances are as builders leave them: rock to glass for a scraper, to the surface, round outlets, an arm's reach (common practice).",
            distances.len()
        )));
    }
    blocks.push(Block::Heading("Water card".to_owned(), false));
    blocks.push(Block::Table(listing::water(
        &advice::water_card(study),
        &input.speaker(),
    )));
    let drain = advice::drain_down(study.scene());
    let speaker = input.speaker();
    blocks.extend((drain.iter().flat_map(|drain| speaker.drains(drain))).map(Block::Text));
    blocks.push(Block::Aside(
        "Ask the stand's maker and a structural engineer before you fill a tank on a floor that you do not know."
            .to_owned(),
    ));
    blocks
}

fn certainty(input: &PlanInput<'_>) -> Vec<Block> {
    let mut blocks = vec![Block::Heading("How sure this is".to_owned(), false)];
    let mut say = |text: String| blocks.push(Block::Text(text));
    match input.advice.flow {
        Some(field) => say(flow_certainty(field, input.units)),
        None => say("The flow was not estimated: what needs it is left out or says so.".to_owned()),
    }
    match input.advice.light {
        Some(light) => say(format!(
            "Light: rays from every lamp through the flat surface, with rock and coral shade{}, looked at in pieces of {}. Fouled glass, a rippled surface and a lamp that is not as its sheet says are not in it.",
            if light.full {
                ", mirrors at the panes and bounces"
            } else {
                ""
            },
            Measure::Length.rounded_text(light.patch_m / M_PER_CM, 1, input.units)
        )),
        None => {
            say("The light was not estimated: what needs it is left out or says so.".to_owned());
        }
    }
    say("Each finding says how sure it is: “sure” would surprise if it were not so, “likely” is more likely than not, “check” is worth a look at the tank. What corals need is mostly common practice, not measurement, and is given as a range.".to_owned());
    say("Measure before you trust: a drift time over a known distance, a quantum sensor at a few marked places.".to_owned());
    blocks
}

fn flow_certainty(field: &FlowField, units: UnitSystem) -> String {
    let settling = &field.settling;
    let which = match field.estimate {
        Estimate::Tank => "whole tank",
        Estimate::PlanSlice | Estimate::SideSlice => {
            "a plane slice, which overstates how far jets reach"
        }
    };
    let rest = if settling.settled {
        "the averages have settled"
    } else {
        "the averages have not settled: read it as a rough picture"
    };
    format!(
        "Flow: {which}, cells of {}, averaged over {:.0} s of tank time; {rest}. The ± of a speed is the 95 % interval of the average alone: what the method itself misses is more than that. The ± of dead water is an 80 % interval that holds what the method misses, as seen on resolved tanks.",
        Measure::Length.rounded_text(field.grid.cell_m / M_PER_CM, 1, units),
        settling.averaged_s
    )
}
