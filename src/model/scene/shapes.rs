//! Starting shapes: ordinary outlines to be reshaped by hand.

use glam::{DVec2, DVec3};

use super::{ItemId, Outline, Rock};

/// A starting shape of a rock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// A rounded lump.
    Boulder,
    /// Flat and wide.
    Slab,
    /// Tall and narrow.
    Pillar,
    /// A lump with an opening at its foot.
    Arch,
    /// A foot with a shelf that leans out.
    Ledge,
    /// A low heap.
    Rubble,
}

impl Shape {
    /// All of them, in the order of the shelf.
    pub const ALL: [Self; 6] = [
        Self::Boulder,
        Self::Slab,
        Self::Pillar,
        Self::Arch,
        Self::Ledge,
        Self::Rubble,
    ];

    /// Its word.
    pub fn label(self) -> &'static str {
        match self {
            Self::Boulder => "boulder",
            Self::Slab => "slab",
            Self::Pillar => "pillar",
            Self::Arch => "arch",
            Self::Ledge => "ledge",
            Self::Rubble => "rubble",
        }
    }

    /// A rock of this shape whose base stands at `at_cm`.
    pub fn rock(self, id: ItemId, at_cm: DVec3) -> Rock {
        let (plan, front) = self.outlines();
        Rock {
            id,
            name: self.label().to_owned(),
            at_cm,
            turn_deg: 0.0,
            tilt_deg: 0.0,
            plan,
            front,
            end: None,
            scan: None,
            rounding_cm: 1.5,
            reflectance: 0.25,
            density_kg_per_l: 1.5,
            bonded: None,
            locked: false,
        }
    }

    #[expect(clippy::too_many_lines, reason = "a table of points")]
    fn outlines(self) -> (Outline, Outline) {
        match self {
            Self::Boulder => (
                curve(&[
                    (-11.0, -3.0),
                    (-4.0, -8.0),
                    (6.0, -7.5),
                    (11.0, -1.0),
                    (8.0, 6.5),
                    (-1.0, 8.5),
                    (-9.0, 5.0),
                ]),
                curve(&[
                    (-10.0, 0.0),
                    (-11.5, 6.0),
                    (-6.0, 14.0),
                    (2.0, 16.0),
                    (9.0, 11.0),
                    (11.5, 4.0),
                    (9.5, 0.0),
                ]),
            ),
            Self::Slab => (
                curve(&[
                    (-15.0, -2.0),
                    (-8.0, -9.0),
                    (5.0, -8.0),
                    (15.0, -4.0),
                    (13.0, 6.0),
                    (2.0, 9.0),
                    (-11.0, 7.0),
                ]),
                curve(&[
                    (-14.0, 0.0),
                    (-15.0, 3.0),
                    (-6.0, 5.5),
                    (6.0, 5.0),
                    (15.0, 3.5),
                    (14.0, 0.0),
                ]),
            ),
            Self::Pillar => (
                curve(&[
                    (-5.5, -1.0),
                    (-1.5, -5.0),
                    (4.0, -4.5),
                    (6.0, 1.0),
                    (2.0, 5.0),
                    (-4.0, 4.0),
                ]),
                curve(&[
                    (-7.0, 0.0),
                    (-5.5, 9.0),
                    (-6.0, 20.0),
                    (-2.0, 28.0),
                    (4.0, 26.0),
                    (5.5, 14.0),
                    (7.0, 0.0),
                ]),
            ),
            Self::Arch => (
                curve(&[
                    (-16.0, -2.0),
                    (-8.0, -6.5),
                    (4.0, -6.0),
                    (16.0, -3.0),
                    (15.0, 4.0),
                    (3.0, 6.5),
                    (-12.0, 5.5),
                ]),
                Outline {
                    openings: vec![points(&[
                        (-7.0, 0.0),
                        (7.5, 0.0),
                        (6.5, 6.5),
                        (2.0, 10.5),
                        (-3.0, 10.0),
                        (-6.5, 5.5),
                    ])],
                    ..curve(&[
                        (-16.0, 0.0),
                        (-15.0, 9.0),
                        (-8.0, 17.5),
                        (3.0, 19.0),
                        (13.0, 13.5),
                        (16.5, 5.0),
                        (15.5, 0.0),
                    ])
                },
            ),
            Self::Ledge => (
                curve(&[
                    (-14.0, -4.0),
                    (-5.0, -8.5),
                    (9.0, -7.0),
                    (14.0, 0.0),
                    (10.0, 7.5),
                    (-3.0, 8.0),
                    (-12.0, 5.0),
                ]),
                curve(&[
                    (-12.0, 0.0),
                    (-13.0, 8.0),
                    (-11.0, 15.0),
                    (0.0, 17.0),
                    (13.0, 15.5),
                    (13.5, 12.5),
                    (3.0, 11.0),
                    (-1.0, 6.0),
                    (0.0, 0.0),
                ]),
            ),
            Self::Rubble => (
                curve(&[
                    (-8.0, -2.0),
                    (-2.0, -6.0),
                    (5.0, -5.0),
                    (8.5, 0.5),
                    (3.0, 5.5),
                    (-5.0, 5.0),
                ]),
                curve(&[
                    (-8.0, 0.0),
                    (-7.5, 2.0),
                    (-2.0, 5.0),
                    (3.0, 4.0),
                    (8.0, 2.0),
                    (8.5, 0.0),
                ]),
            ),
        }
    }
}

fn points(corners: &[(f64, f64)]) -> Vec<DVec2> {
    corners.iter().copied().map(DVec2::from).collect()
}

fn curve(corners: &[(f64, f64)]) -> Outline {
    Outline {
        points_cm: points(corners),
        curved: true,
        openings: vec![],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::solids::rock_solid;

    #[test]
    fn every_shape_is_a_sound_solid_that_stands_on_its_base() {
        for shape in Shape::ALL {
            let rock = shape.rock(1, DVec3::new(30.0, 30.0, 0.0));
            for outline in [&rock.plan, &rock.front] {
                assert_eq!(
                    outline.curve_cm().self_crossing(),
                    None,
                    "{} crosses itself",
                    shape.label()
                );
                assert!(
                    outline.curve_cm().signed_area().abs() > 20.0,
                    "{} is too small to see",
                    shape.label()
                );
            }
            let bounds = rock_solid(&rock).bounds();
            assert!(
                bounds.min_m.z > -1e-12,
                "{} sinks to {}",
                shape.label(),
                bounds.min_m.z
            );
        }
    }

    #[test]
    fn the_arch_is_open_and_the_ledge_leans_out() {
        let arch = rock_solid(&Shape::Arch.rock(1, DVec3::ZERO));
        assert!(
            !arch.contains(DVec3::new(0.0, 0.0, 0.04)),
            "the arch is filled"
        );
        assert!(
            arch.contains(DVec3::new(0.0, 0.0, 0.14)),
            "the arch has no crown"
        );
        let ledge = rock_solid(&Shape::Ledge.rock(1, DVec3::ZERO));
        assert!(
            ledge.contains(DVec3::new(0.08, 0.0, 0.14)),
            "the ledge has no shelf"
        );
        assert!(
            !ledge.contains(DVec3::new(0.08, 0.0, 0.06)),
            "the ledge is filled below"
        );
    }
}
