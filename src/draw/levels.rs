//! Where the views are cut, unless the keeper has said so.

use crate::scene::{Layout, Scene};
use crate::view::View;

/// Where the three views are cut, in cm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Levels {
    /// Height above the inner bottom, for the top view.
    pub top_cm: f64,
    /// Distance from the front glass, for the side view.
    pub side_cm: f64,
    /// Distance from the left glass, for the end view.
    pub end_cm: f64,
}

impl Levels {
    /// Through the middle of the tank, and at the mean height of its pumps; at
    /// half of the water without any.
    pub fn of_layout(scene: &Scene, layout: &Layout) -> Self {
        let tank = &scene.tank;
        let heights = layout.pumps.iter().map(|pump| pump.at_cm.z);
        Self {
            top_cm: if layout.pumps.is_empty() {
                tank.water_cm / 2.0
            } else {
                heights.sum::<f64>() / layout.pumps.len() as f64
            },
            side_cm: tank.width_cm / 2.0,
            end_cm: tank.length_cm / 2.0,
        }
    }

    /// The level of a view.
    pub fn of(&self, view: View) -> f64 {
        match view {
            View::Top => self.top_cm,
            View::Side => self.side_cm,
            View::End => self.end_cm,
        }
    }
}
