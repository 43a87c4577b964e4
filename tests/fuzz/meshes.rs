//! Meshes as nobody should export them: bytes changed, words changed, ends cut.

use bommie::scan::{Mesh, ScanError, Wishes, import};
use bommie::storage::clipped;

use crate::mutate::{Dice, bytes, tokens};
use crate::{corpus, for_a_while};

/// Longest message that a reader may give, in bytes of its clipped form.
const WORDS_MAX: usize = 60_000;
/// One in so many meshes that are read becomes a shape, which takes longer.
const SHAPED: usize = 8;

fn feed(ending: &str) {
    let seeds = corpus(ending);
    assert!(!seeds.is_empty(), "there are seeds that end in {ending}");
    let name = format!("fuzzed.{ending}");
    for seed in &seeds {
        let mesh = Mesh::read(&name, seed).unwrap_or_else(|error| panic!("{name}: {error}"));
        assert_eq!(mesh.triangles.len(), 8, "the wedge in {ending}");
        let rock = import(&mesh, Wishes::default(), &|_| true).expect("a rock");
        // A hipped roof: height × width / 6 × (2 × base + ridge) = 32 cm³.
        let off = rock.report.volume_l / 0.032 - 1.0;
        assert!(off.abs() < 0.03, "{ending}: {off}");
    }
    let n = for_a_while(6, |n| {
        let mut dice = Dice::new(n);
        let seed = dice.pick(&seeds).clone();
        let mut input = match dice.below(2) {
            0 => bytes(&seed, &mut dice),
            _ => tokens(&seed, &mut dice),
        };
        if dice.below(4) == 0 {
            input.truncate(dice.below(input.len() + 1));
        }
        let shaped = dice.below(SHAPED) == 0;
        let tried = std::panic::catch_unwind(|| {
            let mesh = Mesh::read(&name, &input)?;
            let wishes = Wishes::default();
            // Work beyond the first look is for the few.
            let rock = import(&mesh, wishes, &|_| shaped)?;
            let volume_l = rock.report.volume_l;
            assert!(volume_l.is_finite() && volume_l > 0.0, "{volume_l} L");
            Ok::<(), ScanError>(())
        });
        match tried {
            Ok(Ok(())) => {}
            Ok(Err(error)) => assert!(clipped(&error.to_string()).len() < WORDS_MAX, "a long word"),
            Err(panic) => panic!("input {n} broke the reader of {ending} ({panic:?}): {input:?}"),
        }
        true
    });
    assert!(n > 5, "only {n} inputs were tried");
}

#[test]
fn obj_files_are_refused_or_read() {
    feed("obj");
}

#[test]
fn stl_files_are_refused_or_read() {
    feed("stl");
}

#[test]
fn ply_files_are_refused_or_read() {
    feed("ply");
}

#[test]
fn glb_files_are_refused_or_read() {
    feed("glb");
}
