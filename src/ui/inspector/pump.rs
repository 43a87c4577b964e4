//! A pump: how it moves water, where it stands, how it is aimed, when it runs.

use egui::Ui;

use crate::desk::Change;
use crate::scene::{FromHour, Item, Programme, Pump, PumpKind};
use crate::ui::inspector::{angle_row, place_rows};
use crate::ui::parts::{self, Number, Panel};
use crate::ui::text;
use crate::units::Measure;
use crate::units::exit_speed_m_s;

/// Draws it.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>, pump: &Pump) {
    kind(ui, panel, pump);
    let number = Number::new(text::FLOW, Measure::Flow, (0.0, 100_000.0));
    parts::number_row(ui, panel, &number, pump.flow_lph, |new| {
        put(Pump {
            flow_lph: new,
            ..pump.clone()
        })
    });
    let number = Number::new(text::OUTLET, Measure::Length, (0.3, 30.0));
    parts::number_row(ui, panel, &number, pump.outlet_cm, |new| {
        put(Pump {
            outlet_cm: new,
            ..pump.clone()
        })
    });
    let number = Number::new(text::THROTTLE, Measure::Share, (0.0, 1.0));
    parts::number_row(ui, panel, &number, pump.throttle, |new| {
        put(Pump {
            throttle: new,
            ..pump.clone()
        })
    });
    let options = [(true, text::GUARDED), (false, text::UNGUARDED)];
    let new = parts::row(ui, panel.theme, text::INTAKE, |ui| {
        parts::choice(ui, panel.theme, &options, |guarded| guarded == pump.guarded)
    });
    if let Some(guarded) = new {
        let changed = put(Pump {
            guarded,
            ..pump.clone()
        });
        panel.edit(text::SET_INTAKE, changed);
    }
    let speed = panel.text(Measure::Speed, exit_speed_cm_s(pump));
    parts::fact_row(ui, panel, text::LEAVES_AT, &speed);

    parts::heading(ui, text::AIM);
    angle_row(ui, panel, (text::TURN, 360.0), pump.turn_deg, |new| {
        put(Pump {
            turn_deg: new,
            ..pump.clone()
        })
    });
    angle_row(ui, panel, (text::RISE_ANGLE, 90.0), pump.tilt_deg, |new| {
        put(Pump {
            tilt_deg: new,
            ..pump.clone()
        })
    });

    parts::heading(ui, text::PLACE);
    place_rows(ui, panel, &Item::Pump(pump.clone()));

    parts::heading(ui, text::PROGRAMME);
    programme(ui, panel, pump);
    hours(ui, panel, pump);
    power(ui, panel, pump);
}

fn put(pump: Pump) -> Change {
    Change::Put(Box::new(Item::Pump(pump)))
}

fn exit_speed_cm_s(pump: &Pump) -> f64 {
    let flow_lph = pump.flow_lph * pump.throttle;
    match pump.kind {
        PumpKind::CrossFlow { length_cm } => {
            let area_cm2 = length_cm * pump.outlet_cm;
            // L/h to cm³/s.
            flow_lph / 3.6 / area_cm2.max(1e-6)
        }
        PumpKind::Propeller | PumpKind::Nozzle => exit_speed_m_s(flow_lph, pump.outlet_cm) * 100.0,
    }
}

fn kind(ui: &mut Ui, panel: &mut Panel<'_>, pump: &Pump) {
    let theme = panel.theme;
    let same_kind =
        |a: PumpKind, b: PumpKind| std::mem::discriminant(&a) == std::mem::discriminant(&b);
    let options = [
        (PumpKind::Propeller, text::PROPELLER),
        (PumpKind::CrossFlow { length_cm: 20.0 }, text::CROSS_FLOW),
        (PumpKind::Nozzle, text::NOZZLE),
    ];
    let new = parts::row(ui, theme, text::KIND, |ui| {
        parts::choice(ui, theme, &options, |kind| same_kind(kind, pump.kind))
    });
    if let Some(kind) = new {
        let changed = put(Pump {
            kind,
            ..pump.clone()
        });
        panel.edit(text::SET_KIND, changed);
    }
    if let PumpKind::CrossFlow { length_cm } = pump.kind {
        let number = Number::new(text::SLOT, Measure::Length, (2.0, 200.0));
        parts::number_row(ui, panel, &number, length_cm, |new| {
            put(Pump {
                kind: PumpKind::CrossFlow { length_cm: new },
                ..pump.clone()
            })
        });
    }
}

fn programme(ui: &mut Ui, panel: &mut Panel<'_>, pump: &Pump) {
    let theme = panel.theme;
    let with = |programme: Programme| {
        put(Pump {
            programme,
            ..pump.clone()
        })
    };
    let options = [
        (Programme::Steady, text::STEADY),
        (PULSE, text::PULSE),
        (ALTERNATE, text::ALTERNATE),
    ];
    let is_now = |option: Programme| {
        std::mem::discriminant(&option) == std::mem::discriminant(&pump.programme)
    };
    let new = parts::row(ui, theme, text::RUNS, |ui| {
        parts::choice(ui, theme, &options, is_now)
    });
    if let Some(new) = new {
        panel.edit(text::SET_PROGRAMME, with(new));
    }
    match pump.programme {
        Programme::Steady => {}
        Programme::Pulse { period_s, share } => {
            let number = Number::new(text::PERIOD, Measure::Seconds, (0.2, 86_400.0));
            parts::number_row(ui, panel, &number, period_s, |period_s| {
                with(Programme::Pulse { period_s, share })
            });
            let number = Number::new(text::ON_SHARE, Measure::Share, (0.0, 1.0));
            parts::number_row(ui, panel, &number, share, |share| {
                with(Programme::Pulse { period_s, share })
            });
        }
        Programme::Alternate {
            set,
            period_s,
            turn,
            of,
        } => {
            let make = |set: f64, period_s: f64, turn: f64, of: f64| {
                let of = of.round().max(1.0) as u32;
                with(Programme::Alternate {
                    set: set.round() as u32,
                    period_s,
                    turn: (turn.round() as u32).min(of - 1),
                    of,
                })
            };
            let (set, turn, of) = (f64::from(set), f64::from(turn), f64::from(of));
            let number = Number::new(text::PERIOD, Measure::Seconds, (0.2, 86_400.0));
            parts::number_row(ui, panel, &number, period_s, |new| make(set, new, turn, of));
            let number = Number::new(text::SET, Measure::Plain, (1.0, 99.0));
            parts::number_row(ui, panel, &number, set, |new| make(new, period_s, turn, of));
            // The keeper counts from one.
            let number = Number::new(text::ITS_TURN, Measure::Plain, (1.0, of));
            parts::number_row(ui, panel, &number, turn + 1.0, |new| {
                make(set, period_s, new - 1.0, of)
            });
            let number = Number::new(text::OF, Measure::Plain, (1.0, 12.0));
            parts::number_row(ui, panel, &number, of, |new| make(set, period_s, turn, new));
        }
    }
}

/// Shares of its setting by the hour of the day.
fn hours(ui: &mut Ui, panel: &mut Panel<'_>, pump: &Pump) {
    let with = |by_hour: Vec<FromHour>| {
        put(Pump {
            by_hour,
            ..pump.clone()
        })
    };
    for (i, from) in pump.by_hour.iter().enumerate() {
        ui.push_id(("hour", i), |ui| {
            // Each stays between its neighbors.
            let low = i
                .checked_sub(1)
                .map_or(0.0, |i| pump.by_hour[i].hour + 0.25);
            let high = pump
                .by_hour
                .get(i + 1)
                .map_or(24.0, |next| next.hour - 0.25);
            let number = Number::new(text::FROM_HOUR, Measure::Hours, (low, high.max(low)));
            parts::number_row(ui, panel, &number, from.hour, |hour| {
                let mut by_hour = pump.by_hour.clone();
                by_hour[i].hour = hour;
                with(by_hour)
            });
            let number = Number::new(text::SHARE_THEN, Measure::Share, (0.0, 1.0));
            parts::number_row(ui, panel, &number, from.share, |share| {
                let mut by_hour = pump.by_hour.clone();
                by_hour[i].share = share;
                with(by_hour)
            });
        });
    }
    ui.horizontal(|ui| {
        let last = pump.by_hour.last().map_or(6.0, |from| from.hour);
        if last <= 22.0 && parts::link(ui, panel.theme, text::ADD_HOUR).clicked() {
            let mut by_hour = pump.by_hour.clone();
            let hour = last + 2.0;
            by_hour.push(FromHour { hour, share: 1.0 });
            panel.edit(text::SET_HOURS, with(by_hour));
        }
        if !pump.by_hour.is_empty() && parts::link(ui, panel.theme, text::ALL_DAY).clicked() {
            panel.edit(text::SET_HOURS, with(Vec::new()));
        }
    });
}

const PULSE: Programme = Programme::Pulse {
    period_s: 10.0,
    share: 0.5,
};
const ALTERNATE: Programme = Programme::Alternate {
    set: 1,
    period_s: 600.0,
    turn: 0,
    of: 2,
};

fn power(ui: &mut Ui, panel: &mut Panel<'_>, pump: &Pump) {
    let number = Number::new(text::DRAWS, Measure::Power, (0.0, 2000.0));
    parts::number_row(ui, panel, &number, pump.power_w.unwrap_or(0.0), |new| {
        put(Pump {
            power_w: (new > 0.0).then_some(new),
            ..pump.clone()
        })
    });
}
