//! A small depth buffer: fills triangles, then inks where one thing ends
//! before another and where the surface passes a height.

use egui::{Color32, ColorImage};

/// A corner of a triangle on the screen.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Corner {
    /// Pixels from the left and from the top.
    pub(crate) x: f32,
    /// See `x`.
    pub(crate) y: f32,
    /// Larger is farther from the eye, in cm.
    pub(crate) depth: f32,
    /// Height above the base, in cm.
    pub(crate) height: f32,
    /// Color, 0 to 255 a channel.
    pub(crate) color: [f32; 3],
}

/// One pixel as far as it is known.
#[derive(Clone, Copy, Debug)]
struct Spot {
    depth: f32,
    color: [u8; 3],
    /// Which thing it is; zero for none.
    tag: u16,
    /// Which band of height.
    band: i16,
}

const CLEAR: Spot = Spot {
    depth: f32::INFINITY,
    color: [0; 3],
    tag: 0,
    band: 0,
};

/// The buffer.
pub(crate) struct Raster {
    width: usize,
    height: usize,
    spots: Vec<Spot>,
    /// Height of a band, in cm.
    band_cm: f32,
}

impl Raster {
    /// An empty one of this size; contour lines lie `band_cm` apart.
    pub(crate) fn new(width: usize, height: usize, band_cm: f32) -> Self {
        Self {
            width,
            height,
            spots: vec![CLEAR; width * height],
            band_cm,
        }
    }

    /// Fills a triangle of the thing `tag` (not zero) where it is nearest.
    pub(crate) fn triangle(&mut self, [a, b, c]: [Corner; 3], tag: u16) {
        let area = (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
        if area.abs() < 1e-6 {
            return;
        }
        let span = |v: [f32; 3], limit: usize| {
            let lo = v[0].min(v[1]).min(v[2]).floor().max(0.0) as usize;
            let hi = v[0].max(v[1]).max(v[2]).ceil().max(0.0) as usize;
            lo..hi.saturating_add(1).min(limit)
        };
        for row in span([a.y, b.y, c.y], self.height) {
            let y = row as f32 + 0.5;
            for column in span([a.x, b.x, c.x], self.width) {
                let x = column as f32 + 0.5;
                let wb = ((x - a.x) * (c.y - a.y) - (y - a.y) * (c.x - a.x)) / area;
                let wc = ((b.x - a.x) * (y - a.y) - (b.y - a.y) * (x - a.x)) / area;
                let wa = 1.0 - wb - wc;
                if wa < -1e-4 || wb < -1e-4 || wc < -1e-4 {
                    continue;
                }
                let depth = wa * a.depth + wb * b.depth + wc * c.depth;
                let spot = &mut self.spots[row * self.width + column];
                if depth < spot.depth {
                    let height = wa * a.height + wb * b.height + wc * c.height;
                    let channel =
                        |k: usize| (wa * a.color[k] + wb * b.color[k] + wc * c.color[k]) as u8;
                    *spot = Spot {
                        depth,
                        color: [channel(0), channel(1), channel(2)],
                        tag,
                        band: (height / self.band_cm).floor() as i16,
                    };
                }
            }
        }
    }

    /// Which thing each pixel shows, row by row; zero for none.
    pub(crate) fn tags(&self) -> Vec<u16> {
        self.spots.iter().map(|spot| spot.tag).collect()
    }

    /// The picture, clear where nothing is, with ink where one thing ends in
    /// front of another and, thinner, between bands of height.
    pub(crate) fn picture(
        &self,
        ink: Color32,
        jump_cm: f32,
        banded: impl Fn(u16) -> bool,
    ) -> ColorImage {
        let mut pixels = Vec::with_capacity(self.spots.len());
        for row in 0..self.height {
            for column in 0..self.width {
                let idx = row * self.width + column;
                let spot = self.spots[idx];
                let right = self.spots[if column + 1 < self.width {
                    idx + 1
                } else {
                    idx
                }];
                let below = self.spots[if row + 1 < self.height {
                    idx + self.width
                } else {
                    idx
                }];
                let is_edge = |other: Spot| {
                    other.tag != spot.tag || (other.depth - spot.depth).abs() > jump_cm
                };
                let is_contour = |other: Spot| {
                    other.tag == spot.tag && other.band != spot.band && banded(spot.tag)
                };
                let own = Color32::from_rgb(spot.color[0], spot.color[1], spot.color[2]);
                let pixel = if (is_edge(right) || is_edge(below))
                    && (spot.tag | right.tag | below.tag) != 0
                {
                    ink
                } else if spot.tag == 0 {
                    Color32::TRANSPARENT
                } else if is_contour(right) || is_contour(below) {
                    own.lerp_to_gamma(ink, 0.38)
                } else {
                    own
                };
                pixels.push(pixel);
            }
        }
        ColorImage::new([self.width, self.height], pixels)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn corner(x: f32, y: f32, depth: f32, color: [f32; 3]) -> Corner {
        Corner {
            x,
            y,
            depth,
            height: 0.0,
            color,
        }
    }

    #[test]
    fn the_nearer_of_two_triangles_is_seen_whatever_the_order() {
        let flat = |depth: f32, color: [f32; 3]| {
            [
                corner(-50.0, -50.0, depth, color),
                corner(100.0, -50.0, depth, color),
                corner(-50.0, 100.0, depth, color),
            ]
        };
        let (near, far) = (flat(1.0, [200.0, 0.0, 0.0]), flat(2.0, [0.0, 200.0, 0.0]));
        for order in [[near, far], [far, near]] {
            let mut raster = Raster::new(8, 8, 5.0);
            for (tag, triangle) in order.into_iter().enumerate() {
                raster.triangle(triangle, tag as u16 + 1);
            }
            let image = raster.picture(Color32::BLACK, 0.5, |_| false);
            assert_eq!(
                image.pixels[0],
                Color32::from_rgb(200, 0, 0),
                "the near one"
            );
        }
    }

    #[test]
    fn ink_runs_around_a_thing_and_nowhere_else() {
        let mut raster = Raster::new(40, 40, 5.0);
        let color = [100.0; 3];
        let square = [(10.0, 10.0), (30.0, 10.0), (30.0, 30.0), (10.0, 30.0)]
            .map(|(x, y)| corner(x, y, 1.0, color));
        raster.triangle([square[0], square[1], square[2]], 1);
        raster.triangle([square[0], square[2], square[3]], 1);
        let image = raster.picture(Color32::BLACK, 0.5, |_| false);
        let inked = image
            .pixels
            .iter()
            .filter(|p| **p == Color32::BLACK)
            .count();
        // Four sides of twenty pixels; corners are shared or missed by one.
        assert!((76..=84).contains(&inked), "{inked} pixels of ink");
        assert_eq!(
            image.pixels[20 * 40 + 20],
            Color32::from_gray(100),
            "inside"
        );
        assert_eq!(image.pixels[0], Color32::TRANSPARENT, "outside");
    }
}
