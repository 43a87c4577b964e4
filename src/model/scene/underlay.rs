//! A photo of the tank under a view of the drawing, to trace rock from.

use glam::DVec2;
use serde::{Deserialize, Serialize};

/// A photo that lies under one view.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Underlay {
    /// The picture, a JPEG or PNG file beside the scene.
    pub file: String,
    /// What its bytes add up to, to notice another file of that name; empty
    /// until the scene is saved.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub sum: String,
    /// Through what it was taken.
    pub view: PhotoView,
    /// Where the picture shows the corners of the pane: lower left, lower
    /// right, upper right, upper left, each as shares of the picture's width
    /// and height from its upper left corner.
    #[serde(default = "middle_corners")]
    pub corners: [DVec2; 4],
    /// Heights of the lower and the upper two of these corners above the inner
    /// bottom, in cm: the front pane down to its foot, or to the sand. From
    /// above the corners lie in the water's surface, and this says nothing.
    #[serde(default)]
    pub between_cm: Option<(f64, f64)>,
    /// The plane whose things lie where the drawing has them: from the front
    /// glass, or above the inner bottom, in cm.
    pub plane_cm: f64,
    /// How far before the pane the camera stood, in cm, where the picture
    /// itself does not tell.
    #[serde(default = "arms_length_cm")]
    pub camera_cm: f64,
    /// How strongly it covers the paper, 0 to 1.
    #[serde(default = "half_covered")]
    pub opacity: f64,
    /// Whether the pointer leaves it alone.
    #[serde(default)]
    pub locked: bool,
    /// Whether it is left out of the drawing.
    #[serde(default)]
    pub hidden: bool,
}

/// Through what a photo was taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum PhotoView {
    /// The front pane.
    Front,
    /// The water's surface, from above; the front glass at the picture's foot.
    Top,
}

impl PhotoView {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Front, Self::Top];
}

impl Underlay {
    /// A photo just brought in: its corners a little inside the picture, to be
    /// dragged onto those of the tank.
    pub fn new(file: String, view: PhotoView, plane_cm: f64) -> Self {
        Self {
            file,
            sum: String::new(),
            view,
            corners: middle_corners(),
            between_cm: None,
            plane_cm,
            camera_cm: arms_length_cm(),
            opacity: half_covered(),
            locked: false,
            hidden: false,
        }
    }
}

fn middle_corners() -> [DVec2; 4] {
    const IN: f64 = 0.12;
    [
        (IN, 1.0 - IN),
        (1.0 - IN, 1.0 - IN),
        (1.0 - IN, IN),
        (IN, IN),
    ]
    .map(DVec2::from)
}

/// What a keeper steps back to have a tank in the picture.
fn arms_length_cm() -> f64 {
    120.0
}

fn half_covered() -> f64 {
    0.6
}
