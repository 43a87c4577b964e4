//! Shapes of known volume through every format, whole and with holes; damaged
//! files; units, axes and feet.

use std::f64::consts::PI;
use std::fmt::Write as _;

use glam::{DMat3, DVec3};

use super::{Format, Imported, Mesh, ScanError, Unit, Up, Wishes, import};

/// A mesh in cm, z up.
struct Sample {
    name: &'static str,
    points: Vec<DVec3>,
    triangles: Vec<[u32; 3]>,
    volume_cm3: f64,
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
fn ball(center: DVec3, radius: f64, first: u32) -> (Vec<DVec3>, Vec<[u32; 3]>) {
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

fn sphere() -> Sample {
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

fn samples() -> [Sample; 4] {
    [sphere(), torus(), overlapping(), holed_cube()]
}

impl Sample {
    /// With this many of its triangles in a thousand gone, here and there.
    fn torn(mut self, permille: u32) -> Self {
        let mut state = 12_345_u32;
        self.triangles.retain(|_| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (state >> 8) % 1000 >= permille
        });
        self
    }

    fn turned(mut self, turn: DMat3, scale: f64) -> Self {
        for p in &mut self.points {
            *p = turn * *p * scale;
        }
        self
    }

    fn obj(&self) -> Vec<u8> {
        let mut text = String::from("# a sample\no sample\n");
        for p in &self.points {
            writeln!(text, "v {} {} {}", p.x, p.y, p.z).expect("into a text");
        }
        for [a, b, c] in &self.triangles {
            writeln!(text, "f {} {} {}", a + 1, b + 1, c + 1).expect("into a text");
        }
        text.into_bytes()
    }

    fn corners(&self) -> impl Iterator<Item = [[f32; 3]; 3]> + '_ {
        let place = |p: u32| self.points[p as usize].as_vec3().to_array();
        self.triangles.iter().map(move |t| t.map(place))
    }

    fn stl_text(&self) -> Vec<u8> {
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

    fn stl(&self) -> Vec<u8> {
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

    fn ply_header(&self, form: &str) -> String {
        format!(
            "ply\nformat {form} 1.0\ncomment a sample\nelement vertex {}\nproperty float x\n\
             property float y\nproperty float z\nproperty uchar red\nelement face {}\n\
             property list uchar int vertex_indices\nend_header\n",
            self.points.len(),
            self.triangles.len()
        )
    }

    fn ply_text(&self) -> Vec<u8> {
        let mut text = self.ply_header("ascii");
        for p in &self.points {
            writeln!(text, "{} {} {} 200", p.x as f32, p.y as f32, p.z as f32).expect("a text");
        }
        for [a, b, c] in &self.triangles {
            writeln!(text, "3 {a} {b} {c}").expect("into a text");
        }
        text.into_bytes()
    }

    fn ply(&self, is_little: bool) -> Vec<u8> {
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

    fn glb(&self) -> Vec<u8> {
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
    fn files(&self) -> [(&'static str, Vec<u8>); 7] {
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

fn in_cm(name: &str, bytes: &[u8]) -> Imported {
    let mesh = Mesh::read(name, bytes).unwrap_or_else(|error| panic!("{name}: {error}"));
    let wishes = Wishes {
        unit: Some(Unit::Cm),
        up: Some(Up::Z),
    };
    import(&mesh, wishes, &|_| true).unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// What each format keeps is the same mesh, to the precision of its numbers.
#[test]
fn all_formats_read_alike() {
    for sample in samples() {
        let files = sample.files();
        let read = |(name, bytes): &(&str, Vec<u8>)| {
            Mesh::read(name, bytes).unwrap_or_else(|error| panic!("{name}: {error}"))
        };
        let first = read(&files[0]);
        for file in &files[1..] {
            let other = read(file);
            let (name, what) = (file.0, sample.name);
            assert_eq!(first.points.len(), other.points.len(), "{what} in {name}");
            assert_eq!(
                first.triangles.len(),
                other.triangles.len(),
                "{what} in {name}"
            );
            let corners =
                |mesh: &Mesh, idx: usize| mesh.triangles[idx].map(|c| mesh.points[c as usize]);
            for idx in 0..first.triangles.len() {
                for (a, b) in corners(&first, idx).iter().zip(corners(&other, idx)) {
                    assert!(a.distance(b) < 1e-5, "triangle {idx} of {what} in {name}");
                }
            }
        }
    }
}

/// All shapes in one format, and one shape in each other format.
fn imports(torn_permille: u32, mut judge: impl FnMut(&Sample, &str, &Imported)) {
    for (idx, sample) in samples().into_iter().enumerate() {
        let sample = sample.torn(torn_permille);
        for (k, (name, bytes)) in sample.files().iter().enumerate() {
            if k == 0 || k % 4 == idx {
                judge(&sample, name, &in_cm(name, bytes));
            }
        }
    }
}

/// Within the 3 % that are asked; edges of a step lose less.
#[test]
fn a_known_volume_comes_back_from_every_format() {
    imports(0, |sample, name, found| {
        let found = &found.report;
        let off = found.volume_l * 1000.0 / sample.volume_cm3 - 1.0;
        assert!(off.abs() < 0.01, "{} in {name}: {off:.4}", sample.name);
        assert!(
            found.volume_error < 0.015,
            "{} in {name}: {found:?}",
            sample.name
        );
        assert_eq!(found.open_edges, 0.0, "{} in {name} is closed", sample.name);
    });
}

#[test]
fn a_tenth_of_the_triangles_may_be_missing() {
    imports(100, |sample, name, found| {
        let found = &found.report;
        let off = found.volume_l * 1000.0 / sample.volume_cm3 - 1.0;
        assert!(off.abs() < 0.03, "{} in {name}: {off:.4}", sample.name);
        assert!(found.open_edges > 0.1, "{} in {name} is open", sample.name);
    });
}

/// A dome on a flat foot: half an ellipsoid.
fn dome() -> Sample {
    let (mut points, triangles) = ball(DVec3::ZERO, 1.0, 0);
    for p in &mut points {
        *p = DVec3::new(8.0, 5.0, 7.0) * p.with_z(p.z.max(0.0));
    }
    Sample {
        name: "dome",
        points,
        triangles,
        volume_cm3: 2.0 / 3.0 * PI * 8.0 * 5.0 * 7.0,
    }
}

fn guessed(name: &str, bytes: &[u8]) -> Imported {
    let mesh = Mesh::read(name, bytes).expect("a mesh");
    import(&mesh, Wishes::default(), &|_| true).expect("a rock")
}

#[test]
fn axes_are_guessed_by_format_and_by_the_foot_and_may_be_said() {
    let quarter = DMat3::from_rotation_x(-std::f64::consts::FRAC_PI_2);
    // z up where y is usual, and the other way round: the flat foot tells.
    let cases = [
        ("a.stl", dome().stl(), Up::Z),
        ("b.stl", dome().turned(quarter, 1.0).stl(), Up::Y),
        ("c.obj", dome().turned(quarter, 1.0).obj(), Up::Y),
        ("d.obj", dome().obj(), Up::Z),
    ];
    for (name, bytes, up) in cases {
        let found = guessed(name, &bytes);
        assert_eq!(found.report.up, up, "{name}");
        assert!(
            found.report.up_is_guessed && found.report.foot_is_flat,
            "{name}"
        );
        let (low, high) = found.scan.bounds_cm();
        assert!(low.z.abs() < 0.1, "{name} stands at {low}");
        assert!(
            (high - low).distance(DVec3::new(16.0, 10.0, 7.0)) < 0.4,
            "{name}: {high}"
        );
    }
    // Every way up gives the same volume.
    let mesh = Mesh::read("a.stl", &dome().stl()).expect("a mesh");
    for up in Up::ALL {
        let wishes = Wishes {
            unit: Some(Unit::Cm),
            up: Some(up),
        };
        let found = import(&mesh, wishes, &|_| true).expect("a rock");
        let off = found.report.volume_l * 1000.0 / dome().volume_cm3 - 1.0;
        assert!(off.abs() < 0.03, "{}: {off}", up.name());
        assert!(!found.report.up_is_guessed);
    }
}

#[test]
fn units_are_guessed_by_the_extent_and_may_be_said() {
    let sizes = [(10.0, Unit::Mm), (1.0, Unit::Cm), (0.01, Unit::M)];
    for (scale, unit) in sizes {
        let found = guessed("a.stl", &dome().turned(DMat3::IDENTITY, scale).stl());
        assert_eq!(found.report.unit, unit);
        assert!(found.report.unit_is_guessed);
        assert!(
            (found.report.size_cm.x - 16.0).abs() < 0.2,
            "{:?}",
            found.report
        );
    }
    // A GLB is in meters by its standard, even if that makes a large rock.
    let large = guessed("a.glb", &dome().turned(DMat3::IDENTITY, 0.1).glb());
    assert_eq!(large.report.unit, Unit::M);
    let mesh = Mesh::read("a.stl", &dome().stl()).expect("a mesh");
    let inches = Wishes {
        unit: Some(Unit::In),
        up: None,
    };
    let found = import(&mesh, inches, &|_| true).expect("a rock");
    assert!(
        (found.report.size_cm.x - 40.64).abs() < 0.5,
        "{:?}",
        found.report
    );
    let meters = Wishes {
        unit: Some(Unit::M),
        up: None,
    };
    let refused = import(&mesh, meters, &|_| true);
    assert!(
        matches!(refused, Err(ScanError::Size { .. })),
        "{refused:?}"
    );
}

#[test]
fn a_surface_turned_inside_out_is_turned_back() {
    let mut inverse = dome();
    inverse.triangles.iter_mut().for_each(|t| t.swap(0, 1));
    let found = guessed("a.stl", &inverse.stl());
    let off = found.report.volume_l * 1000.0 / inverse.volume_cm3 - 1.0;
    assert!(off.abs() < 0.03, "{off}");
}

#[test]
fn crumbs_are_left_out_and_said() {
    let mut sample = sphere();
    let (points, triangles) = ball(DVec3::new(14.0, 0.0, 0.0), 1.2, sample.points.len() as u32);
    sample.points.extend(points);
    sample.triangles.extend(triangles);
    let found = in_cm("a.obj", &sample.obj());
    assert_eq!((found.report.pieces, found.report.crumbs), (1, 1));
    let (low, high) = found.scan.bounds_cm();
    assert!(
        (low.x + high.x).abs() < 1e-9,
        "what is left is in the middle"
    );
}

#[test]
fn what_is_no_rock_is_refused_with_a_reason() {
    let read = |name: &str, bytes: &[u8]| {
        Mesh::read(name, bytes)
            .map(|_| ())
            .map_err(|e| e.to_string())
    };
    let says = |name: &str, bytes: &[u8], word: &str| {
        let said = read(name, bytes).expect_err(name);
        assert!(said.contains(word), "{name}: {said}");
    };
    says("rock.txt", b"hello", "OBJ, STL, PLY or GLB");
    says("rock.obj", b"", "no triangles");
    says(
        "rock.obj",
        b"v 0 0 0\nv 1 0 0\nv 0 1 x\nf 1 2 3\n",
        "line 3",
    );
    says("rock.obj", b"v 0 0 0\nv 1 0 0\nf 1 2 9\n", "line 3");
    says(
        "rock.obj",
        b"v 0 0 0\nv 1 0 0\nv 0 NaN 0\nf 1 2 3\n",
        "corner point 3",
    );
    says("rock.stl", b"", "byte 0");
    let whole = dome();
    for (name, bytes) in whole.files() {
        let half = &bytes[..bytes.len() * 2 / 3];
        let cut = read(name, half);
        // A text of faces one a line may end anywhere and be a mesh still.
        assert!(
            cut.is_err() || name == "rock.obj",
            "{name} cut short is read"
        );
    }
    says("bytes.stl", &whole.stl()[..300], "promises 14400 triangles");
    let mut many = whole.stl();
    many[80..84].copy_from_slice(&u32::MAX.to_le_bytes());
    says("bytes.stl", &many, "promises 4294967295");
    let huge = b"ply\nformat ascii 1.0\nelement vertex 4000000000\nproperty float x\nend_header\n";
    says("rock.ply", huge, "at most");
    let named = b"\"POSITION\":";
    let at = (whole.glb().windows(named.len())).position(|w| w == named);
    let at = at.expect("it is there");
    let mut nowhere = whole.glb();
    nowhere[at + 11] = b'9';
    says("rock.glb", &nowhere, "mesh 0");
    // A sheet encloses nothing.
    let sheet = b"v 0 0 0\nv 9 0 0\nv 9 9 0\nv 0 9 0\nf 1 2 3\nf 1 3 4\n";
    let mesh = Mesh::read("rock.obj", sheet).expect("triangles");
    let refused = import(&mesh, Wishes::default(), &|_| true);
    assert!(matches!(refused, Err(ScanError::Flat(_))), "{refused:?}");
    let stopped = import(
        &Mesh::read("a.stl", &whole.stl()).expect("a mesh"),
        Wishes::default(),
        &|_| false,
    );
    assert_eq!(stopped.err(), Some(ScanError::Stopped));
    assert_eq!(Format::of_name("A.Rock.GLB"), Some(Format::Glb));
}

/// Numbers of another kind than the reader takes for granted, and numbers of
/// what is not wanted.
#[test]
fn numbers_of_another_kind_are_refused() {
    let read = |name: &str, bytes: &[u8]| {
        let mesh = Mesh::read(name, bytes);
        mesh.map(drop).map_err(|error| error.to_string())
    };
    let says = |name: &str, bytes: &[u8], word: &str| {
        let said = read(name, bytes).expect_err(name);
        assert!(said.contains(word), "{name}: {said}");
    };
    let whole = dome();
    for (right, wrong, words) in [
        (&b"\"VEC3\""[..], &b"\"VEC2\""[..], "three numbers"),
        (b"5125,\"count", b"5126,\"count", "whole numbers"),
    ] {
        let mut other = whole.glb();
        let at = other.windows(right.len()).position(|w| w == right);
        let at = at.expect("it is there");
        other[at..at + right.len()].copy_from_slice(wrong);
        says("rock.glb", &other, words);
    }
    // Textures and normals are not wanted, whatever their numbers.
    let textured = b"v 0 0 0\nv 1 0 0\nv 0 1 0\nvt 0 0\nvn x\nf 1/9223372036854775807 2/1/1 3//9\n";
    assert_eq!(read("rock.obj", textured), Ok(()), "corners alone count");
    says(
        "rock.obj",
        b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf /1 2 3\n",
        "line 4",
    );
}
