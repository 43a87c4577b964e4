//! What a keeper would not accept of a place for a coral. The same rules choose
//! berths and judge corals that stand already.

use glam::DVec3;

use crate::catalog::{ContactRule, Entry, Seat, mount_method};
use crate::fit::{Fitter, Site};
use crate::growth::Cylinder;
use crate::light::SurfaceOwner;
use crate::room::{reach_between_m, required_gap_m};
use crate::scene::{ItemId, Mount, Scene};
use crate::units::M_PER_CM;

/// Clear water between a grown coral and the sand, in m. COMMON PRACTICE: what
/// lies on the sand is buried or sanded over.
pub(crate) const ABOVE_SAND_M: f64 = 0.03;

/// Clear water between a coral and the surface, in m. COMMON PRACTICE.
const BELOW_SURFACE_M: f64 = 0.02;

/// Sand that a coral set into it needs unless its entry says otherwise, in m.
///
/// **Source** COMMON PRACTICE: a shallow bed has 2 to 5 cm.
const SAND_DEPTH_M: f64 = 0.02;

/// How far a body reaches past rock before it counts as inside it, in m.
const BURIED_M: f64 = 0.01;

/// One reason why a place will not do, with its figures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Objection {
    /// Its body, at the size it will have, comes too near a pane.
    Glass {
        /// Distance of the grown body from the nearest pane, in m.
        clear_m: f64,
        /// What hand and scraper need, in m.
        needed_m: f64,
    },
    /// Its body, at the size it will have, comes too near the sand.
    Sand {
        /// Height of its lowest part above the sand, in m.
        above_m: f64,
        /// What is wanted, in m.
        needed_m: f64,
    },
    /// It reaches the surface.
    Surface {
        /// Water above it today, in m.
        below_m: f64,
    },
    /// Its mount does not hold on such a slope.
    Slope {
        /// How it would be held.
        mount: Mount,
        /// Slope of the seat, in degrees from level.
        slope_deg: f64,
        /// Steepest that holds.
        most_deg: f64,
    },
    /// None of its mounts suits the place.
    NoMount {
        /// Slope of the seat, in degrees from level.
        slope_deg: f64,
    },
    /// It would be glued, and must not be.
    Glued {
        /// How it would be held.
        mount: Mount,
    },
    /// No arm reaches it.
    Reach {
        /// Distance from the nearest rim, in m.
        away_m: f64,
        /// How far an arm reaches, in m.
        reach_m: f64,
    },
    /// A jet burns it.
    Jet {
        /// The pump; none for a return of the tank.
        pump: Option<ItemId>,
        /// Way along the jet, in m.
        way_m: f64,
        /// Way from which on the jet does not burn it, in m.
        needed_m: f64,
    },
    /// The sand is too shallow to be set into.
    SandDepth {
        /// Depth of the bed, in m.
        depth_m: f64,
        /// Depth that it needs, in m.
        needed_m: f64,
    },
    /// A part of it is inside rock.
    InRock,
    /// It will come too near a neighbor, with what both can sting.
    Neighbor {
        /// The neighbor.
        id: ItemId,
        /// Clear gap, in m.
        gap_m: f64,
        /// Gap that is needed, in m.
        needed_m: f64,
    },
    /// It belongs on the other kind of ground.
    Ground,
}

impl Objection {
    /// A short stable name, for lists and scripts.
    pub fn tag(&self) -> &'static str {
        match self {
            Self::Glass { .. } => "near_glass",
            Self::Sand { .. } => "near_sand",
            Self::Surface { .. } => "near_surface",
            Self::Slope { .. } => "too_steep",
            Self::NoMount { .. } => "no_mount",
            Self::Glued { .. } => "never_glued",
            Self::Reach { .. } => "out_of_reach",
            Self::Jet { .. } => "in_jet",
            Self::SandDepth { .. } => "shallow_sand",
            Self::InRock => "in_rock",
            Self::Neighbor { .. } => "near_neighbor",
            Self::Ground => "wrong_ground",
        }
    }
}

/// What a keeper measures of a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measures {
    /// Distance of the grown body from the nearest pane, in m.
    pub clear_of_glass_m: f64,
    /// Height of the grown body's lowest part above the sand, in m; 0 on sand.
    pub above_sand_m: f64,
    /// Slope of the seat, in degrees from level.
    pub slope_deg: f64,
    /// Distance from the nearest rim of the front or a side, in m.
    pub from_rim_m: f64,
}

/// Size of an entry when it is as wide as it grows in a tank (across x, across
/// y, height), in m, whatever its pace.
pub(crate) fn grown_size_m(entry: &Entry, size_m: DVec3) -> DVec3 {
    let width_m = size_m.x.max(size_m.y);
    let edge_m = (entry.spread_cm.value * M_PER_CM - width_m).max(0.0) / 2.0;
    let rise_m = edge_m * entry.form.rise_share();
    size_m + DVec3::new(2.0 * edge_m, 2.0 * edge_m, rise_m)
}

/// Slope of a surface with this outward normal, in degrees from level.
pub(crate) fn slope_deg(normal: DVec3) -> f64 {
    let upright = normal.normalize_or(DVec3::Z).z.clamp(-1.0, 1.0);
    upright.acos().to_degrees()
}

/// Half of the extent of an upright disc of this size on its normal, along
/// each axis, in m.
fn half_extent_m(normal: DVec3, size_m: DVec3) -> DVec3 {
    let radius = size_m.x.max(size_m.y) / 2.0;
    let along = |n: f64| n.abs() * size_m.z / 2.0 + radius * (1.0 - n * n).max(0.0).sqrt();
    DVec3::new(along(normal.x), along(normal.y), along(normal.z))
}

/// What a keeper measures of a site.
pub(crate) fn measures(scene: &Scene, entry: &Entry, site: &Site) -> Measures {
    let tank = &scene.tank;
    let size_m = DVec3::new(tank.length_cm, tank.width_cm, tank.height_cm) * M_PER_CM;
    let grown_m = grown_size_m(entry, site.size_m);
    let normal = site.normal.normalize_or(DVec3::Z);
    let middle_m = site.at_m + normal * (grown_m.z / 2.0);
    let half_m = half_extent_m(normal, grown_m);
    let low = (middle_m - half_m).truncate().min_element();
    let high = (size_m - middle_m - half_m).truncate().min_element();
    let lowest_m = Cylinder::of(entry.form, site.at_m, normal, grown_m)
        .low_m
        .min(site.at_m.z);
    let above_sand_m = match site.on {
        SurfaceOwner::Sand => 0.0,
        SurfaceOwner::Rock(_) => lowest_m - tank.sand.depth_cm * M_PER_CM,
    };
    let sideways = site.at_m.y.min(site.at_m.x).min(size_m.x - site.at_m.x);
    Measures {
        clear_of_glass_m: low.min(high),
        above_sand_m,
        slope_deg: slope_deg(normal),
        from_rim_m: sideways.max(0.0).hypot(size_m.z - site.at_m.z),
    }
}

/// Everything that a keeper would not accept of a site.
pub(crate) fn objections(fitter: &Fitter<'_>, entry: &Entry, site: &Site) -> Vec<Objection> {
    let input = fitter.input;
    let options = input.options;
    let got = measures(input.scene, entry, site);
    let mut all = Vec::new();
    if got.clear_of_glass_m < options.glass_clear_m {
        all.push(Objection::Glass {
            clear_m: got.clear_of_glass_m,
            needed_m: options.glass_clear_m,
        });
    }
    let on_rock = matches!(site.on, SurfaceOwner::Rock(_));
    if on_rock && !entry.place.sand && got.above_sand_m < ABOVE_SAND_M {
        all.push(Objection::Sand {
            above_m: got.above_sand_m,
            needed_m: ABOVE_SAND_M,
        });
    }
    if got.from_rim_m > options.arm_reach_m {
        all.push(Objection::Reach {
            away_m: got.from_rim_m,
            reach_m: options.arm_reach_m,
        });
    }
    let suits = if on_rock {
        entry.place.rock
    } else {
        entry.place.sand
    };
    if !suits {
        all.push(Objection::Ground);
    }
    all.extend(mount_objections(entry, site, got.slope_deg));
    all.extend(sand_depth(fitter, entry, site));
    all.extend(body_objections(fitter, site));
    all.extend(jet_objection(fitter, entry, site));
    all.extend(neighbor_objection(fitter, entry, site));
    all
}

fn mount_objections(entry: &Entry, site: &Site, slope_deg: f64) -> Vec<Objection> {
    let mount = site.mount;
    let seat = seat_of(mount);
    let mut all = Vec::new();
    if entry.never_glued() && seat.glues() {
        all.push(Objection::Glued { mount });
    }
    if let Some(method) = mount_method(seat)
        && !method.slope_deg.hold(slope_deg)
    {
        all.push(Objection::Slope {
            mount,
            slope_deg,
            most_deg: method.slope_deg.high,
        });
    }
    all
}

/// The way of holding that a mount of the scene stands for.
pub(crate) fn seat_of(mount: Mount) -> Seat {
    match mount {
        Mount::Plug => Seat::Plug,
        Mount::Gel => Seat::Gel,
        Mount::Putty => Seat::Putty,
        Mount::GelAndPutty => Seat::GelAndPutty,
        Mount::Wedge => Seat::Wedge,
        Mount::Thread => Seat::Thread,
        Mount::Rod => Seat::Rod,
        Mount::Hang => Seat::Hang,
        Mount::Sand => Seat::Sand,
        Mount::Rubble => Seat::Rubble,
        Mount::Loose => Seat::Loose,
        Mount::Foot => Seat::Itself,
    }
}

fn sand_depth(fitter: &Fitter<'_>, entry: &Entry, site: &Site) -> Option<Objection> {
    let set_in = site.on == SurfaceOwner::Sand && site.mount == Mount::Sand;
    let needed_m = entry
        .sand_depth_cm
        .as_ref()
        .map_or(SAND_DEPTH_M, |depth| depth.value * M_PER_CM);
    let depth_m = fitter.input.scene.tank.sand.depth_cm * M_PER_CM;
    (set_in && depth_m < needed_m).then_some(Objection::SandDepth { depth_m, needed_m })
}

/// Whether the body of today stands in open water: below the surface and not
/// in rock. A ring at two heights is looked at, not its middle alone.
fn body_objections(fitter: &Fitter<'_>, site: &Site) -> Vec<Objection> {
    const RING: usize = 8;
    let tank = &fitter.input.scene.tank;
    let normal = site.normal.normalize_or(DVec3::Z);
    let middle_m = site.at_m + normal * (site.size_m.z / 2.0);
    let top_m = middle_m.z + half_extent_m(normal, site.size_m).z;
    let below_m = tank.water_cm * M_PER_CM - top_m;
    let mut all = Vec::new();
    if below_m < BELOW_SURFACE_M {
        all.push(Objection::Surface { below_m });
    }
    let (u, v) = normal.any_orthonormal_pair();
    let (a, b) = (
        site.size_m.x / 2.0 - BURIED_M,
        site.size_m.y / 2.0 - BURIED_M,
    );
    let buried = |at_m: DVec3| fitter.rockwork.contains(at_m);
    let axis = [0.6, 1.0].map(|share| site.at_m + normal * (share * site.size_m.z + 0.005));
    let ring = [0.6, 0.95].into_iter().flat_map(|share| {
        (0..RING).map(move |step| {
            let turn = step as f64 / RING as f64 * std::f64::consts::TAU;
            (share, turn.cos(), turn.sin())
        })
    });
    let mut ring = ring.map(|(share, x, y)| {
        site.at_m + normal * (share * site.size_m.z) + u * (x * a.max(0.0)) + v * (y * b.max(0.0))
    });
    if axis.into_iter().any(buried) || ring.any(buried) {
        all.push(Objection::InRock);
    }
    all
}

fn jet_objection(fitter: &Fitter<'_>, entry: &Entry, site: &Site) -> Option<Objection> {
    let normal = site.normal.normalize_or(DVec3::Z);
    let middle_m = site.at_m + normal * (site.size_m.z / 2.0 + 0.005);
    let radius_m = site.size_m.max_element() / 2.0;
    let limit_m_s = entry.flow_cm_s.high * M_PER_CM;
    fitter.jets.iter().find_map(|jet| {
        let (way_m, speed_m_s) = jet.at(fitter.rockwork, middle_m, radius_m);
        (speed_m_s > limit_m_s).then(|| Objection::Jet {
            pump: jet.pump,
            way_m,
            needed_m: jet.way_to_m(limit_m_s),
        })
    })
}

/// The neighbor that its body, at the size it will have, comes nearest to, if
/// that is nearer than either stings; today they keep the gap that keepers
/// leave. When both have grown is told by the months in which they meet.
fn neighbor_objection(fitter: &Fitter<'_>, entry: &Entry, site: &Site) -> Option<Objection> {
    let normal = site.normal.normalize_or(DVec3::Z);
    let now = Cylinder::of(entry.form, site.at_m, normal, site.size_m);
    let grown_m = grown_size_m(entry, site.size_m);
    let grown = Cylinder::of(entry.form, site.at_m, normal, grown_m);
    let flow = fitter.flow_over(site);
    let velocity = flow.map_or(DVec3::ZERO, |over| over.velocity_m_s);
    let mut worst: Option<(ItemId, f64, f64)> = None;
    for other in &fitter.neighbors {
        if Some(other.coral.id) == site.own {
            continue;
        }
        let catalog = fitter.input.catalog;
        let (gap_m, needed_m) = if catalog.contact_rule(entry, other.entry) == ContactRule::Fine {
            (now.gap_m(&other.now), 0.0)
        } else {
            let towards = other.now.middle_m - now.middle_m;
            let sting_m = reach_between_m(entry, other.entry);
            let needed_m = required_gap_m(catalog, entry, other.entry, velocity, towards);
            let (later_m, now_m) = (grown.gap_m(&other.now), now.gap_m(&other.now));
            if now_m - needed_m < later_m - sting_m {
                (now_m, needed_m)
            } else {
                (later_m, sting_m)
            }
        };
        let short = gap_m < needed_m
            && worst.is_none_or(|(_, gap, needed)| gap_m - needed_m < gap - needed);
        if short {
            worst = Some((other.coral.id, gap_m, needed_m));
        }
    }
    worst.map(|(id, gap_m, needed_m)| Objection::Neighbor {
        id,
        gap_m,
        needed_m,
    })
}
