//! The shade of a rock on the screen, as a picture within its outline: the
//! light of the drawing on its surface, or a wash of color.

use egui::{Color32, ColorImage};
use glam::Vec2;

use crate::draw::{Relief, Skin, scatter};

/// Pixels of a shade at most, along a side.
const PIXELS_MAX: usize = 224;

/// Lowest and highest corner of a rock's shade, in cm of the view from the
/// rock's place.
pub(crate) fn extent_cm(relief: &Relief) -> [Vec2; 2] {
    [relief.grid.min_cm, relief.grid.max_cm()]
}

/// A shade with a wash of color on the surface: `value` gives the wash's value
/// at a place of it, `color` the color of a value (0 to 255 a channel). Places
/// without a value keep the color of their neighbors.
pub(crate) fn washed(
    relief: &Relief,
    shade: &ColorImage,
    value: impl Fn(&Skin) -> Option<f32>,
    color: impl Fn(f32) -> [f32; 3],
) -> ColorImage {
    let grid = &relief.grid;
    let at_node = |skin: &Option<Skin>| skin.as_ref().and_then(&value).unwrap_or(f32::NAN);
    let mut values: Vec<f32> = relief.skin.iter().map(at_node).collect();
    grid.fill_gaps(&mut values, 0.0);
    let [width, height] = shade.size;
    let [low_cm, high_cm] = extent_cm(relief);
    let mut pixels = Vec::with_capacity(width * height);
    for (idx, gray) in shade.pixels.iter().enumerate() {
        let share = Vec2::new(
            ((idx % width) as f32 + 0.5) / width as f32,
            1.0 - ((idx / width) as f32 + 0.5) / height as f32,
        );
        let at = low_cm + (high_cm - low_cm) * share;
        let gray = f32::from(gray.r()) / 255.0;
        let [r, g, b] = color(grid.sample(&values, at)).map(|c| (c * gray).min(255.0));
        pixels.push(Color32::from_rgb(r as u8, g as u8, b as u8));
    }
    ColorImage::new([width, height], pixels)
}

/// Shade of the rock: the light on its surface, darker towards its edges, with
/// the grain and pores of reef rock; white for the lightest, top row first.
pub(crate) fn shade(relief: &Relief) -> ColorImage {
    const PIXELS_PER_CM: f32 = 6.0;
    let grid = &relief.grid;
    let deepest = relief.deep_cm.iter().copied().fold(0.0, f32::min);
    let size_cm = grid.max_cm() - grid.min_cm;
    let per_cm = PIXELS_PER_CM.min(PIXELS_MAX as f32 / size_cm.max_element());
    let n = (size_cm * per_cm).ceil().max(Vec2::splat(2.0));
    let (width, height) = (n.x as usize, n.y as usize);
    let rim_cm = (-deepest * 0.5).clamp(0.6, 2.5);
    let mut pixels = Vec::with_capacity(width * height);
    for row in 0..height {
        for column in 0..width {
            let share = Vec2::new(
                (column as f32 + 0.5) / width as f32,
                1.0 - (row as f32 + 0.5) / height as f32,
            );
            let at = grid.min_cm + size_cm * share;
            let inside = (-grid.sample(&relief.deep_cm, at) / rim_cm).clamp(0.0, 1.0);
            let lit = grid.sample(&relief.light, at).clamp(-0.4, 1.0);
            let grain = noise(at / 2.3) * 0.10 + noise(at / 0.8) * 0.07;
            let pore = if noise(at / 0.33 + 40.0) > 0.62 {
                0.13
            } else {
                0.0
            };
            let shade = 0.66 + 0.26 * lit + 0.12 * inside + grain - pore * inside;
            pixels.push(Color32::from_gray((shade.clamp(0.3, 1.0) * 255.0) as u8));
        }
    }
    ColorImage::new([width, height], pixels)
}

/// Smooth noise from -1 to 1, one bump a unit.
fn noise(at: Vec2) -> f32 {
    let low = at.floor();
    let share = at - low;
    let ease = share * share * (3.0 - 2.0 * share);
    let corner = |dx: f32, dy: f32| scatter((low.x + dx) as i32, (low.y + dy) as i32);
    let row = |dy: f32| corner(0.0, dy) * (1.0 - ease.x) + corner(1.0, dy) * ease.x;
    row(0.0) * (1.0 - ease.y) + row(1.0) * ease.y
}
