//! A rock: its size, place, turn, tilt, rounding and mass.

use egui::Ui;
use glam::{DVec2, DVec3};

use crate::advice::RockWeight;
use crate::desk::Change;
use crate::scene::{Item, Outline, Rock};
use crate::ui::inspector::{angle_row, place_rows};
use crate::ui::parts::{self, Number, Panel};
use crate::ui::text;
use crate::units::Measure;

/// Remembers the volume of the shape that was weighed last.
#[derive(Debug, Default)]
pub struct Scale {
    last: Option<(Rock, f64)>,
}

impl Scale {
    /// Volume of a rock, in L.
    fn volume_l(&mut self, rock: &Rock) -> f64 {
        // Neither place nor turn changes it: a rock that is dragged is not
        // weighed anew in every frame.
        let shape = Rock {
            name: String::new(),
            at_cm: DVec3::ZERO,
            turn_deg: 0.0,
            tilt_deg: 0.0,
            ..rock.clone()
        };
        if let Some((weighed, volume_l)) = &self.last
            && *weighed == shape
        {
            return *volume_l;
        }
        // As in the findings and on paper.
        let volume_l = RockWeight::of(&shape).volume_l;
        self.last = Some((shape, volume_l));
        volume_l
    }
}

/// Draws it.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>, rock: &Rock, scale: &mut Scale) {
    let item = Item::Rock(rock.clone());
    parts::heading(ui, text::SIZE);
    let size_cm = size_cm(rock);
    for (axis, name) in [text::LENGTH, text::DEPTH, text::RISE]
        .into_iter()
        .enumerate()
    {
        let number = Number::new(name, Measure::Length, (1.0, 300.0));
        parts::number_row(ui, panel, &number, size_cm[axis], |new| {
            let mut factor = DVec3::ONE;
            factor[axis] = new / size_cm[axis].max(1e-3);
            put(&scaled(rock, factor))
        });
    }
    // A scan has the edges that were scanned.
    if rock.scan.is_none() {
        let number = Number::new(text::ROUNDING, Measure::Length, (0.0, 20.0));
        parts::number_row(ui, panel, &number, rock.rounding_cm, |new| {
            put(&Rock {
                rounding_cm: new,
                ..rock.clone()
            })
        });
    }

    parts::heading(ui, text::PLACE);
    place_rows(ui, panel, &item);
    angle_row(ui, panel, (text::TURN, 360.0), rock.turn_deg, |new| {
        put(&Rock {
            turn_deg: new,
            ..rock.clone()
        })
    });
    angle_row(ui, panel, (text::TILT, 90.0), rock.tilt_deg, |new| {
        put(&Rock {
            tilt_deg: new,
            ..rock.clone()
        })
    });

    parts::heading(ui, text::MASS);
    let volume_l = scale.volume_l(rock);
    let weight = RockWeight::with_volume(rock, volume_l);
    let volume = panel.text(Measure::Volume, volume_l);
    parts::fact_row(ui, panel, text::VOLUME, &volume);
    let dry = panel.text(Measure::Mass, weight.dry_kg);
    parts::fact_row(ui, panel, text::DRY, &dry);
    let wet = panel.text(Measure::Mass, weight.wet_kg);
    parts::fact_row(ui, panel, text::IN_WATER, &wet);
    let number = Number::new(text::DENSITY, Measure::Density, (0.3, 4.0));
    parts::number_row(ui, panel, &number, rock.density_kg_per_l, |new| {
        put(&Rock {
            density_kg_per_l: new,
            ..rock.clone()
        })
    });
    let number = Number::new(text::REFLECTS, Measure::Share, (0.0, 1.0));
    parts::number_row(ui, panel, &number, rock.reflectance, |new| {
        put(&Rock {
            reflectance: new,
            ..rock.clone()
        })
    });
    bond(ui, panel, rock);
}

fn put(rock: &Rock) -> Change {
    Change::Put(Box::new(Item::Rock(rock.clone())))
}

/// Which glued group it belongs to.
fn bond(ui: &mut Ui, panel: &mut Panel<'_>, rock: &Rock) {
    let theme = panel.theme;
    parts::row(ui, theme, text::BONDED, |ui| {
        let groups: Vec<u32> = {
            let bonds = panel
                .desk
                .layout()
                .rocks
                .iter()
                .filter_map(|rock| rock.bonded);
            let mut groups: Vec<u32> = bonds.collect();
            groups.sort_unstable();
            groups.dedup();
            groups
        };
        let new = groups.last().map_or(1, |last| last + 1);
        let mut options: Vec<(Option<u32>, String)> = vec![(None, text::TO_NOTHING.to_owned())];
        options.extend(
            groups
                .iter()
                .map(|group| (Some(*group), text::group(*group))),
        );
        options.push((Some(new), text::NEW_GROUP.to_owned()));
        let options: Vec<(Option<u32>, &str)> = options
            .iter()
            .map(|(group, word)| (*group, word.as_str()))
            .collect();
        if let Some(bonded) = parts::choice(ui, theme, &options, |group| group == rock.bonded) {
            panel.edit(
                text::SET_BOND,
                put(&Rock {
                    bonded,
                    ..rock.clone()
                }),
            );
        }
    });
}

/// Extents of the outlines along the rock's own axes, in cm.
fn size_cm(rock: &Rock) -> DVec3 {
    if let Some(scan) = &rock.scan {
        let (low, high) = scan.bounds_cm();
        return high - low;
    }
    let extent = |points: &[DVec2]| {
        let low = points.iter().copied().reduce(DVec2::min);
        let high = points.iter().copied().reduce(DVec2::max);
        low.zip(high).map_or(DVec2::ZERO, |(low, high)| high - low)
    };
    let plan = extent(&rock.plan.points_cm);
    let front = extent(&rock.front.points_cm);
    DVec3::new(plan.x, plan.y, front.y)
}

/// The rock stretched along its own axes; a scan grows evenly by the one factor
/// that is not 1, since its measures belong together.
fn scaled(rock: &Rock, factor: DVec3) -> Rock {
    let stretch = |outline: &mut Outline, by: DVec2| {
        let openings = outline.openings.iter_mut().flatten();
        for point in outline.points_cm.iter_mut().chain(openings) {
            *point *= by;
        }
    };
    let mut rock = rock.clone();
    if let Some(scan) = &rock.scan {
        let factor = factor.x * factor.y * factor.z;
        rock.scan = Some(scan.scaled(factor));
        return rock;
    }
    stretch(&mut rock.plan, factor.truncate());
    stretch(&mut rock.front, DVec2::new(factor.x, factor.z));
    if let Some(end) = &mut rock.end {
        stretch(end, DVec2::new(factor.y, factor.z));
    }
    rock
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::shapes::Shape;

    #[test]
    fn a_stretched_rock_has_the_size_that_was_asked_for() {
        let rock = Shape::Arch.rock(1, DVec3::ZERO);
        let before = size_cm(&rock);
        let after = size_cm(&scaled(&rock, DVec3::new(2.0, 1.0, 0.5)));
        let expected = before * DVec3::new(2.0, 1.0, 0.5);
        assert!((after - expected).length() < 1e-9, "{after} for {expected}");
    }
}
