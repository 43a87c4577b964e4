//! A photo laid under a view of a tank.

use glam::DVec2;

use crate::geometry::photo::{Camera, Photo};
use crate::scene::{PhotoView, Tank, Underlay};

/// A photo with what ties it to its tank: places of the drawing are in cm of
/// its view (x and height, or x and distance from the front), places of the
/// picture are shares of its width and height from its upper left corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Laid {
    photo: Photo,
    /// What the view calls the lower left corner of the pane.
    low_cm: DVec2,
    /// Size of the tank in the view.
    room_cm: DVec2,
    size_px: DVec2,
    depth_cm: f64,
    index: f64,
}

/// The picture as it is drawn: places of the view with the place of the picture
/// that they show, in triangles.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Net {
    /// Corners: place in cm of the view, and in shares of the picture.
    pub corners: Vec<(DVec2, DVec2)>,
    /// Three of them each.
    pub triangles: Vec<[u32; 3]>,
}

impl Laid {
    /// A picture of `size_px` dots laid under its view; `None` while three of
    /// its corners lie in a line.
    pub fn new(underlay: &Underlay, tank: &Tank, size_px: DVec2) -> Option<Self> {
        let (low_cm, pane_cm, depth_cm) = match underlay.view {
            PhotoView::Front => {
                let (low, high) = underlay.between_cm.unwrap_or((0.0, tank.height_cm));
                let depth_cm = underlay.plane_cm.clamp(0.0, tank.width_cm);
                let pane = DVec2::new(tank.length_cm, high - low);
                (DVec2::new(0.0, low), pane, depth_cm)
            }
            PhotoView::Top => {
                let plane_cm = underlay.plane_cm.clamp(0.0, tank.water_cm);
                let pane = DVec2::new(tank.length_cm, tank.width_cm);
                (DVec2::ZERO, pane, tank.water_cm - plane_cm)
            }
        };
        let room_cm = match underlay.view {
            PhotoView::Front => DVec2::new(tank.length_cm, tank.height_cm),
            PhotoView::Top => DVec2::new(tank.length_cm, tank.width_cm),
        };
        let corners_px = underlay.corners.map(|corner| corner * size_px);
        let photo = Photo::new(corners_px, (size_px, pane_cm), underlay.camera_cm)?;
        Some(Self {
            photo,
            low_cm,
            room_cm,
            size_px,
            depth_cm,
            index: tank.water.refractive_index,
        })
    }

    /// Where the camera stood.
    pub fn camera(&self) -> Camera {
        self.photo.camera()
    }

    /// The place of the view that a place of the picture shows.
    pub fn place_cm(&self, share: DVec2) -> DVec2 {
        let place = self
            .photo
            .place(share * self.size_px, self.depth_cm, self.index);
        place + self.low_cm
    }

    /// The place of the picture that shows a place of the view.
    pub fn share(&self, place_cm: DVec2) -> DVec2 {
        let px = self
            .photo
            .px(place_cm - self.low_cm, self.depth_cm, self.index);
        px / self.size_px
    }

    /// The picture over the tank's room in the view, in `n` by `n` cells of two
    /// triangles; cells that the picture does not show are left out. With 48
    /// cells what lies within one is off by less than a hundredth of it.
    pub fn net(&self, n: u32) -> Net {
        let at = |i: u32, j: u32| {
            let share = DVec2::new(f64::from(i), f64::from(j)) / f64::from(n);
            let place_cm = share * self.room_cm;
            (place_cm, self.share(place_cm))
        };
        let corners: Vec<_> = (0..=n)
            .flat_map(|j| (0..=n).map(move |i| (i, j)))
            .map(|(i, j)| at(i, j))
            .collect();
        let is_shown = |idx: u32| {
            let share = corners[idx as usize].1;
            share.is_finite() && share.cmpge(DVec2::ZERO).all() && share.cmple(DVec2::ONE).all()
        };
        let cells = (0..n).flat_map(|j| (0..n).map(move |i| j * (n + 1) + i));
        let triangles = cells.flat_map(|a| {
            let (b, c, d) = (a + 1, a + n + 1, a + n + 2);
            [[a, b, d], [a, d, c]]
        });
        let triangles = triangles.filter(|three| three.iter().all(|idx| is_shown(*idx)));
        Net {
            triangles: triangles.collect(),
            corners,
        }
    }
}
