//! From the sketch to solids in metres.

use std::sync::Arc;

use glam::{DMat3, DVec2, DVec3};

use super::{Coral, Layout, Outline, Rock};
use crate::catalog::{Catalog, Form};
use crate::geometry::solid::{Prism, RockShape, Scanned};
use crate::geometry::{Bounds, Polygon, Ray, RockSolid, Rockwork};
use crate::units::M_PER_CM;

/// The solids of all rocks of a layout, in its order.
pub fn rockwork(layout: &Layout) -> Rockwork {
    Rockwork {
        rocks: layout.rocks.iter().map(rock_solid).map(Arc::new).collect(),
    }
}

/// The solid of one rock.
pub fn rock_solid(rock: &Rock) -> RockSolid {
    if let Some(scan) = &rock.scan {
        let turns = (rock.turn_deg.to_radians(), rock.tilt_deg.to_radians());
        let shape = Scanned {
            grid: Arc::clone(&scan.grid),
            step_m: scan.step_cm * M_PER_CM,
            low_m: scan.low_cm * M_PER_CM,
        };
        return RockSolid::scanned(shape, turns, rock.at_cm * M_PER_CM);
    }
    RockSolid::new(RockShape {
        plan: prism(&rock.plan, &rock.plan.curve_cm()),
        front: prism(&rock.front, &rock.front.standing_curve_cm()),
        end: rock
            .end
            .as_ref()
            .map(|end| prism(end, &end.standing_curve_cm())),
        rounding_m: rock.rounding_cm * M_PER_CM,
        tilt_rad: rock.tilt_deg.to_radians(),
        turn_rad: rock.turn_deg.to_radians(),
        at_m: rock.at_cm * M_PER_CM,
    })
}

/// Whether two rocks have the same solid: the same shape in the same place.
pub fn has_same_solid(a: &Rock, b: &Rock) -> bool {
    // Every field is named, so that a new one is thought of here.
    let Rock {
        at_cm,
        turn_deg,
        tilt_deg,
        plan,
        front,
        end,
        scan,
        rounding_cm,
        id: _,
        name: _,
        reflectance: _,
        density_kg_per_l: _,
        bonded: _,
        locked: _,
    } = a;
    (at_cm, turn_deg, tilt_deg) == (&b.at_cm, &b.turn_deg, &b.tilt_deg)
        && (plan, front, end) == (&b.plan, &b.front, &b.end)
        && *rounding_cm == b.rounding_cm
        && *scan == b.scan
}

fn prism(outline: &Outline, curve_cm: &Polygon) -> Prism {
    let to_m = |points: &[DVec2]| Polygon::new(points.iter().map(|p| *p * M_PER_CM).collect());
    Prism {
        outline: to_m(curve_cm.points()),
        openings: outline.openings.iter().map(|hole| to_m(hole)).collect(),
    }
}

/// The room that a coral takes: half an ellipsoid on its mount.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoralBody {
    /// Middle of its base, in m.
    pub base_m: DVec3,
    /// Its own axes in the tank: across, across, and along its facing.
    pub tank_from_coral: DMat3,
    /// Half its width along the first two axes and its height, in m.
    pub reach_m: DVec3,
    /// Share of light stopped by the body, 0 to 1.
    pub opacity: f64,
    /// Share of light that it throws back.
    pub reflectance: f64,
}

/// The room that a coral of this growth form takes, turned with its facing;
/// without a form, as for one that the catalog does not know.
///
/// Its reflectance lies within the 0.05–0.15 of live coral over 400–700 nm
/// (Hochberg et al. 2003, MEMORY).
pub fn coral_body(coral: &Coral, form: Option<Form>) -> CoralBody {
    let facing = coral.facing.normalize_or(DVec3::Z);
    // Across x as far as the facing allows, so that sizes keep their meaning.
    let sideways = if facing.x.abs() < 0.9 {
        DVec3::X
    } else {
        DVec3::Y
    };
    let first = (sideways - facing * sideways.dot(facing)).normalize_or(DVec3::X);
    let second = facing.cross(first);
    let size_m = coral.size_cm * M_PER_CM;
    CoralBody {
        base_m: coral.at_cm * M_PER_CM,
        tank_from_coral: DMat3::from_cols(first, second, facing),
        reach_m: DVec3::new(size_m.x / 2.0, size_m.y / 2.0, size_m.z).max(DVec3::splat(1e-4)),
        opacity: opacity(form),
        reflectance: 0.1,
    }
}

/// The growth form of a coral, if the catalog knows it.
pub fn form_of(coral: &Coral, catalog: &Catalog) -> Option<Form> {
    catalog.entry(&coral.entry).map(|entry| entry.form)
}

/// Whether a coral lies on its rock as a mat or a crust does: a few millimeters
/// thick, it neither shades nor stops water more than the rock beneath.
pub fn lies_flat(coral: &Coral, catalog: &Catalog) -> bool {
    form_of(coral, catalog).is_some_and(Form::creeps)
}

/// The rooms of the corals that stand in the way of light and water.
pub fn standing_corals(layout: &Layout, catalog: &Catalog) -> Vec<CoralBody> {
    let standing = (layout.corals.iter()).filter(|coral| !lies_flat(coral, catalog));
    standing
        .map(|coral| coral_body(coral, form_of(coral, catalog)))
        .collect()
}

/// Share of light that a colony's outline stops, by the growth form of its
/// catalog entry; the rest passes between branches or polyps.
///
/// Assumptions, not measurements: solid forms stop all, open ones about what
/// the gaps in photographs from above suggest. An entry that is not in the
/// catalog counts as stopping four fifths.
fn opacity(form: Option<Form>) -> f64 {
    let Some(form) = form else {
        return 0.8;
    };
    match form {
        Form::Massive | Form::Encrusting | Form::Clam | Form::FreeLiving | Form::Disc => 1.0,
        Form::Mat | Form::Plating | Form::Table => 0.95,
        Form::Phaceloid => 0.85,
        Form::Branching => 0.75,
        Form::Tree => 0.65,
        Form::Fan => 0.5,
    }
}

impl CoralBody {
    /// A place in the coral's frame, in which the body is half the unit ball.
    fn unit_from_tank(&self, v: DVec3) -> DVec3 {
        self.tank_from_coral.transpose() * v / self.reach_m
    }

    /// Whether `p_m` lies in it.
    pub fn contains(&self, p_m: DVec3) -> bool {
        let p = self.unit_from_tank(p_m - self.base_m);
        p.z >= 0.0 && p.length_squared() < 1.0
    }

    /// Where a ray enters it within `reach_m`; `None` for a ray that starts
    /// inside, so that a coral never shades its own middle.
    pub fn first_hit(&self, ray: &Ray, reach_m: f64) -> Option<f64> {
        // Most rays pass far away: first the ball around it.
        let to_base = self.base_m - ray.origin_m;
        let along = to_base.dot(ray.direction);
        let radius = self.reach_m.max_element();
        if to_base.length_squared() - along * along > radius * radius
            || along < -radius
            || along - radius > reach_m
        {
            return None;
        }
        let from = self.unit_from_tank(-to_base);
        let step = self.unit_from_tank(ray.direction);
        let (a, b, c) = (
            step.length_squared(),
            from.dot(step),
            from.length_squared() - 1.0,
        );
        let root = b * b - a * c;
        if root <= 0.0 {
            return None;
        }
        let (mut t_in, mut t_out) = ((-b - root.sqrt()) / a, (-b + root.sqrt()) / a);
        let base = -from.z / step.z;
        if step.z > 0.0 {
            t_in = t_in.max(base);
        } else if step.z < 0.0 {
            t_out = t_out.min(base);
        } else if from.z < 0.0 {
            return None;
        }
        (t_in < t_out && t_in > 0.0 && t_in <= reach_m).then_some(t_in)
    }

    /// The box around it in the tank.
    pub fn bounds(&self) -> Bounds {
        // A half ellipsoid lies within the whole one.
        let spread = DMat3::from_cols(
            self.tank_from_coral.x_axis * self.reach_m.x,
            self.tank_from_coral.y_axis * self.reach_m.y,
            self.tank_from_coral.z_axis * self.reach_m.z,
        )
        .transpose();
        let half = DVec3::new(
            spread.x_axis.length(),
            spread.y_axis.length(),
            spread.z_axis.length(),
        );
        Bounds {
            min_m: self.base_m - half,
            max_m: self.base_m + half,
        }
    }

    /// Points on it with outward normal and area: two rings of six and a cap,
    /// enough for what a coral throws back.
    pub fn skin(&self) -> Vec<(DVec3, DVec3, f64)> {
        let half_area = self.area_m2();
        let mut skin = Vec::with_capacity(13);
        let mut add = |unit: DVec3, area_m2: f64| {
            let at = self.base_m + self.tank_from_coral * (unit * self.reach_m);
            let normal = self.tank_from_coral * (unit / self.reach_m).normalize_or(DVec3::Z);
            skin.push((at, normal, area_m2));
        };
        // Equal shares of the unit half sphere: cap and rings by height.
        add(DVec3::Z, half_area / 13.0);
        for (ring, height) in [(0.0, 0.69_f64), (0.5, 0.23)] {
            for k in 0..6 {
                let turn = (f64::from(k) + ring) * std::f64::consts::TAU / 6.0;
                let out = (1.0 - height * height).sqrt();
                add(
                    DVec3::new(turn.cos() * out, turn.sin() * out, height),
                    half_area / 13.0,
                );
            }
        }
        skin
    }

    /// Outer surface without the base, in m²: half of Thomsen's ellipsoid
    /// (exponent 1.6075, within 1.1 %). MEMORY.
    pub fn area_m2(&self) -> f64 {
        const EXPONENT: f64 = 1.6075;
        let r = self.reach_m;
        let mean = [(r.x * r.y), (r.x * r.z), (r.y * r.z)]
            .map(|product| product.powf(EXPONENT))
            .iter()
            .sum::<f64>()
            / 3.0;
        std::f64::consts::TAU * mean.powf(1.0 / EXPONENT)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::{Mount, Support};

    fn dome() -> CoralBody {
        let coral = Coral {
            id: 1,
            entry: "none".to_owned(),
            name: String::new(),
            at_cm: DVec3::new(10.0, 10.0, 5.0),
            facing: DVec3::X,
            size_cm: DVec3::new(6.0, 8.0, 3.0),
            mount: Mount::Gel,
            on: Support::Sand,
            since: None,
            note: String::new(),
            locked: false,
        };
        coral_body(&coral, None)
    }

    #[test]
    fn a_coral_stands_out_along_its_facing() {
        let dome = dome();
        let at = |x: f64| DVec3::new(x, 0.1, 0.05);
        assert!(dome.contains(at(0.125)), "2.5 cm out of 3");
        assert!(!dome.contains(at(0.131)), "3.1 cm out");
        assert!(!dome.contains(at(0.099)), "behind its base");
        let ray = |from: f64, step: f64| Ray {
            origin_m: at(from),
            direction: DVec3::new(step, 0.0, 0.0),
        };
        let hit = dome.first_hit(&ray(0.2, -1.0), 1.0);
        assert!(hit.is_some_and(|t| (t - 0.07).abs() < 1e-9), "tip: {hit:?}");
        let hit = dome.first_hit(&ray(0.0, 1.0), 1.0);
        assert!(hit.is_some_and(|t| (t - 0.1).abs() < 1e-9), "base: {hit:?}");
        assert_eq!(dome.first_hit(&ray(0.12, 1.0), 1.0), None, "from inside");
        assert_eq!(dome.first_hit(&ray(0.2, -1.0), 0.06), None, "out of reach");
    }

    #[test]
    fn its_skin_adds_up_to_half_an_ellipsoid() {
        let skin: f64 = dome().skin().iter().map(|(_, _, area)| area).sum();
        // Half of the 6 × 8 × 6 cm ellipsoid, by numerical integration of its
        // exact area (semi-axes 3, 4, 3 cm): 69.5 cm²; Thomsen is within 1.1 %.
        assert!(
            (skin * 1e4 - 69.5).abs() < 0.8,
            "skin is {} cm²",
            skin * 1e4
        );
    }
}
