//! The tank as triangles for the turning view.

use egui::Color32;
use fast_surface_nets::ndshape::RuntimeShape;
use fast_surface_nets::{SurfaceNetsBuffer, surface_nets};
use glam::{DVec3, Vec2, Vec3};

use crate::catalog::Form;
use crate::draw::{Skin, Volume, scatter, tank_from_rock};
use crate::geometry::drape::SkinStep;
use crate::scene::{Coral, ItemId, Lamp, Pump, Rock, Tank, aim};
use crate::ui::paint::lit;
use crate::ui::paint::raster::{Corner, Raster};
use crate::ui::paint::rocks::LightWish;
use crate::units::M_PER_CM;

/// Tag of the sand; rocks follow from [`ROCK_TAG`].
pub(crate) const SAND_TAG: u16 = 1;
/// Tag of the first coral; the next ones count up to [`PUMP_TAG`].
pub(crate) const CORAL_TAG: u16 = 10;
/// Tag of the first pump.
pub(crate) const PUMP_TAG: u16 = 1_400;
/// Tag of the first lamp.
pub(crate) const LAMP_TAG: u16 = 1_700;
/// Tag of the first rock.
pub(crate) const ROCK_TAG: u16 = 2_000;

/// From the tank (cm) to pixels and depth.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Eye {
    /// Rows: right, down, away from the eye.
    pub(crate) axes: [Vec3; 3],
    /// What lies in the middle, in cm.
    pub(crate) about_cm: Vec3,
    /// Pixels a centimetre.
    pub(crate) scale: f32,
    /// Middle of the picture, in pixels.
    pub(crate) middle: [f32; 2],
}

impl Eye {
    fn corner(&self, at_cm: Vec3, color: [f32; 3]) -> Corner {
        let d = at_cm - self.about_cm;
        Corner {
            x: self.middle[0] + d.dot(self.axes[0]) * self.scale,
            y: self.middle[1] + d.dot(self.axes[1]) * self.scale,
            depth: d.dot(self.axes[2]),
            height: at_cm.z,
            color,
        }
    }

    /// Place on the picture.
    pub(crate) fn place(&self, at_cm: DVec3) -> [f32; 2] {
        let corner = self.corner(at_cm.as_vec3(), [0.0; 3]);
        [corner.x, corner.y]
    }

    /// Depth of a place.
    pub(crate) fn depth(&self, at_cm: DVec3) -> f32 {
        self.corner(at_cm.as_vec3(), [0.0; 3]).depth
    }

    /// How bright a surface with this normal is: lit from above, the left and
    /// the front.
    fn shade(normal: Vec3) -> f32 {
        const LIGHT: Vec3 = Vec3::new(-0.40, -0.42, 0.81);
        0.74 + 0.30 * normal.dot(LIGHT)
    }
}

/// A rock's surface in its own frame, in cm.
#[derive(Clone, Debug, Default)]
pub(crate) struct RockMesh {
    points: Vec<Vec3>,
    normals: Vec<Vec3>,
    triangles: Vec<u32>,
}

impl RockMesh {
    /// Where the distance is zero, looking at every `stride`-th node.
    pub(crate) fn new(volume: &Volume, stride: usize) -> Self {
        // Rounded up, so that the last layer of air stays in.
        let n = volume.n.map(|n| (n - 1).div_ceil(stride) as u32 + 1);
        let shape = RuntimeShape::<u32, 3>::new(n);
        let mut net = SurfaceNetsBuffer::default();
        let last = n.map(|n| n - 1);
        surface_nets(&thinned(volume, stride, n), &shape, [0; 3], last, &mut net);
        let step_cm = volume.step_cm * stride as f32;
        let place = |p: &[f32; 3]| volume.origin_cm + Vec3::from(*p) * step_cm;
        Self {
            points: net.positions.iter().map(place).collect(),
            normals: net
                .normals
                .iter()
                .map(|n| Vec3::from(*n).normalize_or(Vec3::Z))
                .collect(),
            triangles: net.indices,
        }
    }

    /// Colors of its corners with the light of one field on them.
    pub(crate) fn washed(&self, id: ItemId, light: &LightWish<'_>) -> Vec<[f32; 3]> {
        let lit = light.lit.rock(id);
        let base = channels(light.rock);
        let color = |(at_cm, normal): (&Vec3, &Vec3)| {
            let skin = Skin {
                at_cm: *at_cm,
                normal: *normal,
            };
            let ppfd_umol = lit.as_ref().and_then(|lit| lit.on(&skin));
            lit::tinted(light.colors, ppfd_umol.unwrap_or(0.0), base)
        };
        self.points.iter().zip(&self.normals).map(color).collect()
    }

    /// Fills it into the picture, in one color or in one for each corner.
    pub(crate) fn fill(
        &self,
        raster: &mut Raster,
        eye: &Eye,
        (rock, tag): (&Rock, u16),
        (color, washed): (Color32, Option<&[[f32; 3]]>),
    ) {
        let turn = tank_from_rock(rock).as_mat3();
        let at = rock.at_cm.as_vec3();
        let plain = channels(color);
        let corners: Vec<Corner> = self
            .points
            .iter()
            .zip(&self.normals)
            .enumerate()
            .map(|(k, (p, normal))| {
                let base = washed.and_then(|it| it.get(k)).copied().unwrap_or(plain);
                let grain = 0.05 * scatter(k as i32, i32::from(tag));
                let shade = Eye::shade(turn * *normal) + grain;
                eye.corner(turn * *p + at, base.map(|c| (c * shade).clamp(0.0, 255.0)))
            })
            .collect();
        let away = turn.transpose() * eye.axes[2];
        let is_behind = |idx: u32| self.normals[idx as usize].dot(away) > 0.0;
        for t in self.triangles.chunks_exact(3) {
            if t.iter().all(|idx| is_behind(*idx)) {
                continue;
            }
            let three = [t[0], t[1], t[2]].map(|idx| corners[idx as usize]);
            raster.triangle(three, tag);
        }
    }
}

/// Every `stride`-th value of a volume, the last layers repeated beyond its end.
fn thinned(volume: &Volume, stride: usize, n: [u32; 3]) -> Vec<f32> {
    let [nx, ny, nz] = volume.n;
    let n = n.map(|n| n as usize);
    let mut out = Vec::with_capacity(n[0] * n[1] * n[2]);
    for k in 0..n[2] {
        for j in 0..n[1] {
            let row = ((k * stride).min(nz - 1) * ny + (j * stride).min(ny - 1)) * nx;
            out.extend((0..n[0]).map(|i| volume.distance_cm[row + (i * stride).min(nx - 1)]));
        }
    }
    out
}

fn channels(color: Color32) -> [f32; 3] {
    let [r, g, b, _] = color.to_array();
    [r, g, b].map(f32::from)
}

fn quad(raster: &mut Raster, eye: &Eye, places: [Vec3; 4], color: [f32; 3], tag: u16) {
    let corners = places.map(|p| eye.corner(p, color));
    raster.triangle([corners[0], corners[1], corners[2]], tag);
    raster.triangle([corners[0], corners[2], corners[3]], tag);
}

/// The bed with its visible sides, its top with the light on it if that is given.
pub(crate) fn sand(
    raster: &mut Raster,
    eye: &Eye,
    tank: &Tank,
    (color, light): (Color32, Option<&LightWish<'_>>),
) {
    let (l, w) = (tank.length_cm as f32, tank.width_cm as f32);
    let z = tank.sand.depth_cm as f32;
    let base = channels(color);
    let side = base.map(|c| c * 0.86);
    let p = Vec3::new;
    let top = [p(0.0, 0.0, z), p(l, 0.0, z), p(l, w, z), p(0.0, w, z)];
    let floor = top.map(|c| c.with_z(0.0));
    match light {
        Some(light) => lit_bed(raster, eye, (Vec2::new(l, w), z), (base, light)),
        None => quad(raster, eye, top, base, SAND_TAG),
    }
    if z > 0.0 {
        for k in 0..4 {
            let next = (k + 1) % 4;
            let wall = [floor[k], floor[next], top[next], top[k]];
            quad(raster, eye, wall, side, SAND_TAG);
        }
    }
}

/// The bed's top in small squares, each corner in the color of its light.
fn lit_bed(
    raster: &mut Raster,
    eye: &Eye,
    (size_cm, height_cm): (Vec2, f32),
    (base, light): ([f32; 3], &LightWish<'_>),
) {
    const SQUARE_CM: f32 = 1.5;
    let n = (size_cm / SQUARE_CM)
        .ceil()
        .clamp(Vec2::ONE, Vec2::splat(300.0));
    let (nx, ny) = (n.x as usize, n.y as usize);
    let step = size_cm / n;
    let corner = |i: usize, j: usize| {
        let at = Vec2::new(i as f32, j as f32) * step;
        let color = lit::tinted(light.colors, light.lit.on_bed(at), base);
        eye.corner(at.extend(height_cm), color)
    };
    let row = |j: usize| -> Vec<Corner> { (0..=nx).map(|i| corner(i, j)).collect() };
    let mut below = row(0);
    for j in 1..=ny {
        let above = row(j);
        for i in 0..nx {
            let (a, b, c, d) = (below[i], below[i + 1], above[i + 1], above[i]);
            raster.triangle([a, b, c], SAND_TAG);
            raster.triangle([a, c, d], SAND_TAG);
        }
        below = above;
    }
}

/// How many pieces a coral has around and up.
#[derive(Clone, Copy)]
pub(crate) struct Pieces {
    /// Around.
    pub(crate) around: usize,
    /// Up.
    pub(crate) up: usize,
}

/// A coral as a lump, a disc or a tuft of its size, and its number.
pub(crate) fn coral(
    raster: &mut Raster,
    eye: &Eye,
    (coral, nth, form): (&Coral, u16, Form),
    color: Color32,
    pieces: Pieces,
) {
    let up = coral.facing.as_vec3().normalize_or(Vec3::Z);
    let right = up.any_orthonormal_vector();
    let back = up.cross(right);
    let half = (coral.size_cm / 2.0).as_vec3();
    let at = coral.at_cm.as_vec3();
    let base = channels(color);
    // Width at each height, as a share of the widest.
    let profile = |t: f32| match form {
        Form::Table | Form::Plating | Form::FreeLiving | Form::Disc => 0.25 + 0.75 * t * t,
        Form::Branching | Form::Tree | Form::Phaceloid | Form::Fan => 0.45 + 0.55 * t,
        _ => (1.0 - (t * t) * 0.75).max(0.0).sqrt(),
    };
    let ring = |k: usize, j: usize| {
        let t = j as f32 / (pieces.up - 1) as f32;
        let (sin, cos) = (k as f32 / pieces.around as f32 * std::f32::consts::TAU).sin_cos();
        let ripple = 1.0 + 0.09 * (k as f32 * 2.4 + j as f32).sin();
        let width = profile(t) * ripple;
        let out = right * (cos * half.x * width) + back * (sin * half.y * width);
        let normal = (right * cos + back * sin + up * (t - 0.3)).normalize_or(up);
        let shade = Eye::shade(normal);
        let color = base.map(|c| (c * shade).clamp(0.0, 255.0));
        eye.corner(at + out + up * (t * half.z * 2.0), color)
    };
    let tag = coral_tag(nth);
    let crown = eye.corner(at + up * (half.z * 2.0), base);
    for k in 0..pieces.around {
        for j in 0..pieces.up - 1 {
            let (a, b) = (ring(k, j), ring(k + 1, j));
            let (c, d) = (ring(k + 1, j + 1), ring(k, j + 1));
            raster.triangle([a, b, c], tag);
            raster.triangle([a, c, d], tag);
        }
        let top = pieces.up - 1;
        raster.triangle([ring(k, top), ring(k + 1, top), crown], tag);
    }
}

/// How high a mat stands over its rock, in cm, so that it shows.
const MAT_CM: f64 = 0.5;

/// A mat or a crust as it lies over its rock: its ways from the middle to its
/// rim, in order around, and its number.
pub(crate) fn mat(
    raster: &mut Raster,
    eye: &Eye,
    (ways, nth): (&[Vec<SkinStep>], u16),
    color: Color32,
) {
    let base = channels(color);
    let tag = coral_tag(nth);
    let corner = |step: &SkinStep| {
        let at_cm = step.at_m / M_PER_CM + step.normal * MAT_CM;
        let shade = Eye::shade(step.normal.as_vec3());
        let color = base.map(|c| (c * shade).clamp(0.0, 255.0));
        eye.corner(at_cm.as_vec3(), color)
    };
    let firsts: Vec<&SkinStep> = ways.iter().filter_map(|way| way.first()).collect();
    let n = firsts.len().max(1) as f64;
    // Ways begin with their first step: its mean is the middle, near enough.
    let middle = SkinStep {
        at_m: firsts.iter().map(|step| step.at_m).sum::<DVec3>() / n,
        normal: (firsts.iter().map(|step| step.normal).sum::<DVec3>()).normalize_or(DVec3::Z),
    };
    for (k, way) in ways.iter().enumerate() {
        let next = &ways[(k + 1) % ways.len()];
        if let (Some(a), Some(b)) = (way.first(), next.first()) {
            raster.triangle([corner(&middle), corner(a), corner(b)], tag);
        }
        // Where one way is shorter, its end stands for the rest of it.
        let at =
            |way: &[SkinStep], j: usize| way.get(j.min(way.len().saturating_sub(1))).map(corner);
        for j in 1..way.len().max(next.len()) {
            let (here, there) = (at(way, j), at(next, j));
            let (back, back_there) = (at(way, j - 1), at(next, j - 1));
            if let (Some(a), Some(b), Some(c), Some(d)) = (back, here, there, back_there) {
                raster.triangle([a, b, c], tag);
                raster.triangle([a, c, d], tag);
            }
        }
    }
}

/// The tag of a coral by its number.
fn coral_tag(nth: u16) -> u16 {
    CORAL_TAG + nth.min(PUMP_TAG - CORAL_TAG - 1)
}

/// A lamp's glowing face and its back.
pub(crate) fn lamp(raster: &mut Raster, eye: &Eye, (lamp, tag): (&Lamp, u16), color: Color32) {
    let face: Vec<Vec3> = lamp.face_cm().iter().map(|p| p.as_vec3()).collect();
    let axis = lamp.axis().as_vec3();
    let base = channels(color);
    for shift in [Vec3::ZERO, -axis * 2.2] {
        let corners: Vec<Corner> = face.iter().map(|p| eye.corner(*p + shift, base)).collect();
        for k in 1..corners.len().saturating_sub(1) {
            raster.triangle([corners[0], corners[k], corners[k + 1]], tag);
        }
    }
    for k in 0..face.len() {
        let next = (k + 1) % face.len();
        let wall = [
            face[k],
            face[next],
            face[next] - axis * 2.2,
            face[k] - axis * 2.2,
        ];
        quad(raster, eye, wall, base.map(|c| c * 0.9), tag);
    }
}

/// A pump as a short drum along its aim.
pub(crate) fn pump(raster: &mut Raster, eye: &Eye, (pump, tag): (&Pump, u16), color: Color32) {
    const AROUND: usize = 12;
    let aim = aim(pump.turn_deg, pump.tilt_deg).as_vec3();
    let right = aim.any_orthonormal_vector();
    let up = aim.cross(right);
    let radius = (pump.outlet_cm as f32 / 2.0).clamp(1.2, 4.0);
    let at = pump.at_cm.as_vec3();
    let base = channels(color);
    let rim = |k: usize, along: f32| {
        let (sin, cos) = (k as f32 / AROUND as f32 * std::f32::consts::TAU).sin_cos();
        let out = right * cos + up * sin;
        let shade = Eye::shade(out);
        let color = base.map(|c| (c * shade).clamp(0.0, 255.0));
        eye.corner(at + out * radius + aim * along, color)
    };
    let front = eye.corner(at, base.map(|c| c * 0.55));
    let back = eye.corner(at - aim * 3.5, base);
    for k in 0..AROUND {
        let (a, b) = (rim(k, 0.0), rim(k + 1, 0.0));
        let (c, d) = (rim(k + 1, -3.5), rim(k, -3.5));
        raster.triangle([a, b, c], tag);
        raster.triangle([a, c, d], tag);
        raster.triangle([a, b, front], tag);
        raster.triangle([c, d, back], tag);
    }
}
