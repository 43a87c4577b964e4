//! The tank in the round: rocks as shaded triangles with inked edges, glass as
//! lines, all in vectors.

use std::collections::BTreeMap;

use glam::{DVec2, DVec3};

use super::ink::{Drawing, Pen, Wash};
use super::palette::{ASIDE, CORAL, INK, ROCK, ROCK_SHADE, Rgb, SAND, WATER_LINE};
use crate::geometry::{Mesh, mesh};
use crate::scene::{Coral, solids};
use crate::study::Study;
use crate::units::M_PER_CM;

/// Turn of the tank and height of the eye, in degrees.
const TURN_DEG: f64 = -28.0;
const EYE_DEG: f64 = 24.0;
/// Triangles over all rocks, about.
const TRIANGLES: f64 = 9_000.0;

/// Parallel projection.
struct Eye {
    across: DVec3,
    up: DVec3,
    towards: DVec3,
}

impl Eye {
    fn new() -> Self {
        let (turn, high) = (TURN_DEG.to_radians(), EYE_DEG.to_radians());
        let across = DVec3::new(turn.cos(), turn.sin(), 0.0);
        // From the keeper's side: the front glass looks at the eye.
        let flat = DVec3::new(turn.sin(), -turn.cos(), 0.0);
        let towards = flat * high.cos() + DVec3::Z * high.sin();
        Self {
            across,
            up: towards.cross(across),
            towards,
        }
    }

    /// Across, up, towards.
    fn seen(&self, p: DVec3) -> DVec3 {
        DVec3::new(p.dot(self.across), p.dot(self.up), p.dot(self.towards))
    }
}

/// Something to be laid down, from far to near.
enum Piece {
    Face {
        corners: [DVec2; 3],
        color: Rgb,
    },
    /// Where the rock turns away from the eye.
    Edge(DVec2, DVec2),
    Coral(Vec<DVec2>),
}

/// Draws the tank into the room between two corners of the paper.
pub(super) fn draw(to: &mut Drawing, (low_mm, high_mm): (DVec2, DVec2), study: &Study) {
    let tank = &study.scene().tank;
    let eye = Eye::new();
    let size_cm = DVec3::new(tank.length_cm, tank.width_cm, tank.height_cm);
    let corner = |k: usize| {
        let pick = |axis: usize| {
            if k >> axis & 1 == 1 {
                size_cm[axis]
            } else {
                0.0
            }
        };
        DVec3::new(pick(0), pick(1), pick(2))
    };
    let seen: Vec<DVec2> = (0..8).map(|k| eye.seen(corner(k)).truncate()).collect();
    let (low, high) = seen
        .iter()
        .fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(l, h), p| {
            (l.min(*p), h.max(*p))
        });
    let room = high_mm - low_mm;
    let scale = (room / (high - low)).min_element();
    let middle = (low_mm + high_mm) / 2.0;
    let place = |p_cm: DVec3| {
        let from_middle = (eye.seen(p_cm).truncate() - (low + high) / 2.0) * scale;
        middle + DVec2::new(from_middle.x, -from_middle.y)
    };
    let level = |z: f64| {
        [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]
            .map(|(x, y)| place(DVec3::new(x * size_cm.x, y * size_cm.y, z)))
            .to_vec()
    };
    let back = Pen::new(0.2, ASIDE);
    let hidden = corner(hidden_corner(&eye));
    for axis in 0..3 {
        let mut end = hidden;
        end[axis] = size_cm[axis] - end[axis];
        to.line(place(hidden), place(end), back);
    }
    to.area(
        vec![level(tank.sand.depth_cm)],
        Some(Wash::full(SAND)),
        Some(back),
    );
    for piece in pieces(&eye, study, &place) {
        lay(to, piece);
    }
    let water = Wash {
        color: WATER_LINE,
        opacity: 0.07,
    };
    let surface = Some(Pen::new(0.25, WATER_LINE));
    to.area(vec![level(tank.water_cm)], Some(water), surface);
    for (a, b) in box_edges() {
        let (a, b) = (corner(a), corner(b));
        if a != hidden && b != hidden {
            to.line(place(a), place(b), Pen::new(0.4, INK));
        }
    }
}

/// The corner of the box farthest from the eye.
fn hidden_corner(eye: &Eye) -> usize {
    let far = |axis: usize| usize::from(eye.towards[axis] < 0.0) << axis;
    (0..3).map(far).sum()
}

fn box_edges() -> impl Iterator<Item = (usize, usize)> {
    (0..8_usize).flat_map(|k| {
        (0..3).filter_map(move |axis| {
            let other = k | 1 << axis;
            (other != k).then_some((k, other))
        })
    })
}

fn lay(to: &mut Drawing, piece: Piece) {
    match piece {
        Piece::Face { corners, color } => {
            // A line of its own color closes the seam to its neighbors.
            let seam = Pen::new(0.08, color);
            to.area(vec![corners.to_vec()], Some(Wash::full(color)), Some(seam));
        }
        Piece::Edge(a, b) => to.line(a, b, Pen::new(0.3, INK)),
        Piece::Coral(outline) => {
            let ink = Some(Pen::new(0.2, INK));
            to.area(vec![outline], Some(Wash::full(CORAL)), ink);
        }
    }
}

/// All rocks and corals as pieces, from far to near.
fn pieces(eye: &Eye, study: &Study, place: &dyn Fn(DVec3) -> DVec2) -> Vec<Piece> {
    let solids = &study.rockwork().rocks;
    let area_m2: f64 = solids
        .iter()
        .map(|rock| {
            let size = rock.bounds().max_m - rock.bounds().min_m;
            2.0 * (size.x * size.y + size.y * size.z + size.z * size.x)
        })
        .sum();
    // Two triangles a cell.
    let cell_m = (2.0 * area_m2 / TRIANGLES).sqrt().clamp(0.006, 0.05);
    let mut sorted: Vec<(f64, Piece)> = Vec::new();
    for rock in solids {
        add_faces(&mut sorted, eye, (&mesh(rock, cell_m), cell_m), place);
    }
    for coral in &study.layout().corals {
        let body = solids::coral_body(coral, None);
        let at_m = body.base_m + body.tank_from_coral.z_axis * body.reach_m.z;
        // Nearer than the rock that it sits on.
        let near = eye.seen(at_m).z + body.reach_m.max_element();
        let outline = coral_outline(coral, place);
        sorted.push((near, Piece::Coral(outline)));
    }
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    sorted.into_iter().map(|(_, piece)| piece).collect()
}

fn add_faces(
    sorted: &mut Vec<(f64, Piece)>,
    eye: &Eye,
    (mesh, cell_m): (&Mesh, f64),
    place: &dyn Fn(DVec3) -> DVec2,
) {
    let corner = |idx: u32| {
        let at = mesh
            .vertices_m
            .get(idx as usize)
            .copied()
            .unwrap_or_default();
        DVec3::from_array(at.map(f64::from))
    };
    let facing: Vec<(DVec3, bool)> = mesh
        .triangles
        .iter()
        .map(|t| {
            let [a, b, c] = t.map(corner);
            let normal = (b - a).cross(c - a).normalize_or_zero();
            (normal, normal.dot(eye.towards) > 0.0)
        })
        .collect();
    let mut neighbors: BTreeMap<(u32, u32), usize> = BTreeMap::new();
    for (idx, [a, b, c]) in mesh.triangles.iter().enumerate() {
        for (from, to) in [(*a, *b), (*b, *c), (*c, *a)] {
            neighbors.insert((from, to), idx);
        }
    }
    for (idx, t) in mesh.triangles.iter().enumerate() {
        if !facing[idx].1 {
            continue;
        }
        let places = t.map(corner);
        let edges = [(0, 1), (1, 2), (2, 0)].into_iter().filter(|(from, to)| {
            let other = neighbors.get(&(t[*to], t[*from]));
            other.is_none_or(|other| !facing[*other].1)
        });
        let on_paper = places.map(|p| place(p / M_PER_CM));
        let near = eye.seen((places[0] + places[1] + places[2]) / 3.0).z;
        // Over the faces beside it, under what lies clearly nearer.
        let edge_near = near + 2.5 * cell_m;
        sorted.extend(edges.map(|(a, b)| (edge_near, Piece::Edge(on_paper[a], on_paper[b]))));
        let face = Piece::Face {
            corners: on_paper,
            color: shaded(smooth_normal(mesh, t)),
        };
        sorted.push((near, face));
    }
}

fn smooth_normal(mesh: &Mesh, triangle: &[u32; 3]) -> DVec3 {
    let of = |idx: &u32| mesh.normals.get(*idx as usize).copied().unwrap_or_default();
    let sum = triangle.iter().map(of).fold(DVec3::ZERO, |sum, n| {
        sum + DVec3::from_array(n.map(f64::from))
    });
    sum.normalize_or(DVec3::Z)
}

/// Rock under a light from the upper left front, in twelve steps.
fn shaded(normal: DVec3) -> Rgb {
    let light = DVec3::new(-0.45, -0.45, 0.77);
    let share = (0.5 + 0.5 * normal.dot(light)).clamp(0.0, 1.0);
    let share = (share * 12.0).round() / 12.0;
    let mix = |dark: u8, bright: u8| {
        let value = f64::from(dark) + (f64::from(bright) - f64::from(dark)) * share;
        value.round() as u8
    };
    let bright = Rgb(0xEE, 0xE7, 0xD8);
    let dark = Rgb(
        mix(ROCK_SHADE.0, ROCK.0),
        mix(ROCK_SHADE.1, ROCK.1),
        mix(ROCK_SHADE.2, ROCK.2),
    );
    Rgb(
        mix(dark.0, bright.0),
        mix(dark.1, bright.1),
        mix(dark.2, bright.2),
    )
}

/// The outline of a coral's half ellipsoid as it is seen: the convex hull of
/// points on it.
fn coral_outline(coral: &Coral, place: &dyn Fn(DVec3) -> DVec2) -> Vec<DVec2> {
    let body = solids::coral_body(coral, None);
    let mut points = Vec::new();
    for ring in 0..=6 {
        let up = f64::from(ring) / 6.0 * std::f64::consts::FRAC_PI_2;
        for k in 0..60 {
            let turn = f64::from(k) / 60.0 * std::f64::consts::TAU;
            let unit = DVec3::new(turn.cos() * up.cos(), turn.sin() * up.cos(), up.sin());
            let at_m = body.base_m + body.tank_from_coral * (unit * body.reach_m);
            points.push(place(at_m / M_PER_CM));
        }
    }
    hull(points)
}

/// Convex hull (Andrew's monotone chain).
fn hull(points: Vec<DVec2>) -> Vec<DVec2> {
    let mut points = points;
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let half = |points: &mut dyn Iterator<Item = DVec2>| {
        let mut chain: Vec<DVec2> = Vec::new();
        for p in points {
            while let [.., a, b] = chain.as_slice()
                && (*b - *a).perp_dot(p - *b) <= 0.0
            {
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut outline = half(&mut points.iter().copied());
    outline.extend(half(&mut points.iter().rev().copied()));
    outline
}
