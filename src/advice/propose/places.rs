//! Where a pump can hang, and where it can point.

use glam::DVec3;

use super::{GearPane, ProposalOptions, PumpSize};
use crate::geometry::Rockwork;
use crate::scene::{Layout, Programme, Pump, PumpKind, aim};
use crate::study::Study;
use crate::units::M_PER_CM;

/// Distance of the outlet from its wall, in m.
const FROM_WALL_M: f64 = 0.04;

/// Distance between places along a wall, in m.
const STEP_M: f64 = 0.15;

/// Axis below the surface and above the sand, at least, in m.
///
/// **Source** COMMON PRACTICE: 8 to 15 cm below the surface, 10 to 15 cm above
/// the sand.
const BELOW_SURFACE_M: f64 = 0.10;
const ABOVE_SAND_M: f64 = 0.10;

/// Depth in front of a back pane for a pump to hang there, in m. COMMON PRACTICE.
const BACK_DEPTH_M: f64 = 0.45;

/// Distance from outlet and intake to rock, coral or another pump, in m.
/// COMMON PRACTICE: 3 to 5 cm to anything.
const CLEAR_M: f64 = 0.05;

/// The first stretch of the jet that must be free, in m.
const FREE_RUN_M: f64 = 0.15;

/// A place on a wall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Place {
    /// Middle of the outlet, in m.
    pub(super) at_m: DVec3,
    /// Straight into the tank, about the vertical, in degrees.
    pub(super) inwards_deg: f64,
}

/// A pump that might be added.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Candidate {
    pub(super) size: PumpSize,
    pub(super) place: Place,
    pub(super) turn_deg: f64,
    pub(super) tilt_deg: f64,
}

impl Candidate {
    pub(super) fn aim(&self) -> DVec3 {
        aim(self.turn_deg, self.tilt_deg)
    }

    pub(super) fn pump(&self, layout: &Layout) -> Pump {
        Pump {
            id: layout.free_id(),
            name: "proposed pump".to_owned(),
            kind: PumpKind::Propeller,
            at_cm: rounded(self.place.at_m / M_PER_CM),
            turn_deg: self.turn_deg,
            tilt_deg: self.tilt_deg,
            flow_lph: self.size.flow_lph,
            outlet_cm: self.size.outlet_cm,
            throttle: 1.0,
            programme: Programme::Steady,
            power_w: None,
            by_hour: Vec::new(),
            guarded: false,
            measured: None,
            locked: false,
        }
    }
}

/// To half a centimeter, as a hand can place it.
fn rounded(at_cm: DVec3) -> DVec3 {
    (at_cm * 2.0).round() / 2.0
}

/// Room along the walls of a layout.
pub(super) struct Walls {
    size_m: DVec3,
    sand_m: f64,
    rockwork: Rockwork,
    /// Other gear and corals, with the distance to keep.
    others: Vec<(DVec3, f64)>,
    radius_m: f64,
    panes: Vec<GearPane>,
}

impl Walls {
    pub(super) fn new(study: &Study, options: &ProposalOptions) -> Self {
        let (tank, layout) = (&study.scene().tank, study.layout());
        let pumps = layout
            .pumps
            .iter()
            .map(|pump| (pump.at_cm * M_PER_CM, 0.10));
        let returns = tank
            .returns
            .iter()
            .map(|nozzle| (nozzle.at_cm * M_PER_CM, 0.08));
        let corals = layout.corals.iter().map(|coral| {
            let width_cm = coral.size_cm.x.max(coral.size_cm.y);
            (coral.at_cm * M_PER_CM, CLEAR_M + width_cm * M_PER_CM / 2.0)
        });
        let widest_cm = (options.sizes.iter())
            .map(|size| size.outlet_cm)
            .fold(0.0, f64::max);
        Self {
            size_m: study.water().size_m,
            sand_m: study.water().sand_m,
            rockwork: study.rockwork().clone(),
            others: pumps.chain(returns).chain(corals).collect(),
            radius_m: widest_cm * M_PER_CM / 2.0,
            panes: options.panes.clone(),
        }
    }

    /// Places along the side walls and, in deep tanks, the back wall, where a
    /// pump has room.
    pub(super) fn places(&self) -> Vec<Place> {
        let size = self.size_m;
        let mut places = Vec::new();
        for height in self.heights_m() {
            let sides = [
                (GearPane::Left, FROM_WALL_M, 0.0),
                (GearPane::Right, size.x - FROM_WALL_M, 180.0),
            ];
            for y in steps(size.y) {
                for (_, x, inwards_deg) in sides.iter().filter(|side| self.may_hang(side.0)) {
                    let (x, inwards_deg) = (*x, *inwards_deg);
                    places.push(Place {
                        at_m: DVec3::new(x, y, height),
                        inwards_deg,
                    });
                }
            }
            if size.y >= BACK_DEPTH_M && self.may_hang(GearPane::Back) {
                for x in steps(size.x) {
                    places.push(Place {
                        at_m: DVec3::new(x, size.y - FROM_WALL_M, height),
                        inwards_deg: 270.0,
                    });
                }
            }
        }
        places.retain(|place| self.has_room(place.at_m));
        places
    }

    fn may_hang(&self, pane: GearPane) -> bool {
        self.panes.contains(&pane)
    }

    fn heights_m(&self) -> Vec<f64> {
        let low = self.sand_m + ABOVE_SAND_M + self.radius_m;
        let high = self.size_m.z - BELOW_SURFACE_M;
        if high - low < 0.08 {
            return vec![f64::midpoint(low, high.max(low))];
        }
        vec![low, f64::midpoint(low, high), high]
    }

    pub(super) fn has_room(&self, at_m: DVec3) -> bool {
        let inside = at_m.cmpge(DVec3::splat(0.02)).all()
            && at_m.cmple(self.size_m - 0.02).all()
            && at_m.z >= self.sand_m + 0.05;
        let clear = self.rockwork.nearest(at_m).is_none_or(|(d, _)| d > CLEAR_M);
        let apart = |&(other, keep): &(DVec3, f64)| other.distance(at_m) > keep + self.radius_m;
        inside && clear && self.others.iter().all(apart)
    }

    /// Whether a pump here may point there: into the tank, not at the surface
    /// or the bed close by, the first stretch free of rock.
    pub(super) fn may_point(&self, candidate: &Candidate) -> bool {
        let (at_m, along) = (candidate.place.at_m, candidate.aim());
        let inwards = aim(candidate.place.inwards_deg, 0.0);
        let run_end = at_m + along * FREE_RUN_M;
        let free = (1..=5).all(|step| {
            let p = at_m + along * (FREE_RUN_M * f64::from(step) / 5.0);
            self.rockwork
                .nearest(p)
                .is_none_or(|(d, _)| d > self.radius_m)
        });
        let clear_of_corals = self.others.iter().all(|&(other, keep)| {
            let ahead = (other - at_m).dot(along);
            let beside = (other - at_m - along * ahead).length();
            !(0.0..FREE_RUN_M).contains(&ahead) || beside > keep
        });
        along.dot(inwards) > 0.2
            && free
            && clear_of_corals
            && run_end.z < self.size_m.z - 0.04
            && run_end.z > self.sand_m + 0.04
    }

    /// Whether a jet from here would reach a point before any rock.
    pub(super) fn sees(&self, at_m: DVec3, target_m: DVec3) -> bool {
        let away = target_m - at_m;
        let ray = crate::geometry::Ray {
            origin_m: at_m,
            direction: away.normalize_or(DVec3::X),
        };
        !self.rockwork.blocks(&ray, away.length())
    }
}

/// Other places on these panes for a pump of a layout, as far from where it
/// hangs and from each other as they can be, each with an aim that a jet may
/// have there: straight in, or else at the middle of the water.
pub fn other_hangs(study: &Study, pump_idx: usize, panes: &[GearPane], n_max: usize) -> Vec<Pump> {
    let Some(own) = study.layout().pumps.get(pump_idx) else {
        return Vec::new();
    };
    let size = PumpSize {
        flow_lph: own.flow_lph,
        outlet_cm: own.outlet_cm,
    };
    let options = ProposalOptions {
        sizes: vec![size],
        panes: panes.to_vec(),
        ..ProposalOptions::default()
    };
    let mut others = study.layout().clone();
    others.pumps.remove(pump_idx);
    let study = study.with_layout(others);
    let walls = Walls::new(&study, &options);
    let middle_m = study.water().size_m / 2.0;
    let aimed = |place: Place| {
        let inwards = (place.inwards_deg, 0.0);
        let aims = [inwards, aim_at(place.at_m, middle_m)];
        let candidates = aims.map(|(turn_deg, tilt_deg)| Candidate {
            size,
            place,
            turn_deg,
            tilt_deg,
        });
        candidates.into_iter().find(|it| walls.may_point(it))
    };
    let mut free: Vec<Candidate> = walls.places().into_iter().filter_map(aimed).collect();
    let mut taken_m = vec![own.at_cm * M_PER_CM];
    let mut found = Vec::new();
    while found.len() < n_max && !free.is_empty() {
        let apart_m = |it: &Candidate| {
            let ways = taken_m.iter().map(|at_m| at_m.distance(it.place.at_m));
            ways.fold(f64::INFINITY, f64::min)
        };
        let far = (0..free.len()).reduce(|best, idx| {
            if apart_m(&free[idx]) > apart_m(&free[best]) {
                idx
            } else {
                best
            }
        });
        let taken = free.remove(far.unwrap_or_default());
        // Nearer than a hand's width it is the same place.
        if apart_m(&taken) < 0.08 {
            break;
        }
        taken_m.push(taken.place.at_m);
        found.push(Pump {
            at_cm: rounded(taken.place.at_m / M_PER_CM),
            turn_deg: taken.turn_deg,
            tilt_deg: taken.tilt_deg,
            ..own.clone()
        });
    }
    found
}

fn steps(length_m: f64) -> Vec<f64> {
    const MARGIN_M: f64 = 0.08;
    let free = (length_m - 2.0 * MARGIN_M).max(0.0);
    let n = (free / STEP_M).round().max(1.0) as usize;
    (0..=n)
        .map(|i| MARGIN_M + free * i as f64 / n as f64)
        .collect()
}

/// The aim from a place to a point, as turn and tilt in degrees, the tilt kept
/// within 30°.
pub(super) fn aim_at(at_m: DVec3, target_m: DVec3) -> (f64, f64) {
    let away = target_m - at_m;
    let turn = away.y.atan2(away.x).to_degrees();
    let tilt = away.z.atan2(away.truncate().length()).to_degrees();
    (turn.round(), tilt.clamp(-30.0, 30.0).round())
}
