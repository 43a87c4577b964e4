//! A field cut by the plane of a view: the values there, how to color them,
//! and where to hatch.

use egui::{Color32, ColorImage};
use glam::{DVec2, DVec3, Vec2};

use crate::draw::scatter;
use crate::flow::{CellKind, FlowField};
use crate::light::LightPlane;
use crate::ui::paint::contour::{self, Values};
use crate::ui::paint::lit::Lit;
use crate::ui::sheet::View;
use crate::ui::wash::ColorTable;

/// Values at the middles of cells in a view's plane.
#[derive(Clone, Debug, Default)]
pub(crate) struct Cut {
    /// Cells to the right and upwards.
    pub(crate) n: [usize; 2],
    /// Lowest corner, in cm of the view.
    pub(crate) min_cm: DVec2,
    /// Edge of a cell, in cm.
    pub(crate) cell_cm: f64,
    /// One value a cell, carried on into rock so that its edge is not ragged.
    pub(crate) value: Vec<f32>,
    /// Mean velocity in the plane, in cm/s, for a flow field.
    pub(crate) velocity_cm_s: Vec<Vec2>,
    /// Whether the cell is water.
    pub(crate) is_water: Vec<bool>,
    /// Whether the flow may flip there; empty where that is not known.
    may_flip: Vec<bool>,
}

impl Cut {
    /// Speed in cm/s where the plane at `depth_cm` cuts a flow field: the middle
    /// of the felt speed, or the estimate's mean where that is not known.
    pub(crate) fn of_flow(field: &FlowField, view: View, depth_cm: f64) -> Self {
        let grid = &field.grid;
        let (h, v, w) = view.axes();
        let n = [grid.n[h], grid.n[v]];
        let place = (depth_cm / 100.0 - grid.origin_m[w]) / grid.cell_m - 0.5;
        let last = (grid.n[w] - 1) as f64;
        let place = place.clamp(0.0, last);
        let low = (place.floor() as usize).min(grid.n[w].saturating_sub(2));
        let share = (place - low as f64) as f32;
        let layers = [(low, 1.0 - share), ((low + 1).min(grid.n[w] - 1), share)];
        let mut cut = Self::empty(n, view, grid.origin_m, grid.cell_m);
        let felt = field.felt();
        for j in 0..n[1] {
            for i in 0..n[0] {
                let (mut value, mut velocity, mut weight) = (0.0, Vec2::ZERO, 0.0);
                let mut flips = false;
                for (layer, share) in layers {
                    let mut cell = [0; 3];
                    (cell[h], cell[v], cell[w]) = (i, j, layer);
                    let idx = grid.idx(cell);
                    if share > 0.0 && field.kind[idx] == CellKind::Water {
                        let u = field.velocity_m_s[idx];
                        let felt = felt.and_then(|felt| felt.cell(idx));
                        let felt = felt.map(|felt| felt.median_m_s() as f32);
                        value += felt.unwrap_or(field.speed_m_s[idx]) * share;
                        velocity += Vec2::new(u[h], u[v]) * share;
                        weight += share;
                        flips |= share >= 0.5 && field.may_flip.get(idx) == Some(&true);
                    }
                }
                let scale = if weight > 0.0 { 100.0 / weight } else { 0.0 };
                cut.value.push(value * scale);
                cut.velocity_cm_s.push(velocity * scale);
                cut.is_water.push(weight > 0.5);
                if !field.may_flip.is_empty() {
                    cut.may_flip.push(flips);
                }
            }
        }
        cut.carry_on();
        cut
    }

    /// PPFD facing up on a plane of light.
    pub(crate) fn of_light(plane: &LightPlane, view: View) -> Self {
        let grid = &plane.grid;
        let (h, v, _) = view.axes();
        let n = [grid.n[h], grid.n[v]];
        let mut cut = Self::empty(n, view, grid.origin_m, grid.cell_m);
        for j in 0..n[1] {
            for i in 0..n[0] {
                let mut cell = [0; 3];
                (cell[h], cell[v]) = (i, j);
                let value = plane.up_umol[grid.idx(cell)];
                cut.value.push(value);
                cut.is_water.push(value > 0.0);
            }
        }
        cut.carry_on();
        cut
    }

    /// PPFD on the bed, as the top view shows it.
    pub(crate) fn of_bed(lit: &Lit) -> Self {
        const CELL_CM: f64 = 1.5;
        let size_cm = lit.bed_size_cm();
        let n = (size_cm.as_dvec2() / CELL_CM).ceil().max(DVec2::ONE);
        let n = [n.x as usize, n.y as usize];
        let mut cut = Self::empty(n, View::Top, DVec3::ZERO, CELL_CM / 100.0);
        for j in 0..n[1] {
            for i in 0..n[0] {
                let middle = Vec2::new(i as f32, j as f32) + 0.5;
                cut.value.push(lit.on_bed(middle * CELL_CM as f32));
                cut.is_water.push(true);
            }
        }
        cut
    }

    /// How much more than another cut of the same plane, where both are water.
    pub(crate) fn minus(mut self, other: &Self) -> Self {
        for j in 0..self.n[1] {
            for i in 0..self.n[0] {
                let middle = DVec2::new(i as f64, j as f64) + 0.5;
                let at_cm = (self.min_cm + middle * self.cell_cm).as_vec2();
                let idx = j * self.n[0] + i;
                self.is_water[idx] = self.is_water[idx] && other.is_water_at(at_cm);
                let difference = self.value[idx] - other.sample(at_cm);
                self.value[idx] = if self.is_water[idx] { difference } else { 0.0 };
            }
        }
        self.velocity_cm_s.clear();
        self
    }

    fn empty(n: [usize; 2], view: View, origin_m: DVec3, cell_m: f64) -> Self {
        let n_cells = n[0] * n[1];
        Self {
            n,
            min_cm: view.flat(origin_m) * 100.0,
            cell_cm: cell_m * 100.0,
            value: Vec::with_capacity(n_cells),
            velocity_cm_s: Vec::with_capacity(n_cells),
            is_water: Vec::with_capacity(n_cells),
            may_flip: Vec::new(),
        }
    }

    /// Highest corner, in cm of the view.
    pub(crate) fn max_cm(&self) -> DVec2 {
        self.min_cm + DVec2::new(self.n[0] as f64, self.n[1] as f64) * self.cell_cm
    }

    /// Gives cells beside water the mean of their water neighbors, three cells
    /// deep: rock is drawn over them.
    fn carry_on(&mut self) {
        let [nx, ny] = self.n;
        let mut known = self.is_water.clone();
        for _ in 0..3 {
            let before = known.clone();
            for j in 0..ny {
                for i in 0..nx {
                    let idx = j * nx + i;
                    if before[idx] {
                        continue;
                    }
                    let mut sum = (0.0, 0.0);
                    for (near, other) in [
                        (i > 0, idx.wrapping_sub(1)),
                        (i + 1 < nx, idx + 1),
                        (j > 0, idx.wrapping_sub(nx)),
                        (j + 1 < ny, idx + nx),
                    ] {
                        if near && before[other] {
                            sum = (sum.0 + self.value[other], sum.1 + 1.0);
                        }
                    }
                    if sum.1 > 0.0 {
                        self.value[idx] = sum.0 / sum.1;
                        known[idx] = true;
                    }
                }
            }
        }
    }

    /// The four cells around a point and their weights.
    fn around(&self, at_cm: Vec2) -> ([usize; 4], [f32; 4]) {
        let place = (at_cm - self.min_cm.as_vec2()) / self.cell_cm as f32 - 0.5;
        let last = Vec2::new((self.n[0] - 1) as f32, (self.n[1] - 1) as f32);
        let place = place.clamp(Vec2::ZERO, last);
        let low = place.floor().min((last - 1.0).max(Vec2::ZERO));
        let share = place - low;
        let (i, j) = (low.x as usize, low.y as usize);
        let (i2, j2) = ((i + 1).min(self.n[0] - 1), (j + 1).min(self.n[1] - 1));
        let row = |j: usize| j * self.n[0];
        (
            [row(j) + i, row(j) + i2, row(j2) + i, row(j2) + i2],
            [
                (1.0 - share.x) * (1.0 - share.y),
                share.x * (1.0 - share.y),
                (1.0 - share.x) * share.y,
                share.x * share.y,
            ],
        )
    }

    /// The value at a point of the view, interpolated.
    pub(crate) fn sample(&self, at_cm: Vec2) -> f32 {
        let (cells, weights) = self.around(at_cm);
        (0..4).map(|k| self.value[cells[k]] * weights[k]).sum()
    }

    /// Mean velocity in the plane, in cm/s; `None` outside the water.
    pub(crate) fn velocity(&self, at_cm: Vec2) -> Option<Vec2> {
        if self.velocity_cm_s.is_empty() || !self.is_water_at(at_cm) {
            return None;
        }
        let (cells, weights) = self.around(at_cm);
        Some(
            (0..4)
                .map(|k| self.velocity_cm_s[cells[k]] * weights[k])
                .sum(),
        )
    }

    /// Whether a point lies in a water cell.
    pub(crate) fn is_water_at(&self, at_cm: Vec2) -> bool {
        let place = ((at_cm - self.min_cm.as_vec2()) / self.cell_cm as f32).floor();
        let inside = place.cmpge(Vec2::ZERO).all()
            && place.x < self.n[0] as f32
            && place.y < self.n[1] as f32;
        inside && self.is_water[place.y as usize * self.n[0] + place.x as usize]
    }

    /// The wash as a picture: classes with soft edges that pool a little, as
    /// wet color does, on the grain of paper. Clear where `visible_to_cm` ends
    /// (the water line of a side view).
    pub(crate) fn image(&self, colors: &ColorTable, strength: f32) -> ColorImage {
        const PIXELS_A_CELL: usize = 4;
        const PIXELS_MAX: usize = 640;
        let longest = self.n[0].max(self.n[1]);
        let per_cell = PIXELS_A_CELL.min(PIXELS_MAX / longest.max(1)).max(1);
        let (width, height) = (self.n[0] * per_cell, self.n[1] * per_cell);
        let mut pixels = Vec::with_capacity(width * height);
        let cell_cm = self.cell_cm as f32;
        let mut row_values = vec![0.0; self.n[0]];
        // The same in every row: between which two cells a column lies.
        let between =
            |column: usize| Between::new((column as f32 + 0.5) / per_cell as f32, self.n[0]);
        let columns: Vec<Between> = (0..width).map(between).collect();
        for row in 0..height {
            let y = (height - 1 - row) as f32 + 0.5;
            self.blend_rows(y / per_cell as f32, &mut row_values);
            for (column, between) in columns.iter().enumerate() {
                let value = between.of(&row_values);
                let soft = 0.04 * value + 0.02;
                let [r, g, b] = colors.color(value, soft);
                let grain = 1.0 + 0.025 * scatter(column as i32, row as i32);
                let alpha = strength * grain;
                let channel = |c: f32| (c * alpha).clamp(0.0, 255.0) as u8;
                let opacity = (255.0 * alpha).clamp(0.0, 255.0) as u8;
                pixels.push(Color32::from_rgba_premultiplied(
                    channel(r).min(opacity),
                    channel(g).min(opacity),
                    channel(b).min(opacity),
                    opacity,
                ));
            }
        }
        debug_assert!(cell_cm > 0.0, "a cut has cells");
        ColorImage::new([width, height], pixels)
    }

    /// Values along a row of cells, between two rows.
    fn blend_rows(&self, y: f32, out: &mut [f32]) {
        let nx = self.n[0];
        let place = (y - 0.5).clamp(0.0, (self.n[1] - 1) as f32);
        let low = (place.floor() as usize).min(self.n[1].saturating_sub(2));
        let high = (low + 1).min(self.n[1] - 1);
        let share = place - low as f32;
        let (a, b) = (
            &self.value[low * nx..][..nx],
            &self.value[high * nx..][..nx],
        );
        for ((out, a), b) in out.iter_mut().zip(a).zip(b) {
            *out = a + (b - a) * share;
        }
    }

    /// Border lines of the water slower (or darker) than `limit`, in cm.
    pub(crate) fn borders(&self, limit: f32) -> Vec<contour::Line> {
        let values: Vec<f32> = self
            .value
            .iter()
            .zip(&self.is_water)
            .map(|(value, water)| {
                if *water {
                    *value
                } else {
                    value.max(limit * 1.001)
                }
            })
            .collect();
        let origin = self.min_cm.as_vec2() + 0.5 * self.cell_cm as f32;
        contour::lines(
            Values {
                n: self.n,
                at: &values,
            },
            limit,
        )
        .into_iter()
        .map(|line| contour::Line {
            points: line
                .points
                .iter()
                .map(|p| (origin + Vec2::from(*p) * self.cell_cm as f32).to_array())
                .collect(),
            ..line
        })
        .collect()
    }

    /// Slanting strokes over the water below `limit`, `spacing_cm` apart, as
    /// pairs of ends in cm of the view.
    pub(crate) fn hatch(&self, limit: f32, spacing_cm: f32) -> Vec<[Vec2; 2]> {
        let is_in = |p: Vec2| self.is_water_at(p) && self.sample(p) < limit;
        hatch(
            [self.min_cm.as_vec2(), self.max_cm().as_vec2()],
            spacing_cm,
            (self.cell_cm as f32 * 0.5).min(spacing_cm),
            is_in,
        )
    }
}

impl Cut {
    /// Strokes that slant the other way over water in which the flow may flip.
    pub(crate) fn flip_hatch(&self, spacing_cm: f32) -> Vec<[Vec2; 2]> {
        if self.may_flip.is_empty() {
            return Vec::new();
        }
        let turned = |p: Vec2| Vec2::new(-p.x, p.y);
        let is_in = |p: Vec2| {
            let cell = (turned(p) - self.min_cm.as_vec2()) / self.cell_cm as f32;
            let inside = cell.cmpge(Vec2::ZERO).all()
                && cell.x < self.n[0] as f32
                && cell.y < self.n[1] as f32;
            inside && self.may_flip[cell.y as usize * self.n[0] + cell.x as usize]
        };
        let (lo, hi) = (self.min_cm.as_vec2(), self.max_cm().as_vec2());
        let box_cm = [Vec2::new(-hi.x, lo.y), Vec2::new(-lo.x, hi.y)];
        let step_cm = (self.cell_cm as f32 * 0.5).min(spacing_cm);
        (hatch(box_cm, spacing_cm, step_cm, is_in).into_iter())
            .map(|ends| ends.map(turned))
            .collect()
    }
}

/// Strokes at 45 degrees over the part of a box where `is_in` holds.
pub(crate) fn hatch(
    box_cm: [Vec2; 2],
    spacing_cm: f32,
    step_cm: f32,
    is_in: impl Fn(Vec2) -> bool,
) -> Vec<[Vec2; 2]> {
    const LINES_MAX: usize = 2_000;
    let [lo, hi] = box_cm;
    let size = hi - lo;
    let mut strokes = Vec::new();
    let across = spacing_cm * std::f32::consts::SQRT_2;
    let n_lines = (((size.x + size.y) / across).ceil() as usize).min(LINES_MAX);
    for k in 0..n_lines {
        // The line x - y = c, walked upwards.
        let c = lo.x - hi.y + (k as f32 + 0.5) * across;
        let from_x = lo.x.max(c + lo.y);
        let to_x = hi.x.min(c + hi.y);
        let n_steps = ((to_x - from_x) / step_cm).ceil().max(0.0) as usize;
        let mut open: Option<Vec2> = None;
        for step in 0..=n_steps {
            let x = (from_x + step as f32 * step_cm).min(to_x);
            let p = Vec2::new(x, x - c);
            let inside = step < n_steps && is_in(p);
            match (inside, open) {
                (true, None) => open = Some(p),
                (false, Some(from)) => {
                    strokes.push([from, p]);
                    open = None;
                }
                _ => {}
            }
        }
    }
    strokes
}

/// A place between the middles of two cells of a row.
struct Between {
    low: usize,
    high: usize,
    share: f32,
}

impl Between {
    /// The place `x` cells along a row of `n`.
    fn new(x: f32, n: usize) -> Self {
        let place = (x - 0.5).clamp(0.0, (n - 1) as f32);
        let low = (place as usize).min(n.saturating_sub(2));
        Self {
            low,
            high: (low + 1).min(n - 1),
            share: place - low as f32,
        }
    }

    fn of(&self, values: &[f32]) -> f32 {
        let low = values[self.low];
        low + (values[self.high] - low) * self.share
    }
}
