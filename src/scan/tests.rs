//! Shapes of known volume through every format, whole and with holes; damaged
//! files; units, axes and feet.

use std::f64::consts::PI;

use glam::{DMat3, DVec3};

use super::samples::{Sample, ball, samples, sphere};
use super::{Format, Imported, Mesh, ScanError, Unit, Up, Wishes, import};

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
