//! A lamp: its body, place, output, beam and hours.

use egui::{TextEdit, Ui};
use glam::DVec3;

use crate::desk::{Action, Change};
use crate::scene::{Body, Day, Item, Lamp, Output, Spread};
use crate::ui::ask::Ask;
use crate::ui::inspector::{angle_row, place_rows};
use crate::ui::parts::{self, Number, Panel};
use crate::ui::text;
use crate::units::Measure;

/// Draws it.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>, lamp: &Lamp) {
    body(ui, panel, lamp);
    parts::heading(ui, text::PLACE);
    let water_cm = panel.desk.scene().tank.water_cm;
    let number = Number::new(text::OVER_WATER, Measure::Length, (0.0, 300.0));
    parts::number_row(ui, panel, &number, lamp.at_cm.z - water_cm, |new| {
        let mut lamp = lamp.clone();
        lamp.at_cm.z = water_cm + new;
        put(lamp)
    });
    place_rows(ui, panel, &Item::Lamp(lamp.clone()));
    angle_row(ui, panel, (text::TURN, 360.0), lamp.turn_deg, |new| {
        put(Lamp {
            turn_deg: new,
            ..lamp.clone()
        })
    });
    angle_row(ui, panel, (text::LEAN, 90.0), lamp.tilt_deg, |new| {
        put(Lamp {
            tilt_deg: new,
            ..lamp.clone()
        })
    });
    parts::heading(ui, text::OUTPUT);
    output(ui, panel, lamp);
    let number = Number::new(text::DIM, Measure::Share, (0.0, 1.0));
    parts::number_row(ui, panel, &number, lamp.dim, |new| {
        put(Lamp {
            dim: new,
            ..lamp.clone()
        })
    });
    spread(ui, panel, lamp);
    parts::heading(ui, text::DAY);
    let number = Number::new(text::HOURS, Measure::Hours, (0.0, 24.0));
    parts::number_row(ui, panel, &number, lamp.day.hours, |hours| {
        let ramp_hours = lamp.day.ramp_hours.min(hours / 2.0);
        put(Lamp {
            day: Day {
                hours,
                ramp_hours,
                ..lamp.day
            },
            ..lamp.clone()
        })
    });
    let number = Number::new(text::FIRST_LIGHT, Measure::Hours, (0.0, 24.0));
    parts::number_row(ui, panel, &number, lamp.day.first_hour, |first_hour| {
        let day = Day {
            first_hour,
            ..lamp.day
        };
        put(Lamp {
            day,
            ..lamp.clone()
        })
    });
    let number = Number::new(text::RAMP, Measure::Hours, (0.0, lamp.day.hours / 2.0));
    parts::number_row(ui, panel, &number, lamp.day.ramp_hours, |ramp_hours| {
        let day = Day {
            ramp_hours,
            ..lamp.day
        };
        put(Lamp {
            day,
            ..lamp.clone()
        })
    });
}

fn put(lamp: Lamp) -> Change {
    Change::Put(Box::new(Item::Lamp(lamp)))
}

fn body(ui: &mut Ui, panel: &mut Panel<'_>, lamp: &Lamp) {
    let theme = panel.theme;
    let with = |body: Body| {
        put(Lamp {
            body,
            ..lamp.clone()
        })
    };
    let options = [
        (
            Body::Panel {
                length_cm: 40.0,
                width_cm: 20.0,
            },
            text::PANEL,
        ),
        (Body::Disc { diameter_cm: 12.0 }, text::PENDANT),
        (Body::Tube { length_cm: 60.0 }, text::TUBE),
    ];
    let is_now =
        |option: Body| std::mem::discriminant(&option) == std::mem::discriminant(&lamp.body);
    let new = parts::row(ui, theme, text::BODY, |ui| {
        parts::choice(ui, theme, &options, is_now)
    });
    if let Some(new) = new {
        panel.edit(text::SET_BODY, with(new));
    }
    let length = Number::new(text::LENGTH, Measure::Length, (1.0, 400.0));
    match lamp.body {
        Body::Panel {
            length_cm,
            width_cm,
        } => {
            parts::number_row(ui, panel, &length, length_cm, |length_cm| {
                with(Body::Panel {
                    length_cm,
                    width_cm,
                })
            });
            let width = Number::new(text::WIDTH, Measure::Length, (1.0, 200.0));
            parts::number_row(ui, panel, &width, width_cm, |width_cm| {
                with(Body::Panel {
                    length_cm,
                    width_cm,
                })
            });
        }
        Body::Disc { diameter_cm } => {
            let across = Number::new(text::ACROSS, Measure::Length, (0.5, 200.0));
            parts::number_row(ui, panel, &across, diameter_cm, |diameter_cm| {
                with(Body::Disc { diameter_cm })
            });
        }
        Body::Tube { length_cm } => {
            parts::number_row(ui, panel, &length, length_cm, |length_cm| {
                with(Body::Tube { length_cm })
            });
        }
    }
}

fn output(ui: &mut Ui, panel: &mut Panel<'_>, lamp: &Lamp) {
    let theme = panel.theme;
    let with = |output: Output| {
        put(Lamp {
            output,
            ..lamp.clone()
        })
    };
    let middle_cm = lamp.at_cm.truncate().extend(panel.desk.levels().height_cm);
    let options = [
        (Output::Photons { umol_s: 150.0 }, text::PHOTONS),
        (
            Output::Power {
                power_w: 80.0,
                efficacy_umol_j: 2.0,
            },
            text::POWER,
        ),
        (
            Output::Reading {
                at_cm: middle_cm,
                ppfd_umol: 150.0,
            },
            text::A_READING,
        ),
    ];
    let is_now =
        |option: Output| std::mem::discriminant(&option) == std::mem::discriminant(&lamp.output);
    let new = parts::row(ui, theme, text::KNOWN_BY, |ui| {
        parts::choice(ui, theme, &options, is_now)
    });
    if let Some(new) = new {
        panel.edit(text::SET_OUTPUT, with(new));
    }
    match lamp.output {
        Output::Photons { umol_s } => {
            let number = Number::new(text::GIVES, Measure::Photons, (0.0, 20_000.0));
            parts::number_row(ui, panel, &number, umol_s, |umol_s| {
                with(Output::Photons { umol_s })
            });
        }
        Output::Power {
            power_w,
            efficacy_umol_j,
        } => {
            let number = Number::new(text::DRAWS, Measure::Power, (0.0, 5000.0));
            parts::number_row(ui, panel, &number, power_w, |power_w| {
                with(Output::Power {
                    power_w,
                    efficacy_umol_j,
                })
            });
            let number = Number::new(text::EFFICACY, Measure::Efficacy, (0.05, 6.0));
            parts::number_row(ui, panel, &number, efficacy_umol_j, |efficacy_umol_j| {
                with(Output::Power {
                    power_w,
                    efficacy_umol_j,
                })
            });
        }
        Output::Reading { at_cm, ppfd_umol } => reading(ui, panel, lamp, (at_cm, ppfd_umol)),
    }
}

/// The output as one measured value and where it was measured.
fn reading(ui: &mut Ui, panel: &mut Panel<'_>, lamp: &Lamp, (at_cm, ppfd_umol): (DVec3, f64)) {
    let with = |at_cm: DVec3, ppfd_umol: f64| {
        put(Lamp {
            output: Output::Reading { at_cm, ppfd_umol },
            ..lamp.clone()
        })
    };
    let number = Number::new(text::MEASURED, Measure::Ppfd, (0.0, 5000.0));
    parts::number_row(ui, panel, &number, ppfd_umol, |new| with(at_cm, new));
    let names = [
        text::READ_AT_LEFT,
        text::READ_AT_FRONT,
        text::READ_AT_HEIGHT,
    ];
    for (axis, name) in names.into_iter().enumerate() {
        let number = Number::new(name, Measure::Length, (0.0, 500.0));
        parts::number_row(ui, panel, &number, at_cm[axis], |new| {
            let mut at_cm = at_cm;
            at_cm[axis] = new;
            with(at_cm, ppfd_umol)
        });
    }
}

fn spread(ui: &mut Ui, panel: &mut Panel<'_>, lamp: &Lamp) {
    let theme = panel.theme;
    let with = |spread: Spread| {
        put(Lamp {
            spread,
            ..lamp.clone()
        })
    };
    match &lamp.spread {
        Spread::Beam { full_angle_deg } => {
            let number = Number::new(text::BEAM, Measure::Angle, (2.0, 179.0));
            parts::number_row(ui, panel, &number, *full_angle_deg, |full_angle_deg| {
                with(Spread::Beam { full_angle_deg })
            });
            if parts::link(ui, theme, Action::MeasuredLamp.label()).clicked() {
                panel.ask.push(Ask::Do(Action::MeasuredLamp));
            }
        }
        Spread::Measured { file, .. } => {
            parts::row(ui, theme, text::MEASURED_FILE, |ui| {
                let mut shown = file.clone();
                let edit = TextEdit::singleline(&mut shown).desired_width(120.0);
                let response = ui.add(edit).accessible_name(text::MEASURED_FILE);
                if response.changed() {
                    panel.edit(text::SET_MEASURED, with(Spread::measured(shown)));
                }
                if parts::link(ui, theme, text::USE_BEAM).clicked() {
                    panel.edit(text::SET_MEASURED, with(Spread::default()));
                }
            });
        }
    }
}
