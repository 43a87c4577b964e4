//! Finds out where something is: behind which rock, in which part of the water.

use std::sync::Arc;

use glam::DVec3;

use crate::geometry::{Ray, RockSolid};
use crate::scene::finding::{Across, Along, Bearing, Level, Part, Place, Spot};
use crate::scene::{ItemId, Rock};
use crate::study::Study;
use crate::units::M_PER_CM;

/// Closer than this to a rock, water is named after it, in m.
const NEAR_ROCK_M: f64 = 0.07;

/// Share of the points that must be near a rock for its name to be used.
const NEAR_SHARE: f64 = 0.4;

/// As many points as are looked at to name a region.
const POINTS_MAX: usize = 160;

/// The tank and its rocks, ready to name places in them.
#[derive(Clone, Debug)]
pub struct Surroundings {
    size_m: DVec3,
    sand_m: f64,
    rocks: Vec<NamedRock>,
}

#[derive(Clone, Debug)]
struct NamedRock {
    id: ItemId,
    solid: Arc<RockSolid>,
}

impl Surroundings {
    /// The surroundings that a layout makes in its tank.
    pub fn new(study: &Study) -> Self {
        let named = |(rock, solid): (&Rock, &Arc<RockSolid>)| NamedRock {
            id: rock.id,
            solid: Arc::clone(solid),
        };
        Self {
            size_m: study.water().size_m,
            sand_m: study.water().sand_m,
            rocks: study.rocks().map(named).collect(),
        }
    }

    /// Inner length and width and height of the water, in m.
    pub fn size_m(&self) -> DVec3 {
        self.size_m
    }

    /// Height of the sand's top above the inner bottom, in m.
    pub fn sand_m(&self) -> f64 {
        self.sand_m
    }

    /// Id of the rock with this index in the layout.
    pub fn rock_id(&self, rock_idx: usize) -> Option<ItemId> {
        self.rocks.get(rock_idx).map(|rock| rock.id)
    }

    /// Where a region of water is that these points (in m) fill evenly: by the
    /// rock that it touches if there is one, else by its part of the tank; then
    /// how high. Empty input gives the whole tank.
    pub fn water_spot(&self, points_m: &[DVec3]) -> Spot {
        let points = thinned(points_m);
        let Some((low, high, middle)) = extent(&points) else {
            return Spot::Tank;
        };
        let beside = self.beside_rock(&points, middle);
        Spot::Water {
            near: beside.map(|(bearing, rock, _)| (bearing, rock)),
            other: beside.and_then(|(_, _, other)| other),
            part: self.part_of_tank(low, high, middle),
            is_cornered: self.is_cornered(low, high, middle),
        }
    }

    /// Part of the tank that holds one point, in m.
    pub fn part_of(&self, at_m: DVec3) -> Part {
        self.part_of_tank(at_m, at_m, at_m)
    }

    /// A point in the tank, in m, as a place of its own.
    pub fn point_place(&self, at_m: DVec3) -> Place {
        let spot = Spot::Water {
            near: None,
            other: None,
            part: self.part_of(at_m),
            is_cornered: false,
        };
        Place::at(spot, at_m / M_PER_CM, DVec3::ZERO)
    }

    /// Index of the rock right above a point, if any rock is.
    pub fn roof(&self, at_m: DVec3) -> Option<usize> {
        let up = Ray {
            origin_m: at_m,
            direction: DVec3::Z,
        };
        let hits = self.rocks.iter().enumerate().filter_map(|(idx, rock)| {
            let distance = rock.solid.first_hit(&up, self.size_m.z)?;
            Some((idx, distance))
        });
        hits.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(idx, _)| idx)
    }

    /// How the points lie to the rock that most of them are near, its id, and
    /// that of a second one if they lie between two.
    fn beside_rock(
        &self,
        points: &[DVec3],
        middle: DVec3,
    ) -> Option<(Bearing, ItemId, Option<ItemId>)> {
        let share = |flags: usize| flags as f64 / points.len() as f64;
        let mut near: Vec<(f64, &NamedRock)> = self
            .rocks
            .iter()
            .map(|rock| (share(near_count(&rock.solid, points)), rock))
            .filter(|(near_share, _)| *near_share >= NEAR_SHARE)
            .collect();
        // Equals in order of their ids, so that the order of the list is none.
        near.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.id.cmp(&b.1.id)));
        let (_, rock) = *near.first()?;
        let up = |at: &&DVec3| {
            let ray = Ray {
                origin_m: **at,
                direction: DVec3::Z,
            };
            rock.solid.first_hit(&ray, self.size_m.z).is_some()
        };
        if share(points.iter().filter(up).count()) >= 0.5 {
            return Some((Bearing::Under, rock.id, None));
        }
        if let Some((_, other)) = near.get(1) {
            let (low, high) = (rock.id.min(other.id), rock.id.max(other.id));
            return Some((Bearing::Between, low, Some(high)));
        }
        Some((side_of(&rock.solid, middle), rock.id, None))
    }

    /// Whether a region reaches two panes that meet, and has its middle in that
    /// corner.
    fn is_cornered(&self, low: DVec3, high: DVec3, middle: DVec3) -> bool {
        const AT_GLASS_M: f64 = 0.05;
        let at_end = low.x < AT_GLASS_M || high.x > self.size_m.x - AT_GLASS_M;
        let at_side = low.y < AT_GLASS_M || high.y > self.size_m.y - AT_GLASS_M;
        let part = self.part_of_tank(low, high, middle);
        let is_end = matches!(part.along, Along::Left | Along::Right);
        let is_side = matches!(part.across, Across::Front | Across::Back);
        at_end && at_side && is_end && is_side
    }

    fn part_of_tank(&self, low: DVec3, high: DVec3, middle: DVec3) -> Part {
        let third = |value: f64, size: f64| (3.0 * value / size).floor().clamp(0.0, 2.0) as usize;
        let ends = [Along::Left, Along::Middle, Along::Right];
        let sides = [Across::Front, Across::Middle, Across::Back];
        Part {
            along: if high.x - low.x > 0.6 * self.size_m.x {
                Along::All
            } else {
                ends[third(middle.x, self.size_m.x)]
            },
            across: if high.y - low.y > 0.6 * self.size_m.y {
                Across::All
            } else {
                sides[third(middle.y, self.size_m.y)]
            },
            level: self.level(low.z, high.z, middle.z),
        }
    }

    fn level(&self, low_m: f64, high_m: f64, middle_m: f64) -> Level {
        let column = (self.size_m.z - self.sand_m).max(1e-9);
        if high_m - low_m > 0.7 * column {
            return Level::All;
        }
        match (middle_m - self.sand_m) / column {
            share if share < 1.0 / 3.0 => Level::Low,
            share if share < 2.0 / 3.0 => Level::Middle,
            _ => Level::High,
        }
    }
}

/// Where a point lies seen from a rock.
pub(crate) fn side_of(solid: &RockSolid, at_m: DVec3) -> Bearing {
    let bounds = solid.bounds();
    let half = ((bounds.max_m - bounds.min_m) / 2.0).max(DVec3::splat(1e-6));
    let away = (at_m - (bounds.max_m + bounds.min_m) / 2.0) / half;
    if away.z > away.x.abs().max(away.y.abs()) {
        Bearing::Above
    } else if away.y.abs() >= away.x.abs() {
        if away.y > 0.0 {
            Bearing::Behind
        } else {
            Bearing::InFront
        }
    } else if away.x < 0.0 {
        Bearing::LeftOf
    } else {
        Bearing::RightOf
    }
}

fn near_count(solid: &RockSolid, points: &[DVec3]) -> usize {
    let near = |at: &&DVec3| {
        solid.bounds().distance(**at) < NEAR_ROCK_M && solid.signed_distance(**at) < NEAR_ROCK_M
    };
    points.iter().filter(near).count()
}

fn thinned(points: &[DVec3]) -> Vec<DVec3> {
    let stride = points.len().div_ceil(POINTS_MAX).max(1);
    points.iter().step_by(stride).copied().collect()
}

fn extent(points: &[DVec3]) -> Option<(DVec3, DVec3, DVec3)> {
    let first = *points.first()?;
    let (low, high, sum) = points
        .iter()
        .fold((first, first, DVec3::ZERO), |(low, high, sum), at| {
            (low.min(*at), high.max(*at), sum + *at)
        });
    Some((low, high, sum / points.len() as f64))
}
