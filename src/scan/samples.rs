//! Shapes of known volume, and their files in every format.

use std::f64::consts::PI;
use std::fmt::Write as _;

use glam::{DMat3, DVec3};

/// A mesh in cm, z up.
pub(super) struct Sample {
    pub(super) name: &'static str,
    pub(super) points: Vec<DVec3>,
    pub(super) triangles: Vec<[u32; 3]>,
    pub(super) volume_cm3: f64,
}

/// A surface over a net of `nu` × `nv` fields, closed both ways.
fn net(
    (nu, nv): (u32, u32),
    first: u32,
    place: impl Fn(f64, f64) -> DVec3,
) -> (Vec<DVec3>, Vec<[u32; 3]>) {
    let mut points = Vec::new();
    let mut triangles = Vec::new();
    let at = |i: u32, j: u32| first + (j % nv) * nu + i % nu;
    for j in 0..nv {
        for i in 0..nu {
            let (u, v) = (f64::from(i) / f64::from(nu), f64::from(j) / f64::from(nv));
            points.push(place(u, v));
            let [a, b, c, d] = [at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)];
            triangles.push([a, b, c]);
            triangles.push([a, c, d]);
        }
    }
    (points, triangles)
}

/// A ball as a net from pole to pole: rows are open at the poles, where all
/// their points meet.
pub(super) fn ball(center: DVec3, radius: f64, first: u32) -> (Vec<DVec3>, Vec<[u32; 3]>) {
    const ROWS: u32 = 60;
    let (points, triangles) = net((120, ROWS + 1), first, |u, v| {
        let down = (v * f64::from(ROWS + 1) / f64::from(ROWS)).min(1.0) * PI;
        let round = u * 2.0 * PI;
        let is_pole = v == 0.0 || down == PI;
        let ring = if is_pole { 0.0 } else { radius * down.sin() };
        center + DVec3::new(ring * round.cos(), ring * round.sin(), -radius * down.cos())
    });
    // The last row would lead from pole to pole.
    let kept = 2 * 120 * ROWS as usize;
    (points, triangles[..kept].to_vec())
}

pub(super) fn sphere() -> Sample {
    let (points, triangles) = ball(DVec3::ZERO, 9.0, 0);
    Sample {
        name: "sphere",
        points,
        triangles,
        volume_cm3: 4.0 / 3.0 * PI * 729.0,
    }
}

fn torus() -> Sample {
    let (points, triangles) = net((160, 60), 0, |u, v| {
        let (round, over) = (u * 2.0 * PI, v * 2.0 * PI);
        let ring = 10.0 + 4.0 * over.cos();
        DVec3::new(ring * round.cos(), ring * round.sin(), 4.0 * over.sin())
    });
    Sample {
        name: "torus",
        points,
        triangles,
        volume_cm3: 2.0 * PI * PI * 10.0 * 16.0,
    }
}

fn overlapping() -> Sample {
    let (r, apart) = (7.0, 8.0);
    let (mut points, mut triangles) = ball(DVec3::ZERO, r, 0);
    let (more, others) = ball(DVec3::new(apart, 0.0, 0.0), r, points.len() as u32);
    points.extend(more);
    triangles.extend(others);
    let cap = r - apart / 2.0;
    let lens = 2.0 * PI * cap * cap * (3.0 * r - cap) / 3.0;
    Sample {
        name: "two overlapping balls",
        points,
        triangles,
        volume_cm3: 8.0 / 3.0 * PI * r.powi(3) - lens,
    }
}

/// A cube of 16 cm with a square hole of 6 cm through it from front to back.
fn holed_cube() -> Sample {
    const N: i32 = 32;
    let cell = 16.0 / f64::from(N);
    let is_hole = |i: i32, k: i32| (10..22).contains(&i) && (10..22).contains(&k);
    let filled =
        |[i, j, k]: [i32; 3]| [i, j, k].iter().all(|x| (0..N).contains(x)) && !is_hole(i, k);
    let (mut points, mut triangles) = (Vec::new(), Vec::new());
    // The faces between filled cubes and others, two triangles each.
    for idx in 0..N * N * N {
        let at = [idx % N, idx / N % N, idx / (N * N)];
        if !filled(at) {
            continue;
        }
        for axis in 0..3 {
            for side in [0, 1] {
                let mut beside = at;
                beside[axis] += 2 * side - 1;
                if filled(beside) {
                    continue;
                }
                let corner = |u: i32, v: i32| {
                    let mut p = at;
                    p[axis] += side;
                    p[(axis + 1) % 3] += u;
                    p[(axis + 2) % 3] += v;
                    DVec3::from_array(p.map(f64::from)) * cell
                };
                let first = points.len() as u32;
                points.extend([corner(0, 0), corner(1, 0), corner(1, 1), corner(0, 1)]);
                let [a, b, c, d] = [0, 1, 2, 3].map(|k| first + k);
                triangles.extend(if side == 1 {
                    [[a, b, c], [a, c, d]]
                } else {
                    [[a, c, b], [a, d, c]]
                });
            }
        }
    }
    Sample {
        name: "cube with a hole in it",
        points,
        triangles,
        volume_cm3: 16.0 * (256.0 - 36.0),
    }
}

pub(super) fn samples() -> [Sample; 4] {
    [sphere(), torus(), overlapping(), holed_cube()]
}

impl Sample {
    /// With this many of its triangles in a thousand gone, here and there.
    pub(super) fn torn(mut self, permille: u32) -> Self {
        let mut state = 12_345_u32;
        self.triangles.retain(|_| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (state >> 8) % 1000 >= permille
        });
        self
    }

    pub(super) fn turned(mut self, turn: DMat3, scale: f64) -> Self {
        for p in &mut self.points {
            *p = turn * *p * scale;
        }
        self
    }

    pub(super) fn obj(&self) -> Vec<u8> {
        let mut text = String::from("# a sample\no sample\n");
        for p in &self.points {
            writeln!(text, "v {} {} {}", p.x, p.y, p.z).expect("into a text");
        }
        for [a, b, c] in &self.triangles {
            writeln!(text, "f {} {} {}", a + 1, b + 1, c + 1).expect("into a text");
        }
        text.into_bytes()
    }

    pub(super) fn corners(&self) -> impl Iterator<Item = [[f32; 3]; 3]> + '_ {
        let place = |p: u32| self.points[p as usize].as_vec3().to_array();
        self.triangles.iter().map(move |t| t.map(place))
    }

    pub(super) fn stl_text(&self) -> Vec<u8> {
        let mut text = String::from("solid sample\n");
        for corners in self.corners() {
            text.push_str("facet normal 0 0 0\nouter loop\n");
            for [x, y, z] in corners {
                writeln!(text, "vertex {x:e} {y:e} {z:e}").expect("into a text");
            }
            text.push_str("endloop\nendfacet\n");
        }
        text.push_str("endsolid sample\n");
        text.into_bytes()
    }

    pub(super) fn stl(&self) -> Vec<u8> {
        let mut bytes = b"solid as some programs begin the binary form, too".to_vec();
        bytes.resize(80, b' ');
        bytes.extend((self.triangles.len() as u32).to_le_bytes());
        for corners in self.corners() {
            bytes.extend([0; 12]);
            bytes.extend(corners.iter().flatten().flat_map(|x| x.to_le_bytes()));
            bytes.extend([0; 2]);
        }
        bytes
    }

    pub(super) fn ply_header(&self, form: &str) -> String {
        format!(
            "ply\nformat {form} 1.0\ncomment a sample\nelement vertex {}\nproperty float x\n\
             property float y\nproperty float z\nproperty uchar red\nelement face {}\n\
             property list uchar int vertex_indices\nend_header\n",
            self.points.len(),
            self.triangles.len()
        )
    }

    pub(super) fn ply_text(&self) -> Vec<u8> {
        let mut text = self.ply_header("ascii");
        for p in &self.points {
            writeln!(text, "{} {} {} 200", p.x as f32, p.y as f32, p.z as f32).expect("a text");
        }
        for [a, b, c] in &self.triangles {
            writeln!(text, "3 {a} {b} {c}").expect("into a text");
        }
        text.into_bytes()
    }

    pub(super) fn ply(&self, is_little: bool) -> Vec<u8> {
        let order = if is_little { "little" } else { "big" };
        let mut bytes = self
            .ply_header(&format!("binary_{order}_endian"))
            .into_bytes();
        let add = |four: [u8; 4]| {
            let mut four = four;
            if !is_little {
                four.reverse();
            }
            four
        };
        for p in &self.points {
            for x in p.as_vec3().to_array() {
                bytes.extend(add(x.to_le_bytes()));
            }
            bytes.push(200);
        }
        for t in &self.triangles {
            bytes.push(3);
            for corner in t {
                bytes.extend(add(corner.to_le_bytes()));
            }
        }
        bytes
    }

    pub(super) fn glb(&self) -> Vec<u8> {
        let mut data: Vec<u8> = Vec::new();
        for p in &self.points {
            data.extend(p.as_vec3().to_array().iter().flat_map(|x| x.to_le_bytes()));
        }
        let positions = data.len();
        data.extend(
            self.triangles
                .iter()
                .flatten()
                .flat_map(|x| x.to_le_bytes()),
        );
        let (low, high) = (self.points.iter())
            .fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(low, high), p| {
                (low.min(*p), high.max(*p))
            });
        let mut json = format!(
            r#"{{"asset":{{"version":"2.0"}},"scene":0,"scenes":[{{"nodes":[0]}}],"nodes":[{{"mesh":0}}],
            "meshes":[{{"primitives":[{{"attributes":{{"POSITION":0}},"indices":1}}]}}],
            "buffers":[{{"byteLength":{}}}],
            "bufferViews":[{{"buffer":0,"byteOffset":0,"byteLength":{positions}}},
            {{"buffer":0,"byteOffset":{positions},"byteLength":{}}}],
            "accessors":[{{"bufferView":0,"componentType":5126,"count":{},"type":"VEC3","min":{:?},"max":{:?}}},
            {{"bufferView":1,"componentType":5125,"count":{},"type":"SCALAR"}}]}}"#,
            data.len(),
            data.len() - positions,
            self.points.len(),
            low.as_vec3().to_array(),
            high.as_vec3().to_array(),
            3 * self.triangles.len()
        );
        while json.len() % 4 != 0 {
            json.push(' ');
        }
        let whole = 12 + 8 + json.len() + 8 + data.len();
        let mut bytes = b"glTF".to_vec();
        bytes.extend(2_u32.to_le_bytes());
        bytes.extend((whole as u32).to_le_bytes());
        bytes.extend((json.len() as u32).to_le_bytes());
        bytes.extend(b"JSON");
        bytes.extend(json.as_bytes());
        bytes.extend((data.len() as u32).to_le_bytes());
        bytes.extend(b"BIN\0");
        bytes.extend(data);
        bytes
    }

    /// The file in every form, with a name.
    pub(super) fn files(&self) -> [(&'static str, Vec<u8>); 7] {
        [
            ("rock.obj", self.obj()),
            ("text.stl", self.stl_text()),
            ("bytes.stl", self.stl()),
            ("text.ply", self.ply_text()),
            ("little.ply", self.ply(true)),
            ("big.PLY", self.ply(false)),
            ("rock.glb", self.glb()),
        ]
    }
}
