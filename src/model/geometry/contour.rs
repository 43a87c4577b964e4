//! Level lines of values on a grid (marching squares), chained into curves.

/// A grid of values, x running fastest.
#[derive(Clone, Copy, Debug)]
pub struct Values<'a> {
    /// Nodes along x and y.
    pub n: [usize; 2],
    /// One value a node.
    pub at: &'a [f32],
}

/// A level line in node coordinates.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Its points in order.
    pub points: Vec<[f32; 2]>,
    /// Whether the last point is joined to the first.
    pub closed: bool,
}

const NONE: u32 = u32::MAX;

/// The lines along which the values equal `level`. Those around values below
/// it are closed unless they leave the grid.
pub fn lines(values: Values<'_>, level: f32) -> Vec<Line> {
    let [nx, ny] = values.n;
    if nx < 2 || ny < 2 || values.at.len() < nx * ny {
        return Vec::new();
    }
    // Edges of the grid: horizontal ones first, then vertical ones. Each joins
    // at most two segments.
    let mut joins = vec![[NONE; 2]; 2 * nx * ny];
    for j in 0..ny - 1 {
        for i in 0..nx - 1 {
            for (a, b) in segments(values, level, i, j) {
                join(&mut joins, a, b);
                join(&mut joins, b, a);
            }
        }
    }
    let place = |edge: u32| edge_place(values, level, edge);
    trace(&mut joins, place)
}

fn join(joins: &mut [[u32; 2]], from: u32, to: u32) {
    let slot = &mut joins[from as usize];
    if slot[0] == NONE {
        slot[0] = to;
    } else {
        slot[1] = to;
    }
}

/// The segments in one cell, each as the two grid edges that it joins.
fn segments(
    values: Values<'_>,
    level: f32,
    i: usize,
    j: usize,
) -> impl Iterator<Item = (u32, u32)> + use<> {
    let [nx, ny] = values.n;
    let corner = |di: usize, dj: usize| values.at[(j + dj) * nx + i + di];
    let [a, b, c, d] = [corner(0, 0), corner(1, 0), corner(1, 1), corner(0, 1)];
    let below = |value: f32| usize::from(value < level);
    let case = below(a) | below(b) << 1 | below(c) << 2 | below(d) << 3;
    let bottom = (j * nx + i) as u32;
    let top = ((j + 1) * nx + i) as u32;
    let left = (nx * ny + j * nx + i) as u32;
    let right = left + 1;
    // A saddle is cut the way its middle goes.
    let middle_below = a + b + c + d < 4.0 * level;
    let (first, second) = match case {
        1 | 14 => (Some((left, bottom)), None),
        2 | 13 => (Some((bottom, right)), None),
        4 | 11 => (Some((right, top)), None),
        8 | 7 => (Some((top, left)), None),
        3 | 12 => (Some((left, right)), None),
        6 | 9 => (Some((bottom, top)), None),
        5 | 10 if (case == 5) == middle_below => (Some((left, top)), Some((bottom, right))),
        5 | 10 => (Some((left, bottom)), Some((right, top))),
        _ => (None, None),
    };
    [first, second].into_iter().flatten()
}

fn edge_place(values: Values<'_>, level: f32, edge: u32) -> [f32; 2] {
    let [nx, ny] = values.n;
    let edge = edge as usize;
    let vertical = edge >= nx * ny;
    let node = if vertical { edge - nx * ny } else { edge };
    let (i, j) = (node % nx, node / nx);
    let other = if vertical { node + nx } else { node + 1 };
    let (a, b) = (values.at[node], values.at[other]);
    let share = if (b - a).abs() > f32::EPSILON {
        ((level - a) / (b - a)).clamp(0.0, 1.0)
    } else {
        0.5
    };
    if vertical {
        [i as f32, j as f32 + share]
    } else {
        [i as f32 + share, j as f32]
    }
}

/// Follows the joins from edge to edge.
fn trace(joins: &mut [[u32; 2]], place: impl Fn(u32) -> [f32; 2]) -> Vec<Line> {
    let mut lines = Vec::new();
    // Open lines first, from their ends; what is left are rings.
    for open in [true, false] {
        for start in 0..joins.len() as u32 {
            let [first, second] = joins[start as usize];
            if first == NONE || (open && second != NONE) {
                continue;
            }
            let mut points = vec![place(start)];
            let mut at = start;
            while let Some(next) = take(joins, at) {
                if next == start {
                    break;
                }
                points.push(place(next));
                at = next;
            }
            if points.len() > 1 {
                lines.push(Line {
                    points,
                    closed: !open,
                });
            }
        }
    }
    lines
}

/// Takes one join of `at` away, on both its ends; where it leads.
fn take(joins: &mut [[u32; 2]], at: u32) -> Option<u32> {
    let next = joins[at as usize][0];
    if next == NONE {
        return None;
    }
    let [_, second] = joins[at as usize];
    joins[at as usize] = [second, NONE];
    let back = joins[next as usize];
    joins[next as usize] = if back[0] == at {
        [back[1], NONE]
    } else {
        [back[0], NONE]
    };
    Some(next)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(n: usize, value: impl Fn(f32, f32) -> f32) -> Vec<f32> {
        (0..n * n)
            .map(|idx| value((idx % n) as f32, (idx / n) as f32))
            .collect()
    }

    #[test]
    fn a_circle_is_one_ring_of_its_length() {
        let at = grid(41, |x, y| (x - 20.0).hypot(y - 20.0));
        let found = lines(
            Values {
                n: [41, 41],
                at: &at,
            },
            13.0,
        );
        assert_eq!(found.len(), 1, "one ring");
        assert!(found[0].closed, "it is closed");
        let points = &found[0].points;
        let length: f32 = (0..points.len())
            .map(|k| {
                let (a, b) = (points[k], points[(k + 1) % points.len()]);
                (a[0] - b[0]).hypot(a[1] - b[1])
            })
            .sum();
        let expected = 2.0 * std::f32::consts::PI * 13.0;
        // Straight pieces of at most 1.4 in a circle of 13 are short by 0.05 %;
        // linear interpolation of the cone adds as much.
        assert!((length / expected - 1.0).abs() < 0.002, "length {length}");
    }

    #[test]
    fn a_slope_gives_one_open_line_and_a_ring_with_a_hole_two_rings() {
        let slope = grid(10, |x, _| x);
        let found = lines(
            Values {
                n: [10, 10],
                at: &slope,
            },
            4.3,
        );
        assert_eq!(found.len(), 1, "one line");
        assert!(!found[0].closed, "it leaves the grid");
        assert_eq!(found[0].points.len(), 10, "a point a row");

        let ring = grid(41, |x, y| ((x - 20.0).hypot(y - 20.0) - 10.0).abs());
        let found = lines(
            Values {
                n: [41, 41],
                at: &ring,
            },
            3.0,
        );
        assert_eq!(found.len(), 2, "outside and inside");
        assert!(found.iter().all(|line| line.closed), "both closed");
    }

    #[test]
    fn a_saddle_is_cut_without_crossing() {
        let at = [0.0, 1.0, 1.0, 0.0];
        let found = lines(Values { n: [2, 2], at: &at }, 0.5 + 1e-3);
        assert_eq!(found.len(), 2, "two pieces");
    }
}
