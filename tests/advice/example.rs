//! The worked example of the docs: goal, that its page cannot go stale. Method:
//! make the same placement of ten corals in the first demo and compare every
//! table of the page with what comes out, word for word.
#![expect(clippy::expect_used, reason = "a broken premise fails the test")]
#![expect(clippy::print_stdout, reason = "the page is made from what is printed")]

use std::fmt::Write as _;
use std::time::Instant;

use bommie::advice::{
    self, AdviceInput, Aspect, Berth, BerthFilters, Kind, Meeting, Severity, Verdict,
};
use bommie::catalog::Catalog;
use bommie::flow::{FlowField, FlowOptions, FlowSetup, FlowSolver};
use bommie::light::{LightField, LightOptions, LightSolver, Measured};
use bommie::scene::{Coral, Scene};
use bommie::storage;
use bommie::study::Study;

/// A study of the first layout.
fn study(scene: &Scene) -> Study {
    Study::with_built_in(scene, 0).expect("there is a layout")
}

const PAGE: &str = include_str!("../../src/advice/EXAMPLE.md");

/// The stock, in the order in which it is placed: first what is hardest to
/// please, last what takes what is left.
const STOCK: [&str; 10] = [
    "euphyllia_torch",
    "discosoma",
    "acropora_bushy",
    "montipora_plate",
    "porites_branch",
    "caulastraea",
    "trachyphyllia",
    "fungia",
    "leptoseris",
    "zoanthus",
];

/// The demo without its corals.
fn bare_demo() -> Scene {
    let demo = &storage::demos()[0];
    let mut scene = storage::parse(demo.text, demo.file)
        .expect("the demo is sound")
        .scene;
    scene.layouts[0].corals.clear();
    scene
}

fn water(scene: &Scene) -> FlowField {
    let setup = FlowSetup::new(&study(scene), &FlowOptions::default());
    let mut solver = FlowSolver::new(setup.expect("the demo can be solved"));
    while !solver.is_done() {
        solver.advance(1.0).expect("it does not diverge");
    }
    solver.snapshot()
}

fn light(scene: &Scene) -> (LightSolver, LightField) {
    let options = LightOptions::default();
    let solver =
        LightSolver::new(&study(scene), &Measured::new(), &options).expect("the demo can be lit");
    let field = solver.field(0.015, &|_| true);
    (solver, field)
}

/// What `look` makes of the scene with these fields.
fn with_input<R>(
    scene: &Scene,
    flow: &FlowField,
    (solver, field): &(LightSolver, LightField),
    look: impl FnOnce(&AdviceInput<'_>) -> R,
) -> R {
    let study = study(scene);
    let light_at = |at_m, facing| solver.sample(at_m, Some(facing));
    look(&AdviceInput {
        flow: Some(flow),
        light: Some(field),
        light_at: Some(&light_at),
        ..AdviceInput::of(&study)
    })
}

fn planted(scene: &Scene, entry: &str, berth: &Berth) -> Coral {
    Coral {
        id: scene.layouts[0].free_id(),
        entry: entry.to_owned(),
        name: String::new(),
        at_cm: berth.at_m * 100.0,
        facing: berth.normal,
        size_cm: berth.size_m * 100.0,
        mount: berth.mount,
        on: berth.on,
        since: None,
        note: String::new(),
        locked: false,
    }
}

/// Whether nothing stings, touches or overgrows the coral, or is by it, within
/// two years at the usual pace.
fn is_quiet(
    scene: &Scene,
    flow: &FlowField,
    lit: &(LightSolver, LightField),
    coral: &Coral,
) -> bool {
    let mut scene = scene.clone();
    scene.layouts[0].corals.push(coral.clone());
    let events = with_input(&scene, flow, lit, |input| advice::later_events(input, 24.0));
    events.iter().all(|event| {
        let is_own = event.by == coral.id || event.to == coral.id;
        let is_harmless = matches!(event.what, Meeting::Shade | Meeting::Block);
        !is_own || is_harmless || event.months.usual.is_none()
    })
}

fn value(fit: &advice::Fit, what: Aspect) -> f64 {
    let strip = fit.strips.iter().find(|strip| strip.what == what);
    strip.and_then(|strip| strip.value).expect("it is known")
}

fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Bad => "bad",
        Verdict::Poor => "poor",
        Verdict::Fair => "fair",
        Verdict::Good => "good",
        Verdict::Unknown => "unknown",
    }
}

/// Lines of the page between two marks.
fn section<'a>(name: &str) -> &'a str {
    let (open, close) = (format!("<!-- {name} -->\n"), format!("<!-- end {name} -->"));
    let start = PAGE.find(&open).expect("the page has the section") + open.len();
    let end = PAGE.find(&close).expect("the section ends");
    &PAGE[start..end]
}

/// Plants the stock one by one, each in the first of its ten best berths that
/// is quiet; the table of what was placed.
fn place_all(scene: &mut Scene) -> String {
    let flow = water(scene);
    let lit = light(scene);
    let filters = BerthFilters::default();
    let mut placed = String::new();
    let mut slowest_ms = 0.0_f64;
    for name in STOCK {
        let entry = Catalog::built_in()
            .entry(name)
            .expect("it is in the catalog");
        let start = Instant::now();
        let berths = with_input(scene, &flow, &lit, |input| {
            drop(advice::fit_wash(input, entry, &filters));
            advice::berths(input, entry, 10, &filters)
        });
        slowest_ms = slowest_ms.max(start.elapsed().as_secs_f64() * 1e3);
        let mut places = berths
            .iter()
            .enumerate()
            .map(|(n, berth)| (n + 1, berth, planted(scene, name, berth)));
        let Some(first) = places.clone().next() else {
            let name = &entry.plain_name;
            writeln!(placed, "| – | {name} | – | no place | – | – | – | – |").expect("writes");
            continue;
        };
        let (number, berth, coral) = places
            .find(|(_, _, coral)| is_quiet(scene, &flow, &lit, coral))
            .unwrap_or(first);
        writeln!(
            placed,
            "| {} | {} | {number} | {} | {:.1}, {:.1}, {:.1} | {:.0} | {:.1} | {} |",
            coral.id,
            entry.plain_name,
            crate::hand::speaker(scene).seat(berth.on, &berth.place),
            coral.at_cm.x,
            coral.at_cm.y,
            coral.at_cm.z,
            value(&berth.fit, Aspect::Light),
            value(&berth.fit, Aspect::Flow),
            verdict(berth.fit.verdict),
        )
        .expect("writes");
        scene.layouts[0].corals.push(coral);
    }
    println!("slowest berths with wash: {slowest_ms:.0} ms");
    println!("{placed}");
    placed
}

/// Tables of fit, growth and findings, solved with all corals in the tank.
fn tables_of(scene: &Scene) -> [String; 3] {
    let flow = water(scene);
    let lit = light(scene);
    let (mut after, mut growth, mut findings) = (String::new(), String::new(), String::new());
    let speaker = crate::hand::speaker(scene);
    with_input(scene, &flow, &lit, |input| {
        for coral in &input.layout.corals {
            let entry = input.catalog.entry(&coral.entry).expect("it is known");
            let fit = advice::fit(input, coral).expect("it is known");
            writeln!(
                after,
                "| {} | {} | {:.0} | {:.1} | {} |",
                coral.id,
                entry.plain_name,
                value(&fit, Aspect::Light),
                value(&fit, Aspect::Flow),
                verdict(fit.verdict)
            )
            .expect("writes");
        }
        for event in advice::later_events(input, 60.0) {
            writeln!(growth, "- {}", speaker.meeting(&event)).expect("writes");
        }
        for finding in advice::coral_findings(input) {
            if finding.severity > Severity::Note || matches!(finding.kind, Kind::Caution) {
                writeln!(findings, "- {}", speaker.finding(&finding)).expect("writes");
            }
        }
    });
    [after, growth, findings]
}

/// The flow is turbulent: code for narrow registers rounds otherwise and ends
/// with other eddies, so the page's words hold where the wide code runs.
fn is_comparable() -> bool {
    #[cfg(target_arch = "x86_64")]
    {
        std::arch::is_x86_feature_detected!("avx2") && std::arch::is_x86_feature_detected!("fma")
    }
    #[cfg(not(target_arch = "x86_64"))]
    {
        false
    }
}

#[test]
fn the_page_says_what_comes_out() {
    let mut scene = bare_demo();
    let placed = place_all(&mut scene);
    let [after, growth, findings] = tables_of(&scene);
    println!("{after}\n{growth}\n{findings}");
    let n = scene.layouts[0].corals.len();
    assert!(n >= 7, "{n} of {} are placed", STOCK.len());
    if is_comparable() {
        assert_eq!(section("placed"), placed, "berths");
        assert_eq!(section("after"), after, "with all ten in the tank");
        assert_eq!(section("growth"), growth, "growth");
        assert_eq!(section("findings"), findings, "findings");
    }
}
