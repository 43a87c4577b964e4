//! Pictures of paper: pages of the plan and of the booklet as they were looked
//! at. `UPDATE_SNAPSHOTS=1` draws them anew; look at them before you keep them.

#![expect(clippy::expect_used, reason = "a broken premise fails the test")]

use std::path::PathBuf;

use bommie::plan::{Document, Held};

/// Dots a millimeter: enough to tell a hatch from a wash.
const DOTS_PER_MM: f64 = 2.0;
/// A dot that is off by more than this in a color is another one; fonts and
/// rounding make less.
const OFF_MAX: u8 = 40;
/// Dots of a page that may be others, of a thousand.
const OTHERS_MAX: usize = 1;

/// Sets pages of a document against the pictures that are kept of them.
fn compare(document: &Document, pages: &[usize], name: &str) {
    let drawings = document.pages();
    for page in pages {
        let png = drawings[*page].png(DOTS_PER_MM).expect("dots");
        let file = format!("paper_{name}_{}.png", page + 1);
        let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/data");
        let path = path.join(&file);
        if std::env::var_os("UPDATE_SNAPSHOTS").is_some() {
            std::fs::write(&path, &png).expect("it is written");
        }
        let kept = std::fs::read(&path).expect("a picture that is kept");
        let [ours, kept] = [png, kept].map(|png| {
            let picture = image::load_from_memory(&png).expect("a PNG");
            picture.to_rgb8()
        });
        assert_eq!(ours.dimensions(), kept.dimensions(), "{file}");
        let is_other = |(a, b): &(&image::Rgb<u8>, &image::Rgb<u8>)| {
            (a.0.iter().zip(b.0)).any(|(a, b)| a.abs_diff(b) > OFF_MAX)
        };
        let others = ours.pixels().zip(kept.pixels()).filter(is_other).count();
        let n = ours.pixels().len();
        assert!(
            others * 1000 <= n * OTHERS_MAX,
            "{file}: {others} of {n} dots are others; if that was wanted, draw it anew"
        );
    }
}

#[test]
fn pages_of_the_plan_look_as_they_were_looked_at() {
    compare(crate::paper::demo(), &[0, 1], "plan");
}

#[test]
fn pages_of_the_booklet_look_as_they_were_looked_at() {
    let scene = crate::booklet::scene();
    let booklet = crate::booklet::booklet(&scene, Held::Upright);
    compare(&booklet, &[0, 1], "booklet");
}
