//! The engine against published measurements, on as few cells as still tell
//! right from wrong. Finer ones take minutes to hours:
//! `cargo run --release -p bommie-flow --example published`, whose tables stand
//! on the methods page.
#![cfg(feature = "slow-tests")]
#![expect(clippy::expect_used, reason = "a broken premise fails the test")]
#![expect(clippy::print_stdout, reason = "figures for the methods page")]

use bommie_flow::Device;

#[path = "../../src/flow/examples/published/block.rs"]
mod block;
#[path = "../../src/flow/examples/published/cube.rs"]
mod cube;
#[path = "../../src/flow/examples/published/free.rs"]
pub(super) mod free;
#[path = "../../src/flow/examples/published/jets.rs"]
mod jets;
#[path = "../../src/flow/examples/published/room.rs"]
mod room;
#[path = "../../src/flow/examples/published/vertical.rs"]
mod vertical;
#[path = "../../src/flow/examples/published/wall.rs"]
pub(super) mod wall;

/// **Source** `cube.rs`: Martinuzzi & Tropea 1993.
#[test]
fn water_over_a_cube_comes_back_behind_it() {
    let found = cube::solved((8, cube::LENGTH), [40.0, 60.0], &Device::Processor);
    let cube::Found {
        behind,
        before,
        off,
    } = found;
    println!(
        "cube, 8 cells an edge: meets the floor {behind:.2} edges behind it ({}), leaves it {before:.2} before it ({}); off \
         the profiles by {off:.3?}",
        cube::BEHIND,
        cube::BEFORE
    );
    // Tolerance: 40 %. Seen 2.1 to 2.2 on these cells and 1.6, 1.3, 1.2 on 12, 16
    // and 24; published codes scatter from 1.4 to 2.7 (MEMORY).
    assert!(
        (behind / cube::BEHIND - 1.0).abs() < 0.4,
        "{behind} edges behind it"
    );
    // Over the mean speed, seen 0.08 in what comes, 0.20 and 0.15 behind the cube,
    // where it turns from −0.5 to 1.3 within its height, and 0.11 far behind.
    for (place, most) in [(-3.0, 0.12), (1.5, 0.25), (2.0, 0.25), (8.0, 0.15)] {
        let at = cube::PLACES.iter().position(|known| *known == place);
        let [rms, _] = off[at.expect("a place")];
        assert!(rms < most, "off by {rms} at {place} edges");
    }
}

/// The same figures for the water before the cube, which eight cells miss.
#[test]
#[ignore = "missed: the floor's water comes back from 0.4 edges before the cube on, on 24 cells an edge from 0.74, measured 1.04; see METHODS"]
fn water_before_a_cube_leaves_the_floor_where_it_should() {
    let found = cube::solved((8, cube::LENGTH), [40.0, 60.0], &Device::Processor);
    let off = found.before / cube::BEFORE - 1.0;
    assert!(off.abs() < 0.25, "it leaves {} before it", found.before);
}

/// **Source** `room.rs`: IEA Annex 20, measured by Restivo 1979.
#[test]
fn a_slot_under_the_ceiling_turns_a_room_over() {
    let found = room::solved((2, false), [20.0, 30.0], &Device::Processor);
    println!("room, 2 cells a slot: {found:.2?}");
    // Tolerance: 40 %. Two cells: seen 1.5 to 1.8 (2.07 measured), 2.8 to 3.3
    // (2.46), 0.6 to 1.0 (0.90) and 1.3 to 1.6 (1.84) by the time they are averaged
    // over; three for a long time 1.78, 3.03, 0.85 and 1.87.
    for at in 0..2 {
        let forth = found.forth[at] / room::FORTH[at][1];
        let back = found.back[at] / room::BACK[at][1];
        assert!(
            (forth - 1.0).abs() < 0.4,
            "{at}: {forth} of what goes forth"
        );
        assert!((back - 1.0).abs() < 0.4, "{at}: {back} of what comes back");
    }
    // A tenth of the height, three cells and a half; half of that at the ceiling.
    let [turns, fastest] = [found.turns - room::TURNS, found.fastest - room::FASTEST];
    assert!(turns.abs() < 0.1, "it turns {turns} heights lower");
    assert!(fastest.abs() < 0.05, "it is fastest {fastest} lower");
    assert!(found.most[0] > found.most[1], "it slows down: {found:?}");
    // It comes back along the whole floor: 0.23 seen, 0.34 on three cells.
    assert!(found.most_back > 0.1, "{found:?} comes back");
}

/// **Source** `vertical.rs`: Shinneeb, Bugg & Balachandar 2002.
#[test]
fn a_jet_up_to_the_surface_slows_down_and_sinks_along_the_walls() {
    let found = vertical::solved(0.02, &Device::Processor);
    println!("vertical jet, 2 cm cells: {found:.2?}");
    // As a free jet between 20 and 45 diameters, with the bounds of `free_jet`.
    let decay = found.decay;
    assert!((5.2..=6.6).contains(&decay), "B is {decay}");
    // All of it by the measurements; seen 0.78 to 0.84 on 2 to 0.5 cm, since
    // corners go their own way for longer than a minute of averages.
    assert!(
        found.sinks > 0.7,
        "{} of the walls' water sinks",
        found.sinks
    );
}

#[test]
#[ignore = "missed: the surface tells from 4 diameters below it on 2 cm and 6 to 11 on finer cells, measured 13; the axis has 0.6 of the law; see METHODS"]
fn a_jet_up_to_the_surface_feels_it_in_time() {
    let found = vertical::solved(0.02, &Device::Processor);
    let [felt, _] = found.felt;
    assert!((felt - vertical::FELT).abs() < 4.0, "felt {felt} below it");
    assert!(found.over_law[2] > 0.85, "{:?} of the law", found.over_law);
}
