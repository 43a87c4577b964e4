//! Work of one frame of the sheet, without a screen: the demo with both
//! washes, and a crowded tank (40 rocks, 200 corals, 8 pumps, 6 lamps).
//!
//! Prints the median and the 99th percentile of a hand's minute before the
//! usual statistics, since the slowest frames are those that one feels.

#![expect(clippy::print_stdout, reason = "a bench reports on standard output")]
#![expect(clippy::expect_used, reason = "a broken demo is to stop the bench")]

use std::sync::Arc;
use std::time::{Duration, Instant};

use bommie::desk::{Action, Command, Desk, Levels};
use bommie::document::Document;
use bommie::flow::{CellKind, ComputedOn, Estimate, FlowField, Settling};
use bommie::geometry::CellGrid;
use bommie::scene::{Scene, solids};
use bommie::storage::{demos, parse};
use bommie::ui::sheet::{Sheet, SheetContext, View};
use bommie::ui::theme::Theme;
use criterion::{Criterion, criterion_group, criterion_main};
use egui::{Context, Event, Modifiers, PointerButton, RawInput, Rect, pos2, vec2};
use glam::{DVec2, DVec3};

const SIZE: egui::Vec2 = vec2(1180.0, 720.0);

struct Window {
    ctx: Context,
    desk: Desk,
    sheet: Sheet,
    theme: Theme,
    time_s: f64,
}

impl Window {
    fn new(scene: Scene) -> Self {
        let field = Arc::new(stirred(&scene));
        let mut desk = Desk::new(Document::new(scene, None), Arc::new(|| {}));
        let settle_until = Instant::now() + Duration::from_secs(8);
        while Instant::now() < settle_until {
            desk.tend();
            if !desk.is_busy() && desk.results().light_plan.is_some() {
                break;
            }
            std::hint::spin_loop();
        }
        let mut results = desk.results().clone();
        results.tank = Some(field);
        desk.replace_results(results);
        let ctx = Context::default();
        let theme = Theme::day();
        theme.install(&ctx);
        let mut window = Self {
            ctx,
            desk,
            sheet: Sheet::new(),
            theme,
            time_s: 0.0,
        };
        for _ in 0..60 {
            window.frame(Vec::new());
        }
        window
    }

    /// One frame; the time that the sheet took in it.
    fn frame(&mut self, events: Vec<Event>) -> Duration {
        self.time_s += 1.0 / 60.0;
        let input = RawInput {
            screen_rect: Some(Rect::from_min_size(pos2(0.0, 0.0), SIZE)),
            time: Some(self.time_s),
            events,
            ..RawInput::default()
        };
        let Self {
            ctx,
            desk,
            sheet,
            theme,
            ..
        } = self;
        let mut spent = Duration::ZERO;
        let mut send = Vec::new();
        let output = ctx.run_ui(input, |ui| {
            let context = SheetContext {
                desk,
                theme,
                motion: bommie::ui::STILL,
            };
            let start = cpu_time();
            sheet.show(ui, &context, &mut send);
            spent += cpu_time().saturating_sub(start);
        });
        drop(output);
        for command in send {
            desk.run(command);
        }
        spent
    }

    fn act(&mut self, action: Action) {
        let context = SheetContext {
            desk: &self.desk,
            theme: &self.theme,
            motion: bommie::ui::STILL,
        };
        let mut send = Vec::new();
        self.sheet.act(action, &context, &mut send);
        for command in send {
            self.desk.run(command);
        }
    }

    /// A minute of a hand: looking about, both washes, a cut level, a drag.
    fn minute(&mut self) -> [(&'static str, Vec<Duration>); 4] {
        let look = (0..600_u16)
            .map(|k| {
                let at = pos2(300.0 + 200.0 * (f32::from(k) * 0.05).sin(), 200.0);
                self.frame(vec![Event::PointerMoved(at)])
            })
            .collect();
        let mut switch = Vec::new();
        for action in [Action::WashLight, Action::WashFlow] {
            self.act(action);
            switch.extend((0..60).map(|_| self.frame(Vec::new())));
        }
        let levels = self.desk.levels();
        let mut cut = Vec::new();
        for k in 0..300 {
            let height_cm = 20.0 + 10.0 * (f64::from(k) * 0.04).sin();
            let levels = Levels {
                height_cm,
                ..levels
            };
            self.desk.run(Command::SetLevels(levels));
            cut.push(self.frame(Vec::new()));
        }
        let drag = self.drag(1_200);
        [
            ("look", look),
            ("switch wash", switch),
            ("cut", cut),
            ("drag", drag),
        ]
    }

    /// Drags the first rock about in the top view.
    fn drag(&mut self, n_frames: u32) -> Vec<Duration> {
        let at_cm = self.desk.layout().rocks[0].at_cm;
        let frame = self.sheet.frame(View::Top).expect("the top view shows");
        let from = frame.pos_flat(at_cm.truncate() + DVec2::new(1.0, 1.0));
        let button = |pos, pressed| Event::PointerButton {
            pos,
            button: PointerButton::Primary,
            pressed,
            modifiers: Modifiers::NONE,
        };
        self.frame(vec![Event::PointerMoved(from), button(from, true)]);
        let mut spent = Vec::new();
        let mut at = from;
        for k in 0..n_frames {
            let angle = k as f32 * 0.03;
            at = from + vec2(60.0 * angle.sin(), 20.0 * (1.7 * angle).sin());
            spent.push(self.frame(vec![Event::PointerMoved(at)]));
        }
        self.frame(vec![button(at, false)]);
        spent
    }
}

fn demo() -> Scene {
    let demo = demos().first().expect("there is a demo");
    parse(demo.text, demo.file).expect("it reads").scene
}

/// The demo tank with far more in it than anyone would put there.
fn crowd() -> Scene {
    let mut scene = demo();
    let layout = &mut scene.layouts[0];
    let (rocks, corals) = (layout.rocks.clone(), layout.corals.clone());
    let (pumps, lamps) = (layout.pumps.clone(), layout.lamps.clone());
    layout.rocks.clear();
    layout.corals.clear();
    layout.pumps.clear();
    layout.lamps.clear();
    let mut id = 0;
    let mut next = || {
        id += 1;
        id
    };
    for k in 0..40 {
        let mut rock = rocks[k % rocks.len()].clone();
        rock.id = next();
        rock.at_cm = DVec3::new(
            10.0 + (k % 10) as f64 * 11.0,
            8.0 + (k / 10) as f64 * 14.0,
            0.0,
        );
        rock.turn_deg = k as f64 * 17.0;
        layout.rocks.push(rock);
    }
    for k in 0..200 {
        let mut coral = corals[k % corals.len()].clone();
        coral.id = next();
        coral.at_cm = DVec3::new(
            6.0 + (k % 20) as f64 * 5.6,
            5.0 + (k / 20) as f64 * 5.5,
            20.0,
        );
        layout.corals.push(coral);
    }
    for k in 0..8 {
        let mut pump = pumps[k % pumps.len()].clone();
        pump.id = next();
        pump.at_cm = DVec3::new(8.0 + k as f64 * 14.0, 4.0, 40.0);
        layout.pumps.push(pump);
    }
    for k in 0..6 {
        let mut lamp = lamps[k % lamps.len()].clone();
        lamp.id = next();
        lamp.at_cm.x = 10.0 + k as f64 * 18.0;
        layout.lamps.push(lamp);
    }
    scene
}

/// Water that turns in the tank as in a cup, in cells of 1 cm.
fn stirred(scene: &Scene) -> FlowField {
    let tank = &scene.tank;
    let grid = CellGrid {
        origin_m: DVec3::ZERO,
        cell_m: 0.01,
        n: [tank.length_cm, tank.width_cm, tank.water_cm].map(|cm| cm as usize),
    };
    let rocks = solids::rockwork(&scene.layouts[0]);
    let n_cells = grid.n_cells();
    let middle = DVec3::new(tank.length_cm, tank.width_cm, 0.0) / 200.0;
    let mut field = FlowField {
        grid,
        estimate: Estimate::Tank,
        kind: vec![CellKind::Water; n_cells],
        velocity_m_s: vec![[0.0; 3]; n_cells],
        speed_m_s: vec![0.0; n_cells],
        fluctuation_m_s: vec![0.0; n_cells],
        slow_share: vec![0.0; n_cells],
        speed_half_width_m_s: vec![0.0; n_cells],
        slow_limit_m_s: 0.02,
        settling: Settling {
            settled: true,
            averaged_s: 30.0,
            mean_speed_m_s: 0.1,
            mean_speed_half_width_m_s: 0.01,
            dead_share: 0.1,
            dead_share_half_width: 0.01,
            flip_share: 0.0,
        },
        computed_on: ComputedOn::default(),
        n_runs: 1,
        may_flip: Vec::new(),
        phases: Vec::new(),
        felt: bommie::flow::felt::FeltSource::default(),
    };
    for idx in 0..n_cells {
        let at_m = grid.center_m(grid.ijk(idx));
        if rocks.contains(at_m) {
            field.kind[idx] = CellKind::Rock;
            continue;
        }
        let arm = at_m - middle;
        let ripple = 1.0 + 0.5 * (at_m.x * 40.0).sin() * (at_m.z * 30.0).sin();
        let velocity = DVec3::new(-arm.y, arm.x, 0.02) * 0.5 * ripple;
        field.velocity_m_s[idx] = velocity.as_vec3().to_array();
        field.speed_m_s[idx] = velocity.length() as f32;
    }
    field
}

/// Time that this thread has worked: other programs on the machine do not count.
#[cfg(unix)]
fn cpu_time() -> Duration {
    let time = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
    Duration::new(time.tv_sec.unsigned_abs(), time.tv_nsec as u32)
}

/// Time on the clock, where a thread's own time is not to be had simply.
#[cfg(not(unix))]
fn cpu_time() -> Duration {
    static START: std::sync::LazyLock<Instant> = std::sync::LazyLock::new(Instant::now);
    START.elapsed()
}

fn percentile(spent: &mut [Duration], share: f64) -> f64 {
    spent.sort_unstable();
    let idx = ((spent.len() - 1) as f64 * share) as usize;
    spent[idx].as_secs_f64() * 1e3
}

fn report(name: &str, spent: &mut [Duration]) {
    println!(
        "{name}: median {:.2} ms, 99 % {:.2} ms, worst {:.2} ms of {} frames",
        percentile(spent, 0.5),
        percentile(spent, 0.99),
        percentile(spent, 1.0),
        spent.len()
    );
}

fn frames(criterion: &mut Criterion) {
    for (name, scene) in [("demo", demo()), ("crowd", crowd())] {
        let mut window = Window::new(scene);
        let phases = window.minute();
        let mut all: Vec<Duration> = phases.iter().flat_map(|(_, spent)| spent.clone()).collect();
        for (phase, mut spent) in phases {
            report(&format!("{name}, {phase}"), &mut spent);
        }
        report(name, &mut all);
        criterion.bench_function(&format!("frame_{name}"), |bencher| {
            bencher.iter(|| window.frame(Vec::new()));
        });
    }
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(40).measurement_time(Duration::from_secs(3));
    targets = frames
}
criterion_main!(benches);
