//! A photo of the tank laid under a drawing: which place in the water a point
//! of the picture shows. The pane's four corners fix a homography between
//! picture and pane; beyond the pane the line of sight is bent by the water.

use glam::{DMat3, DVec2, DVec3};

/// A photo taken through a flat pane, or through the water's surface.
///
/// Places on the pane are (a, b) along its two sides, in any unit of length;
/// depths are behind it in the same unit. The picture's own places are in
/// pixels from its upper left corner, b of the pane growing upwards.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Photo {
    picture_from_pane: DMat3,
    pane_from_picture: DMat3,
    camera: Camera,
}

/// Where a photo was taken from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Camera {
    /// The place of the pane right in front of the camera.
    pub foot: DVec2,
    /// How far the camera stood before the pane.
    pub distance: f64,
    /// Whether that follows from the picture; else the distance is the
    /// keeper's, and the foot is where the middle of the picture shows the pane.
    pub is_known: bool,
}

/// The homography that takes four corners to four others; `None` where three
/// of either lie in a line.
///
/// **Source** by the projective frames of both, as in Hartley & Zisserman,
/// Multiple View Geometry, chapter 2. MEMORY.
pub fn homography(from: [DVec2; 4], to: [DVec2; 4]) -> Option<DMat3> {
    let (a, b) = (frame(from)?, frame(to)?);
    let both = b * a.inverse();
    let is_sound = both.is_finite() && both.determinant() != 0.0;
    is_sound.then_some(both)
}

/// Takes the unit frame to four corners.
fn frame(corners: [DVec2; 4]) -> Option<DMat3> {
    const THIN: f64 = 1e-9;
    let size = corners
        .iter()
        .map(|p| p.abs().max_element())
        .fold(1.0, f64::max);
    for skipped in 0..4 {
        let [p, q, r] = [1, 2, 3].map(|step| corners[(skipped + step) % 4]);
        if (q - p).perp_dot(r - p).abs() < THIN * size * size {
            return None;
        }
    }
    let [a, b, c, d] = corners.map(|p| p.extend(1.0));
    let basis = DMat3::from_cols(a, b, c);
    let weights = basis.inverse() * d;
    Some(DMat3::from_cols(
        a * weights.x,
        b * weights.y,
        c * weights.z,
    ))
}

fn through(map: DMat3, p: DVec2) -> DVec2 {
    let q = map * p.extend(1.0);
    q.truncate() / q.z
}

impl Photo {
    /// A picture of `size_px` that shows the corners of a pane of this size at
    /// `corners_px`: lower left, lower right, upper right, upper left. Where
    /// the picture is too straight to tell how far away the camera stood,
    /// `guessed_distance` holds. `None` for corners in a line.
    pub fn new(
        corners_px: [DVec2; 4],
        (size_px, pane): (DVec2, DVec2),
        guessed_distance: f64,
    ) -> Option<Self> {
        let corners = [(0.0, 0.0), (pane.x, 0.0), (pane.x, pane.y), (0.0, pane.y)];
        let picture_from_pane = homography(corners.map(DVec2::from), corners_px)?;
        let pane_from_picture = picture_from_pane.inverse();
        let middle = size_px / 2.0;
        let camera = camera(picture_from_pane, middle, pane.max_element()).unwrap_or(Camera {
            foot: through(pane_from_picture, middle),
            distance: guessed_distance,
            is_known: false,
        });
        Some(Self {
            picture_from_pane,
            pane_from_picture,
            camera,
        })
    }

    /// Where it was taken from.
    pub fn camera(&self) -> Camera {
        self.camera
    }

    /// The place that a point of the picture shows in the plane `depth` behind
    /// the pane, in water of this refractive index. The glass itself, which
    /// shifts a slanting line of sight by less than a third of its thickness,
    /// is left aside.
    pub fn place(&self, px: DVec2, depth: f64, index: f64) -> DVec2 {
        let on_pane = through(self.pane_from_picture, px);
        let way = (on_pane - self.camera.foot)
            .extend(self.camera.distance)
            .normalize();
        let across = way.truncate() / index;
        let ahead = (1.0 - across.length_squared()).sqrt();
        on_pane + across / ahead * depth
    }

    /// The point of the picture that shows a place `depth` behind the pane.
    pub fn px(&self, place: DVec2, depth: f64, index: f64) -> DVec2 {
        const ROUNDS: usize = 30;
        let (foot, away) = (self.camera.foot, place - self.camera.foot);
        let far = away.length();
        // Where the line of sight crosses the pane, as a share of the way from
        // the foot: what is seen there lies too near or too far.
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..ROUNDS {
            let share = 0.5 * (low + high);
            let across = share * far / (share * far).hypot(self.camera.distance) / index;
            let reached = share * far + across / (1.0 - across * across).sqrt() * depth;
            if reached < far {
                low = share;
            } else {
                high = share;
            }
        }
        through(self.picture_from_pane, foot + away * (0.5 * (low + high)))
    }
}

/// The camera of a homography from a plane, for square pixels and a lens whose
/// axis meets the picture in its `middle`; `None` where the plane was met so
/// squarely that focal length and distance cannot be told apart.
///
/// **Source** the two constraints on a plane's homography of Zhang 2000.
fn camera(picture_from_pane: DMat3, middle: DVec2, size: f64) -> Option<Camera> {
    // Least change of scale over the pane that tells distance from zoom.
    const SLANT: f64 = 0.03;
    let shift = DMat3::from_cols(DVec3::X, DVec3::Y, (-middle).extend(1.0));
    let map = shift * picture_from_pane;
    let map = map * (1.0 / map.z_axis.z);
    let (u, v) = (map.x_axis, map.y_axis);
    let square = {
        let across = -u.truncate().dot(v.truncate()) / (u.z * v.z);
        let alike = (u.truncate().length_squared() - v.truncate().length_squared())
            / (v.z * v.z - u.z * u.z);
        // The one that hangs less on small differences.
        let (by_across, by_alike) = ((u.z * v.z).abs(), (v.z * v.z - u.z * u.z).abs() / 2.0);
        if by_across.max(by_alike).sqrt() * size < SLANT {
            return None;
        }
        if by_across > by_alike { across } else { alike }
    };
    if !(square.is_finite() && square > 0.0) {
        return None;
    }
    let lens = DVec3::new(1.0 / square.sqrt(), 1.0 / square.sqrt(), 1.0);
    let [a, b, t] = [u, v, map.z_axis].map(|column| column * lens);
    let scale = 2.0 / (a.length() + b.length());
    let (a, b, t) = (a * scale, b * scale, t * scale);
    let ahead = a.cross(b).normalize_or_zero();
    let at = -DVec3::new(a.dot(t), b.dot(t), ahead.dot(t));
    let distance = at.z.abs();
    (distance.is_finite() && distance > 0.0).then_some(Camera {
        foot: at.truncate(),
        distance,
        is_known: true,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const INDEX: f64 = 1.34;

    /// A camera before a pane of 120 × 50 cm: where it stands, which way it
    /// looks, and its focal length in pixels.
    struct Synthetic {
        at: DVec3,
        look: DVec3,
        focal_px: f64,
    }

    const SIZE_PX: DVec2 = DVec2::new(4000.0, 3000.0);

    impl Synthetic {
        /// Pinhole picture of a place of the pane (x, z); y goes into the tank.
        fn shoot(&self, pane: DVec2) -> DVec2 {
            let ahead = (self.look - self.at).normalize();
            let right = ahead.cross(DVec3::Z).normalize();
            let down = ahead.cross(right);
            let way = DVec3::new(pane.x, 0.0, pane.y) - self.at;
            let flat = DVec2::new(way.dot(right), way.dot(down)) / way.dot(ahead);
            flat * self.focal_px + SIZE_PX / 2.0
        }

        /// Where the line of sight to a place in the water crosses the pane, by
        /// Fermat: the crossing of least optical length, found by walking
        /// downhill, which knows nothing of the formula under test.
        fn crossing(&self, place: DVec3) -> DVec2 {
            let length = |p: DVec2| {
                let on = DVec3::new(p.x, 0.0, p.y);
                on.distance(self.at) + INDEX * on.distance(place)
            };
            let mut p = DVec2::new(place.x, place.z);
            let mut step = 8.0;
            while step > 1e-6 {
                let around = [DVec2::X, -DVec2::X, DVec2::Y, -DVec2::Y].map(|d| p + d * step);
                let best = around
                    .into_iter()
                    .min_by(|a, b| length(*a).total_cmp(&length(*b)));
                match best {
                    Some(q) if length(q) < length(p) => p = q,
                    _ => step /= 2.0,
                }
            }
            p
        }

        fn photo(&self, guess: f64) -> Photo {
            let corners = [(0.0, 0.0), (120.0, 0.0), (120.0, 50.0), (0.0, 50.0)];
            let seen = corners.map(|p| self.shoot(DVec2::from(p)));
            Photo::new(seen, (SIZE_PX, DVec2::new(120.0, 50.0)), guess).expect("a photo")
        }
    }

    fn cameras() -> [Synthetic; 3] {
        [
            ((35.0, -95.0, 62.0), (62.0, 0.0, 20.0)),
            ((85.0, -130.0, 40.0), (55.0, 0.0, 24.0)),
            ((60.0, -110.0, 25.0), (60.0, 0.0, 25.0)),
        ]
        .map(|(at, look)| Synthetic {
            at: DVec3::from(at),
            look: DVec3::from(look),
            focal_px: 2900.0,
        })
    }

    #[test]
    fn a_ruler_in_the_water_reads_within_a_centimeter() {
        for camera in cameras() {
            let photo = camera.photo(110.0);
            // A ruler of 30 cm, laid level, upright and slanting at three depths.
            for depth in [5.0, 20.0, 45.0] {
                for (a, b) in [
                    ((20.0, 10.0), (50.0, 10.0)),
                    ((95.0, 8.0), (95.0, 38.0)),
                    ((40.0, 12.0), (64.0, 30.0)),
                ] {
                    let ends = [a, b].map(|(x, z)| {
                        let px = camera.shoot(camera.crossing(DVec3::new(x, depth, z)));
                        photo.place(px, depth, INDEX)
                    });
                    let read = ends[0].distance(ends[1]);
                    assert!((read - 30.0).abs() < 0.2, "{read} at {depth}, {a:?}");
                    let off = ends[0].distance(DVec2::from(a));
                    assert!(off < 0.5, "its end is {off} off at {depth}");
                    // Without the water the far ruler would be off by centimeters.
                    let px = camera.shoot(camera.crossing(DVec3::new(a.0, depth, a.1)));
                    let back = photo.px(photo.place(px, depth, INDEX), depth, INDEX);
                    assert!(back.distance(px) < 0.01, "there and back");
                }
            }
        }
    }

    #[test]
    fn without_the_bend_of_the_water_it_would_not() {
        let camera = &cameras()[2];
        let photo = camera.photo(110.0);
        let ends = [(20.0, 10.0), (50.0, 10.0)].map(|(x, z)| {
            let px = camera.shoot(camera.crossing(DVec3::new(x, 45.0, z)));
            photo.place(px, 45.0, 1.0)
        });
        let read = ends[0].distance(ends[1]);
        assert!(read > 31.0, "air would make it {read} cm long");
    }

    #[test]
    fn the_camera_is_found_where_the_picture_tells_and_guessed_where_not() {
        for camera in &cameras()[..2] {
            let found = camera.photo(1.0).camera();
            assert!(found.is_known, "{found:?}");
            let foot = DVec2::new(camera.at.x, camera.at.z);
            assert!(found.foot.distance(foot) < 1e-3, "{found:?}");
            assert!((found.distance + camera.at.y).abs() < 1e-3, "{found:?}");
        }
        let straight = cameras()[2].photo(90.0).camera();
        assert!(
            !straight.is_known && straight.distance == 90.0,
            "{straight:?}"
        );
        assert!(straight.foot.distance(DVec2::new(60.0, 25.0)) < 1e-6);
    }

    #[test]
    fn corners_in_a_line_are_no_pane() {
        let p = |x: f64, y: f64| DVec2::new(x, y);
        let square = [p(0.0, 0.0), p(1.0, 0.0), p(1.0, 1.0), p(0.0, 1.0)];
        let flat = [p(0.0, 0.0), p(1.0, 0.0), p(2.0, 0.0), p(0.0, 1.0)];
        assert!(homography(square, flat).is_none());
        let shifted = square.map(|q| q * 3.0 + 2.0);
        let map = homography(square, shifted).expect("a map");
        assert!(through(map, p(0.5, 0.25)).distance(p(3.5, 2.75)) < 1e-12);
    }
}
