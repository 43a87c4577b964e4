//! A tree of boxes over triangles, which says how often a surface winds around
//! a place and how far away it is.

use glam::Vec3;

/// Triangles in a leaf.
const LEAF: usize = 8;
/// A box this many times its radius away counts as one small face.
const FAR: f32 = 2.3;

struct Node {
    low: Vec3,
    high: Vec3,
    /// Middle of its triangles by area, sum of their faces, and how far they
    /// reach from that middle.
    middle: Vec3,
    face: Vec3,
    reach: f32,
    /// First triangle and number of them in a leaf; else number zero, and
    /// where the second child is. The first one follows its parent.
    first: u32,
    n: u32,
}

/// Triangles, sorted into boxes.
pub(super) struct Tree {
    triangles: Vec<[Vec3; 3]>,
    nodes: Vec<Node>,
}

impl Tree {
    pub(super) fn new(mut triangles: Vec<[Vec3; 3]>) -> Self {
        let mut nodes = Vec::with_capacity(triangles.len() / LEAF * 4 + 1);
        if !triangles.is_empty() {
            let n = triangles.len();
            build(&mut triangles, (0, n), &mut nodes);
        }
        Self { triangles, nodes }
    }

    /// How often the surface winds around `q`: 1 within a closed surface that
    /// faces outwards, 0 outside, and something between beside holes.
    ///
    /// **Source** Jacobson, Kavan & Sorkine-Hornung 2013, with far boxes as one
    /// dipole each, after Barill et al. 2018; the solid angle of a triangle
    /// after Van Oosterom & Strackee 1983.
    pub(super) fn winding(&self, q: Vec3) -> f32 {
        let mut sum = 0.0_f32;
        let mut open = vec![0_u32];
        while let Some(at) = open.pop() {
            let Some(node) = self.nodes.get(at as usize) else {
                continue;
            };
            let way = node.middle - q;
            let far = way.length_squared();
            if far > (FAR * node.reach).powi(2) {
                sum += node.face.dot(way) / (far * far.sqrt());
            } else if node.n > 0 {
                let leaf = node.first as usize..(node.first + node.n) as usize;
                for t in &self.triangles[leaf] {
                    sum += solid_angle(t.map(|p| p - q));
                }
            } else {
                open.push(node.first);
                open.push(at + 1);
            }
        }
        sum / (4.0 * std::f32::consts::PI)
    }

    /// Distance from `q` to the nearest triangle.
    pub(super) fn distance(&self, q: Vec3) -> f32 {
        let mut best = f32::INFINITY;
        let mut open = vec![(0_u32, 0.0_f32)];
        while let Some((at, away)) = open.pop() {
            if away >= best {
                continue;
            }
            let Some(node) = self.nodes.get(at as usize) else {
                continue;
            };
            if node.n > 0 {
                let leaf = node.first as usize..(node.first + node.n) as usize;
                for t in &self.triangles[leaf] {
                    best = best.min(nearest(t, q).distance_squared(q));
                }
                continue;
            }
            let children = [at + 1, node.first].map(|child| {
                let away = self
                    .nodes
                    .get(child as usize)
                    .map_or(f32::INFINITY, |node| {
                        q.clamp(node.low, node.high).distance_squared(q)
                    });
                (child, away)
            });
            let [near, far] = children;
            // The nearer one is looked at first.
            let order = if near.1 <= far.1 {
                [far, near]
            } else {
                [near, far]
            };
            open.extend(order);
        }
        best.sqrt()
    }
}

/// Sorts a range of triangles into boxes.
fn build(triangles: &mut [[Vec3; 3]], (from, to): (usize, usize), nodes: &mut Vec<Node>) {
    let at = nodes.len();
    let mut node = summary(&triangles[from..to]);
    let n = to - from;
    if n <= LEAF {
        (node.first, node.n) = (from as u32, n as u32);
        nodes.push(node);
        return;
    }
    let axis = (node.high - node.low).max_position();
    let half = n / 2;
    let key = |t: &[Vec3; 3]| t[0][axis] + t[1][axis] + t[2][axis];
    triangles[from..to].select_nth_unstable_by(half, |a, b| key(a).total_cmp(&key(b)));
    nodes.push(node);
    build(triangles, (from, from + half), nodes);
    nodes[at].first = nodes.len() as u32;
    build(triangles, (from + half, to), nodes);
}

fn summary(triangles: &[[Vec3; 3]]) -> Node {
    let (mut low, mut high) = (Vec3::INFINITY, Vec3::NEG_INFINITY);
    let (mut face, mut middle, mut area, mut plain) = (Vec3::ZERO, Vec3::ZERO, 0.0, Vec3::ZERO);
    for t in triangles {
        let own = (t[1] - t[0]).cross(t[2] - t[0]) / 2.0;
        let center = (t[0] + t[1] + t[2]) / 3.0;
        face += own;
        middle += center * own.length();
        area += own.length();
        plain += center;
        for p in t {
            low = low.min(*p);
            high = high.max(*p);
        }
    }
    let middle = if area > 0.0 {
        middle / area
    } else {
        plain / triangles.len().max(1) as f32
    };
    let reach = (triangles.iter().flatten())
        .map(|p| p.distance_squared(middle))
        .fold(0.0, f32::max)
        .sqrt();
    Node {
        low,
        high,
        middle,
        face,
        reach,
        first: 0,
        n: 0,
    }
}

fn solid_angle([a, b, c]: [Vec3; 3]) -> f32 {
    let (la, lb, lc) = (a.length(), b.length(), c.length());
    let around = la * lb * lc + a.dot(b) * lc + b.dot(c) * la + c.dot(a) * lb;
    2.0 * a.dot(b.cross(c)).atan2(around)
}

/// The place of a triangle nearest to `p`.
///
/// **Source** by the region of the triangle's plane that `p` lies over, as
/// in Ericson, Real-Time Collision Detection, 5.1.5. MEMORY.
fn nearest([a, b, c]: &[Vec3; 3], p: Vec3) -> Vec3 {
    let (ab, ac, ap) = (*b - *a, *c - *a, p - *a);
    let (d1, d2) = (ab.dot(ap), ac.dot(ap));
    if d1 <= 0.0 && d2 <= 0.0 {
        return *a;
    }
    let bp = p - *b;
    let (d3, d4) = (ab.dot(bp), ac.dot(bp));
    if d3 >= 0.0 && d4 <= d3 {
        return *b;
    }
    let vc = d1 * d4 - d3 * d2;
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        return *a + ab * (d1 / (d1 - d3));
    }
    let cp = p - *c;
    let (d5, d6) = (ab.dot(cp), ac.dot(cp));
    if d6 >= 0.0 && d5 <= d6 {
        return *c;
    }
    let vb = d5 * d2 - d1 * d6;
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        return *a + ac * (d2 / (d2 - d6));
    }
    let va = d3 * d6 - d5 * d4;
    let (along, back) = (d4 - d3, d5 - d6);
    if va <= 0.0 && along >= 0.0 && back >= 0.0 && along + back > 0.0 {
        return *b + (*c - *b) * (along / (along + back));
    }
    let sum = va + vb + vc;
    if sum > 0.0 {
        *a + ab * (vb / sum) + ac * (vc / sum)
    } else {
        *a
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cube from -1 to 1 with `n`² squares a side, faces outwards.
    fn cube(n: u32) -> Vec<[Vec3; 3]> {
        let mut all = Vec::new();
        let at = |k: u32| 2.0 * k as f32 / n as f32 - 1.0;
        for axis in 0..3 {
            for side in [-1.0_f32, 1.0] {
                for (i, j) in (0..n * n).map(|k| (k % n, k / n)) {
                    let place = |u: f32, v: f32| {
                        let mut p = Vec3::ZERO;
                        (p[axis], p[(axis + 1) % 3], p[(axis + 2) % 3]) = (side, u, v);
                        p
                    };
                    let [a, b, c, d] = [
                        place(at(i), at(j)),
                        place(at(i + 1), at(j)),
                        place(at(i + 1), at(j + 1)),
                        place(at(i), at(j + 1)),
                    ];
                    let pair = if side > 0.0 {
                        [[a, b, c], [a, c, d]]
                    } else {
                        [[a, c, b], [a, d, c]]
                    };
                    all.extend(pair);
                }
            }
        }
        all
    }

    #[test]
    fn it_winds_once_around_inside_and_not_outside() {
        let tree = Tree::new(cube(20));
        for k in 0..200 {
            let t = k as f32;
            let q = Vec3::new((t * 0.7).sin(), (t * 1.3).cos(), (t * 2.1).sin()) * 0.97;
            // Far boxes are one face each, which may not turn a place inside out.
            let inside = tree.winding(q);
            assert!((inside - 1.0).abs() < 0.05, "{inside} at {q}");
            let outside = tree.winding(q.normalize() * 1.8);
            assert!(outside.abs() < 0.05, "{outside} outside");
        }
    }

    #[test]
    fn the_distance_is_that_to_the_cube() {
        let tree = Tree::new(cube(7));
        for k in 0..300 {
            let t = k as f32;
            let q = Vec3::new((t * 0.7).sin(), (t * 1.3).cos(), (t * 2.1).sin()) * 2.0;
            let inside = (1.0 - q.abs()).min_element();
            let exact = if inside >= 0.0 {
                inside
            } else {
                (q.abs() - 1.0).max(Vec3::ZERO).length()
            };
            let found = tree.distance(q);
            assert!((found - exact).abs() < 1e-5, "{found}, {exact} at {q}");
        }
    }
}
