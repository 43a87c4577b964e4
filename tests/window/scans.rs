//! A scanned rock through the window, by its labels: the page says how large it
//! is before it is placed; one step back takes it out again.

use std::path::Path;
use std::time::{Duration, Instant};

use bommie::desk::Action;
use bommie::ui::text;
use egui::{Key, Modifiers, Role};
use egui_kittest::kittest::Queryable as _;

use crate::PATIENCE;
use crate::hand::{Window, click, desk, enter, press, run_by_words, scene, start, window};

fn wedge(file: &str) -> String {
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/corpus");
    corpus.join(file).display().to_string()
}

fn wait(window: &mut Window) {
    let began = Instant::now();
    window.run_steps(2);
    while desk(window).scan().is_running {
        assert!(began.elapsed() < PATIENCE, "waited in vain for the scan");
        window.step();
        std::thread::sleep(Duration::from_millis(20));
    }
    window.run_steps(3);
}

#[test]
fn a_scanned_rock_shows_its_size_and_is_placed_in_one_step() {
    let mut window = window(start(false));
    let before = scene(&window);
    run_by_words(&mut window, Action::ImportRock);
    enter(
        &mut window,
        Role::TextInput,
        text::PATH_NAME,
        &wedge("wedge.stl"),
    );
    wait(&mut window);
    // 6 × 4 × 3 of no unit: centimeters, or a quarter of a meter in a rock of mm.
    let said = |window: &Window, words: &str| window.query_by_label_contains(words).is_some();
    assert!(said(&window, "8 triangles read (STL)"), "what was read");
    assert!(said(&window, "1 unit is 1 cm (guessed)"), "and guessed");
    assert!(said(&window, "6.0 × 4.0 × 3.0"), "its size");
    assert_eq!(scene(&window), before, "nothing is placed yet");

    click(&mut window, Role::Button, "in");
    wait(&mut window);
    assert!(said(&window, "1 unit is 1 in (as said)"), "by the keeper");
    assert!(said(&window, "15.2 × 10.2 × 7.6"), "and larger");

    click(&mut window, Role::Button, text::SCAN_PLACE);
    let after = scene(&window);
    let (old, new) = (&before.layouts[0].rocks, &after.layouts[0].rocks);
    assert_eq!(new.len(), old.len() + 1, "one more rock");
    let rock = new.last().expect("it is there");
    assert_eq!(rock.name, "wedge");
    assert!(
        rock.scan.is_some() && rock.plan.points_cm.is_empty(),
        "a scan"
    );
    assert_eq!(rock.at_cm.z, after.tank.sand.depth_cm, "on the sand");
    assert!(desk(&window).selection().contains(&rock.id), "selected");
    press(&mut window, Modifiers::COMMAND, Key::Z);
    assert_eq!(scene(&window), before, "one step back");
}

#[test]
fn a_damaged_mesh_says_why_and_changes_nothing() {
    let mut window = window(start(false));
    let before = scene(&window);
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("half.glb");
    let whole = std::fs::read(wedge("wedge.glb")).expect("reads");
    std::fs::write(&path, &whole[..whole.len() / 2]).expect("written");
    run_by_words(&mut window, Action::ImportRock);
    let typed = path.display().to_string();
    enter(&mut window, Role::TextInput, text::PATH_NAME, &typed);
    wait(&mut window);
    let refused = window.query_by_label_contains("damaged GLB");
    assert!(refused.is_some(), "with the format and the place");
    let place = window.query_by_label(text::SCAN_PLACE);
    assert!(place.is_none(), "there is nothing to place");
    click(&mut window, Role::Button, text::SCAN_LEAVE);
    assert_eq!(scene(&window), before, "nothing changed");
}
