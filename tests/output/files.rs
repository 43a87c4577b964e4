//! Files for other programs, read back. Method: readers of other authors
//! (vtkio, `stl_io`) on what the program makes of hand-made fields and rocks.

#![expect(clippy::expect_used, reason = "a helper that fails ends its test")]

use std::collections::BTreeMap;
use std::io::Cursor;

use bommie::export::{flow_vtk, light_vtk, rock_stl, rocks_stl, water_light};
use bommie::flow::{CellKind, ComputedOn, Estimate, FlowField, Settling};
use bommie::geometry::{CellGrid, RockSolid};
use bommie::light::{LightOptions, LightSolver, Measured};
use bommie::scene::shapes::Shape;
use bommie::scene::{Layout, Scene};
use bommie::storage::parse;
use bommie::study::Study;
use glam::DVec3;
use vtkio::model::{Attribute, Attributes, DataSet, Extent, Piece};

fn scene() -> Scene {
    let text = include_str!("../data/example.ron");
    parse(text, "example.ron")
        .expect("the example is sound")
        .scene
}

/// 3 × 2 × 4 cells, each with values of its own.
fn field() -> FlowField {
    let grid = CellGrid {
        origin_m: DVec3::new(0.1, 0.2, 0.3),
        cell_m: 0.025,
        n: [3, 2, 4],
    };
    let each = |scale: f32| (0..24).map(|idx| scale * idx as f32).collect::<Vec<_>>();
    let kinds = [
        CellKind::Water,
        CellKind::Rock,
        CellKind::Sand,
        CellKind::Blocked,
    ];
    FlowField {
        grid,
        estimate: Estimate::Tank,
        kind: (0..24).map(|idx| kinds[idx % 4]).collect(),
        velocity_m_s: (0..24).map(|i| [i as f32, 0.5, -1.0]).collect(),
        speed_m_s: each(0.01),
        fluctuation_m_s: each(0.001),
        slow_share: each(0.02),
        speed_half_width_m_s: each(0.0),
        slow_limit_m_s: 0.02,
        settling: Settling {
            settled: true,
            averaged_s: 1.0,
            mean_speed_m_s: 0.1,
            mean_speed_half_width_m_s: 0.0,
            dead_share: 0.0,
            dead_share_half_width: 0.0,
            flip_share: 0.0,
        },
        computed_on: ComputedOn::default(),
        n_runs: 1,
        may_flip: Vec::new(),
        phases: Vec::new(),
        felt: bommie::flow::felt::FeltSource::default(),
    }
}

/// What a reader finds: origin, spacing, cells along each axis, and cell data.
fn read(file: &[u8]) -> ([f32; 3], [f32; 3], [usize; 3], Attributes) {
    let vtk = vtkio::Vtk::parse_legacy_be(file).expect("a legacy VTK file");
    let DataSet::ImageData {
        extent,
        origin,
        spacing,
        pieces,
        ..
    } = vtk.data
    else {
        panic!("structured points were written");
    };
    let Extent::Dims(dims) = extent else {
        panic!("dimensions were written");
    };
    let Some(Piece::Inline(piece)) = pieces.into_iter().next() else {
        panic!("the values are in the file");
    };
    let n = dims.map(|points| points as usize - 1);
    (origin, spacing, n, piece.data)
}

fn values<T: vtkio::model::Scalar + Copy + 'static>(data: &Attributes, name: &str) -> Vec<T> {
    let found = data.cell.iter().find_map(|attribute| match attribute {
        Attribute::DataArray(array) if array.name == name => Some(array),
        _ => None,
    });
    let array = found.expect("the part is there");
    array.data.clone().into_vec().expect("of that type")
}

#[test]
fn a_flow_field_reads_back_value_by_value() {
    let field = field();
    // A hostile title: line breaks and letters beyond ASCII.
    let file = flow_vtk(&field, "Riff \u{1f41f}\nBINARY\nDATASET nonsense");
    let (origin, spacing, n, data) = read(&file);
    assert_eq!(origin, [0.1, 0.2, 0.3], "origin");
    assert_eq!(spacing, [0.025; 3], "spacing");
    assert_eq!(n, field.grid.n, "cells");
    assert_eq!(values::<f32>(&data, "speed_m_s"), field.speed_m_s, "speed");
    assert_eq!(
        values::<f32>(&data, "fluctuation_m_s"),
        field.fluctuation_m_s,
        "fluctuation"
    );
    assert_eq!(
        values::<f32>(&data, "velocity_m_s"),
        field.velocity_m_s.concat(),
        "velocity"
    );
    let filling: Vec<u8> = (0..24).map(|idx| idx % 4).collect();
    assert_eq!(values::<u8>(&data, "filling"), filling, "filling");
}

#[test]
fn light_in_the_water_fills_the_box_and_matches_single_samples() {
    let scene = scene();
    let study = Study::with_built_in(&scene, 0).expect("there is a layout");
    let options = LightOptions {
        full: false,
        ..LightOptions::default()
    };
    let solver = LightSolver::new(&study, &Measured::new(), &options).expect("the lamps are sound");
    let light = water_light(&solver, &study, 0.07);
    let (_, spacing, n, data) = read(&light_vtk(&light, "light"));
    // 120 × 60 × 50 cm in cells of about 7 cm.
    assert_eq!(n, [17, 9, 7], "whole cells");
    for (axis, size_m) in [1.2, 0.6, 0.5].into_iter().enumerate() {
        let filled_m = spacing[axis] * n[axis] as f32;
        assert!((filled_m - size_m).abs() < 1e-6, "{filled_m} of {size_m} m");
    }
    let up = values::<f32>(&data, "ppfd_up_umol");
    let filling = values::<u8>(&data, "filling");
    assert!(
        filling.contains(&0) && filling.contains(&1),
        "rock and water"
    );
    for (idx, kind) in filling.iter().enumerate() {
        let cell = DVec3::new(
            (idx % 17) as f64 + 0.5,
            (idx / 17 % 9) as f64 + 0.5,
            (idx / 153) as f64 + 0.5,
        );
        let at_m = cell * DVec3::new(1.2 / 17.0, 0.6 / 9.0, 0.5 / 7.0);
        let expected = match kind {
            0 => solver.sample(at_m, None).up_umol as f32,
            _ => 0.0,
        };
        assert_eq!(up[idx], expected, "cell {idx} at {at_m}");
    }
}

/// How often each edge is passed forwards less backwards, by its ends in file.
fn open_edges(triangles: &[stl_io::Triangle]) -> usize {
    let mut passes: BTreeMap<([u32; 3], [u32; 3]), i32> = BTreeMap::new();
    for triangle in triangles {
        let corners = [0, 1, 2].map(|k| {
            let corner = triangle.vertices[k];
            [0, 1, 2].map(|axis| f32::to_bits(corner[axis]))
        });
        for (from, to) in [(0, 1), (1, 2), (2, 0)] {
            let (from, to) = (corners[from], corners[to]);
            *passes.entry((from, to)).or_default() += 1;
            *passes.entry((to, from)).or_default() -= 1;
        }
    }
    passes.values().filter(|count| **count != 0).count()
}

fn stl(file: &[u8]) -> Vec<stl_io::Triangle> {
    let reader = stl_io::create_stl_reader(&mut Cursor::new(file))
        .expect("a binary STL file")
        .collect::<Result<Vec<_>, _>>();
    reader.expect("all triangles are there")
}

/// Volume that the triangles enclose, in the cube of the file's unit.
fn volume(triangles: &[stl_io::Triangle]) -> f64 {
    let corner = |t: &stl_io::Triangle, k: usize| {
        let v = t.vertices[k];
        DVec3::new(v[0].into(), v[1].into(), v[2].into())
    };
    triangles
        .iter()
        .map(|t| corner(t, 0).dot(corner(t, 1).cross(corner(t, 2))) / 6.0)
        .sum()
}

/// Volume of a solid by counting the cells whose middle lies in it.
fn counted_m3(solid: &RockSolid, cell_m: f64) -> f64 {
    let bounds = solid.bounds();
    let n = ((bounds.max_m - bounds.min_m) / cell_m).ceil().as_uvec3();
    let inside = |i: u32, j: u32, k: u32| {
        let cell = DVec3::new(i.into(), j.into(), k.into()) + 0.5;
        solid.contains(bounds.min_m + cell * cell_m)
    };
    let columns = (0..n.z).flat_map(|k| (0..n.y).map(move |j| (j, k)));
    let count: usize = columns
        .map(|(j, k)| (0..n.x).filter(|i| inside(*i, j, k)).count())
        .sum();
    count as f64 * cell_m.powi(3)
}

#[test]
fn each_rock_is_closed_faces_outwards_and_keeps_its_volume() {
    for shape in Shape::ALL {
        let rock = shape.rock(1, DVec3::new(30.0, 20.0, 3.0));
        let triangles = stl(&rock_stl(&rock, 0.004));
        assert!(triangles.len() > 500, "{} triangles", triangles.len());
        assert_eq!(open_edges(&triangles), 0, "{} is open", shape.label());
        let solid = bommie::scene::solids::rock_solid(&rock);
        let solid_l = counted_m3(&solid, 0.003) * 1e3;
        let meshed_l = volume(&triangles) / 1e6;
        // Flat triangles of 4 mm lie up to 0.4 mm inside the roundings; a count
        // of 3 mm cells errs by less than that.
        assert!(
            (meshed_l / solid_l - 1.0).abs() < 0.01,
            "{}: {meshed_l:.3} L of {solid_l:.3} L",
            shape.label()
        );
    }
}

#[test]
fn rocks_stand_in_one_file_in_their_places() {
    let layout = Layout {
        rocks: vec![
            Shape::Arch.rock(1, DVec3::new(30.0, 20.0, 3.0)),
            Shape::Slab.rock(2, DVec3::new(80.0, 20.0, 3.0)),
        ],
        ..Layout::default()
    };
    let both = stl(&rocks_stl(&layout, 0.01));
    let each = layout.rocks.iter().map(|rock| stl(&rock_stl(rock, 0.01)));
    assert_eq!(both.len(), each.map(|one| one.len()).sum::<usize>(), "all");
    assert_eq!(open_edges(&both), 0, "closed");
    let x_mm = both.iter().flat_map(|t| t.vertices.iter().map(|v| v[0]));
    let (low, high) = x_mm.fold((f32::MAX, f32::MIN), |(l, h), x| (l.min(x), h.max(x)));
    assert!(low > 120.0 && low < 160.0, "arch from {low} mm");
    assert!(high > 930.0 && high < 970.0, "slab to {high} mm");
}
