//! Light straight from the lamps: refracted at the flat surface, mirrored in
//! the panes by image points, thinned by the water.
//!
//! A flat pane under a flat surface acts as an exact mirror, so that a
//! receiver's image in the pane sees the lamp along one unfolded path. An
//! image counts if that path enters the water inside the tank's own opening.

use glam::{DVec2, DVec3};

use super::basin::{self, Basin, Obstacles};
use super::fixture::Fixture;
use super::optics;
use crate::geometry::Ray;

/// One path from a point of a lamp to a receiver.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Arrival {
    /// Unit direction from the receiver towards the light.
    pub(super) to_light: DVec3,
    /// PPFD on a plane that faces it, for one µmol/s of the lamp, in 1/m².
    pub(super) facing_per_m2: f64,
    /// Where the path enters the water; the receiver itself above water.
    pub(super) entry_m: DVec3,
    /// The point of the lamp.
    pub(super) emitter_m: DVec3,
    /// How often it is mirrored along x and y; the sign tells which pane first.
    pub(super) order: [i32; 2],
}

/// Most meetings with black panes along one axis: a second one leaves less than
/// one in a thousand of what it meets.
const BLACK_MAX: u32 = 1;

/// Images of one coordinate of a receiver that light can reach.
struct Images {
    n: usize,
    at: [(i32, f64); IMAGES_MAX],
}

/// Per axis; more would need a tank ten times deeper than wide.
const IMAGES_MAX: usize = 24;

impl Images {
    fn new(basin: &Basin, axis: usize, at: f64, reach_m: f64, mirrors: bool) -> Self {
        let mut images = Self {
            n: 1,
            at: [(0, at); IMAGES_MAX],
        };
        let size = basin.size_m[axis];
        let [low, high] = basin.clear[axis];
        for high_first in [false, true] {
            let (first, second) = if high_first { (high, low) } else { (low, high) };
            let is_black = [u32::from(!first), u32::from(!second)];
            for order in 1..IMAGES_MAX as i32 / 2 {
                let i = if high_first { order } else { -order };
                let image = if i % 2 == 0 {
                    at + f64::from(i) * size
                } else {
                    f64::from(i + 1) * size - at
                };
                let outside = (-image).max(image - size);
                let n = order as u32;
                let n_black = is_black[0] * n.div_ceil(2) + is_black[1] * (n / 2);
                if !mirrors || n_black > BLACK_MAX || outside > reach_m {
                    break;
                }
                images.at[images.n] = (i, image);
                images.n += 1;
            }
        }
        images
    }

    fn all(&self) -> &[(i32, f64)] {
        &self.at[..self.n]
    }
}

/// Calls `visit` with every path by which `fixture` can light a point, shade
/// left out; without `mirrors` only with the unmirrored ones.
pub(super) fn arrivals(
    basin: &Basin,
    fixture: &Fixture,
    at_m: DVec3,
    mirrors: bool,
    mut visit: impl FnMut(&Arrival),
) {
    if at_m.z >= basin.surface_m {
        arrivals_in_air(fixture, at_m, &mut visit);
        return;
    }
    let depth_m = basin.surface_m - at_m.z;
    let reach_m = optics::reach_per_depth(basin.n) * depth_m;
    let x_images = Images::new(basin, 0, at_m.x, reach_m, mirrors);
    let y_images = Images::new(basin, 1, at_m.y, reach_m, mirrors);
    for emitter in &fixture.emitters {
        let height_m = emitter.at_m.z - basin.surface_m;
        if height_m < 1e-4 {
            continue;
        }
        for &(i, x) in x_images.all() {
            for &(j, y) in y_images.all() {
                let image = Image {
                    order: [i, j],
                    at_m: DVec2::new(x, y),
                };
                let run = image.at_m - emitter.at_m.truncate();
                if let Some(mut arrival) = through_surface(
                    basin,
                    fixture,
                    emitter.at_m,
                    (height_m, depth_m),
                    (run, &image),
                ) {
                    arrival.facing_per_m2 *= emitter.share;
                    visit(&arrival);
                }
            }
        }
    }
}

struct Image {
    order: [i32; 2],
    at_m: DVec2,
}

fn through_surface(
    basin: &Basin,
    fixture: &Fixture,
    emitter_m: DVec3,
    (height_m, depth_m): (f64, f64),
    (run, image): (DVec2, &Image),
) -> Option<Arrival> {
    let run_m = run.length();
    let heading = if run_m > 1e-12 { run / run_m } else { DVec2::X };
    // Most images enter beyond the pane that they are mirrored in: where even
    // the nearest entry does, the path need not be found.
    let least_m = optics::entry_run_least(height_m, depth_m, run_m, basin.n);
    let nearest = emitter_m.truncate() + heading * least_m;
    let is_beyond = |axis: usize| {
        (nearest[axis] < 0.0 && heading[axis] < 0.0)
            || (nearest[axis] > basin.size_m[axis] && heading[axis] > 0.0)
    };
    if is_beyond(0) || is_beyond(1) {
        return None;
    }
    let path = optics::refract(height_m, depth_m, run_m, basin.n);
    let entry = emitter_m.truncate() + heading * path.air_run_m;
    let inside = entry.x >= 0.0
        && entry.y >= 0.0
        && entry.x <= basin.size_m[0]
        && entry.y <= basin.size_m[1];
    if !inside {
        return None;
    }
    let sin_air = path.sin_water * basin.n;
    let intensity = fixture.intensity((heading * sin_air).extend(-path.cos_air));
    if intensity <= 0.0 {
        return None;
    }
    let mut to_light = (-heading * path.sin_water).extend(path.cos_water);
    let mut left = optics::air_to_water(path.cos_air, basin.n)
        * (-basin.absorption_per_m * depth_m / path.cos_water).exp();
    for axis in 0..2 {
        let order = image.order[axis];
        if order != 0 {
            // Low and high panes take turns; a positive order meets the high
            // one first.
            let cosine = to_light[axis].abs();
            let (first, n) = (order > 0, order.abs());
            left *= basin.pane(axis, first, cosine).powi((n + 1) / 2);
            if n > 1 {
                left *= basin.pane(axis, !first, cosine).powi(n / 2);
            }
        }
        if order % 2 != 0 {
            to_light[axis] = -to_light[axis];
        }
    }
    Some(Arrival {
        to_light,
        facing_per_m2: intensity * path.spread_per_m2 / path.cos_water * left,
        entry_m: entry.extend(basin.surface_m),
        emitter_m,
        order: image.order,
    })
}

fn arrivals_in_air(fixture: &Fixture, at_m: DVec3, visit: &mut impl FnMut(&Arrival)) {
    for emitter in &fixture.emitters {
        let way = emitter.at_m - at_m;
        let squared = way.length_squared();
        if squared > 1e-12 {
            let to_light = way / squared.sqrt();
            visit(&Arrival {
                to_light,
                facing_per_m2: emitter.share * fixture.intensity(-to_light) / squared,
                entry_m: at_m,
                emitter_m: emitter.at_m,
                order: [0, 0],
            });
        }
    }
}

/// Share of an arrival that nothing stops; `above` says whether anything
/// stands out of the water.
pub(super) fn open_share(
    basin: &Basin,
    obstacles: &Obstacles,
    above: bool,
    at_m: DVec3,
    arrival: &Arrival,
) -> f64 {
    let mut share = 1.0;
    if at_m.z < basin.surface_m {
        share = basin::open_to_surface(basin, obstacles, at_m, arrival.to_light);
    }
    if above && share > 0.0 {
        let way = arrival.emitter_m - arrival.entry_m;
        let ray = Ray {
            origin_m: arrival.entry_m,
            direction: way.normalize_or(DVec3::Z),
        };
        share *= obstacles.open_share(&ray, way.length());
    }
    share
}
