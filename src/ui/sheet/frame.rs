//! Where things lie on the screen: three linked projections that share one
//! scale and one center, so that x is the same in top and side view, z in side
//! and end view.

use egui::{Pos2, Rect, Vec2, pos2, vec2};
use glam::{DVec2, DVec3};

use crate::scene::{Layout, Tank};

/// Smallest and largest scale, in points a centimetre.
const SCALE_RANGE: (f64, f64) = (0.8, 60.0);

/// One of the three drawn projections.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum View {
    /// From above: x to the right, y upwards (the back glass on top).
    Top,
    /// Through the front glass: x to the right, z upwards.
    Side,
    /// From the right end: y to the right, z upwards.
    End,
}

impl View {
    /// All three.
    pub const ALL: [Self; 3] = [Self::Top, Self::Side, Self::End];

    /// Axes to the right, upwards and along the line of sight.
    pub fn axes(self) -> (usize, usize, usize) {
        match self {
            Self::Top => (0, 1, 2),
            Self::Side => (0, 2, 1),
            Self::End => (1, 2, 0),
        }
    }

    /// What of a place the view shows: right and up.
    pub fn flat(self, at: DVec3) -> DVec2 {
        let (h, v, _) = self.axes();
        DVec2::new(at[h], at[v])
    }

    /// The place that the view shows at `flat`, at `depth` along the line of sight.
    pub fn lift(self, flat: DVec2, depth: f64) -> DVec3 {
        let (h, v, w) = self.axes();
        let mut at = DVec3::ZERO;
        at[h] = flat.x;
        at[v] = flat.y;
        at[w] = depth;
        at
    }

    /// Coordinate along the line of sight.
    pub fn depth(self, at: DVec3) -> f64 {
        at[self.axes().2]
    }

    /// Grows towards the viewer.
    pub fn nearness(self, at: DVec3) -> f64 {
        match self {
            Self::Top => at.z,
            Self::Side => -at.y,
            Self::End => at.x,
        }
    }

    /// Unit vector towards the viewer.
    pub fn towards_viewer(self) -> DVec3 {
        match self {
            Self::Top => DVec3::Z,
            Self::Side => DVec3::NEG_Y,
            Self::End => DVec3::X,
        }
    }

    /// Place in arrays of one thing a view.
    pub fn idx(self) -> usize {
        self as usize
    }
}

/// Maps one view to its part of the screen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// Which projection it is.
    pub view: View,
    /// Its part of the screen.
    pub rect: Rect,
    /// Points a centimetre.
    pub scale: f64,
    /// What lies in the middle of `rect`, in cm.
    pub center_cm: DVec2,
}

impl Frame {
    /// Screen place of a point of the tank, in cm.
    pub fn pos(&self, at_cm: DVec3) -> Pos2 {
        self.pos_flat(self.view.flat(at_cm))
    }

    /// Screen place of a point of the view, in cm.
    pub fn pos_flat(&self, flat_cm: DVec2) -> Pos2 {
        let d = (flat_cm - self.center_cm) * self.scale;
        let middle = self.rect.center();
        pos2(middle.x + d.x as f32, middle.y - d.y as f32)
    }

    /// Point of the view under a screen place, in cm.
    pub fn flat_cm(&self, pos: Pos2) -> DVec2 {
        let d = pos - self.rect.center();
        self.center_cm + DVec2::new(f64::from(d.x), f64::from(-d.y)) / self.scale
    }

    /// Length on the screen, in points.
    pub fn points(&self, length_cm: f64) -> f32 {
        (length_cm * self.scale) as f32
    }

    /// Screen vector of a direction in the tank.
    pub fn vector(&self, cm: DVec3) -> Vec2 {
        let flat = self.view.flat(cm) * self.scale;
        vec2(flat.x as f32, -flat.y as f32)
    }

    /// Screen rectangle between two points of the view.
    pub fn rect_between(&self, a_cm: DVec2, b_cm: DVec2) -> Rect {
        Rect::from_two_pos(self.pos_flat(a_cm), self.pos_flat(b_cm))
    }
}

/// The box that the views show when they fit, in cm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Extent {
    /// Lowest corner.
    pub min_cm: DVec3,
    /// Highest corner.
    pub max_cm: DVec3,
}

impl Extent {
    /// Tank and lamps with a little room around.
    pub(super) fn of(tank: &Tank, layout: &Layout) -> Self {
        const AROUND_CM: f64 = 2.0;
        let lamps = layout.lamps.iter().map(|lamp| lamp.at_cm.z + 4.0);
        let top_cm = lamps
            .fold(tank.height_cm, f64::max)
            .min(tank.height_cm + 60.0);
        Self {
            min_cm: DVec3::splat(-AROUND_CM),
            max_cm: DVec3::new(tank.length_cm, tank.width_cm, top_cm) + AROUND_CM,
        }
    }

    fn size(&self) -> DVec3 {
        self.max_cm - self.min_cm
    }

    fn middle(&self) -> DVec3 {
        (self.max_cm + self.min_cm) / 2.0
    }
}

/// What is looked at, shared by all views.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Look {
    /// How much closer than fitting.
    pub zoom: f64,
    /// What lies in the middle, as a shift from where it lies when fitting, in cm.
    pub shift_cm: DVec3,
}

impl Default for Look {
    fn default() -> Self {
        Self {
            zoom: 1.0,
            shift_cm: DVec3::ZERO,
        }
    }
}

/// Which view fills the sheet, if one does.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Filling {
    /// All of them share it.
    #[default]
    All,
    /// One projection.
    One(View),
    /// The turning view.
    Solid,
}

/// Where everything lies in this frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Arrangement {
    /// Frames of the projections, by [`View::idx`].
    pub frames: [Option<Frame>; 3],
    /// Part of the turning view.
    pub solid: Option<Rect>,
    /// Points a centimetre when fitting.
    pub fit_scale: f64,
}

/// Room for rulers and captions around each view, in points.
pub(super) const RULER_LEFT: f32 = 34.0;
/// Above each view.
pub(super) const RULER_TOP: f32 = 22.0;
/// Below each view, for the caption.
pub(super) const CAPTION: f32 = 24.0;
/// Between columns and at the right edge.
pub(super) const GAP: f32 = 14.0;

impl Arrangement {
    /// Lays the views out in `sheet`.
    pub(super) fn new(sheet: Rect, extent: &Extent, look: &Look, filling: Filling) -> Self {
        match filling {
            Filling::All => Self::all(sheet, extent, look),
            Filling::One(view) => Self::one(sheet, extent, look, view),
            Filling::Solid => Self {
                frames: [None; 3],
                solid: Some(inner(sheet)),
                fit_scale: 4.0,
            },
        }
    }

    fn all(sheet: Rect, extent: &Extent, look: &Look) -> Self {
        let size = extent.size();
        let room_x = f64::from(sheet.width() - 2.0 * RULER_LEFT - 2.0 * GAP).max(40.0);
        let room_y = f64::from(sheet.height() - 2.0 * (RULER_TOP + CAPTION)).max(40.0);
        let fit = (room_x / (size.x + size.y)).min(room_y / (size.y + size.z));
        let widths = [(size.x * fit) as f32, (size.y * fit) as f32];
        let heights = [(size.y * fit) as f32, (size.z * fit) as f32];
        // Room that is left over in width goes to the projections along x,
        // in height to the side view: the drawing stays where it was.
        let spare_x = (room_x as f32 - widths[0] - widths[1]).max(0.0);
        let spare_y = (room_y as f32 - heights[0] - heights[1]).max(0.0);
        let left = (sheet.left() + RULER_LEFT).round();
        let top = (sheet.top() + RULER_TOP + spare_y * 0.3).round();
        let column_2 = (left + widths[0] + RULER_LEFT + GAP + spare_x * 0.1).round();
        let row_2 = (top + heights[0] + CAPTION + RULER_TOP).round();
        let at = |x: f32, y: f32, w: f32, h: f32| {
            Rect::from_min_size(pos2(x, y), vec2(w.round(), h.round()))
        };
        let solid_width = widths[1] + spare_x * 0.9;
        let rects = [
            at(left, top, widths[0], heights[0]),
            at(left, row_2, widths[0], heights[1]),
            at(column_2, row_2, widths[1], heights[1]),
        ];
        let mut frames = [None; 3];
        for view in View::ALL {
            frames[view.idx()] = Some(frame(view, rects[view.idx()], fit, extent, look));
        }
        Self {
            frames,
            solid: Some(at(column_2, top, solid_width, heights[0])),
            fit_scale: fit,
        }
    }

    fn one(sheet: Rect, extent: &Extent, look: &Look, view: View) -> Self {
        let rect = inner(sheet);
        let size = view.flat(extent.size());
        let fit = (f64::from(rect.width()) / size.x).min(f64::from(rect.height()) / size.y);
        let mut frames = [None; 3];
        frames[view.idx()] = Some(frame(view, rect, fit, extent, look));
        Self {
            frames,
            solid: None,
            fit_scale: fit,
        }
    }
}

fn inner(sheet: Rect) -> Rect {
    Rect::from_min_max(
        pos2(sheet.left() + RULER_LEFT, sheet.top() + RULER_TOP),
        pos2(sheet.right() - GAP, sheet.bottom() - CAPTION),
    )
}

fn frame(view: View, rect: Rect, fit: f64, extent: &Extent, look: &Look) -> Frame {
    Frame {
        view,
        rect,
        scale: (fit * look.zoom).clamp(SCALE_RANGE.0, SCALE_RANGE.1),
        center_cm: view.flat(extent.middle() + look.shift_cm),
    }
}

impl Look {
    /// Looks `factor` times closer, keeping what lies under `pos` in `frame`
    /// where it is.
    pub(super) fn zoom_about(&mut self, frame: &Frame, pos: Pos2, factor: f64, fit_scale: f64) {
        let limits = (SCALE_RANGE.0 / fit_scale, SCALE_RANGE.1 / fit_scale);
        let zoom = (self.zoom * factor).clamp(limits.0.min(1.0), limits.1);
        let under = frame.flat_cm(pos);
        let share = 1.0 - self.zoom / zoom;
        let (h, v, _) = frame.view.axes();
        self.shift_cm[h] += (under.x - frame.center_cm.x) * share;
        self.shift_cm[v] += (under.y - frame.center_cm.y) * share;
        self.zoom = zoom;
    }

    /// Moves what is seen by `delta` points in `frame`.
    pub(super) fn pan(&mut self, frame: &Frame, delta: Vec2) {
        let (h, v, _) = frame.view.axes();
        self.shift_cm[h] -= f64::from(delta.x) / frame.scale;
        self.shift_cm[v] += f64::from(delta.y) / frame.scale;
    }

    /// Brings a box (middle and half size, in cm) into the middle, with room around.
    pub(super) fn fly_to(&mut self, extent: &Extent, at_cm: DVec3, half_cm: DVec3) {
        const ROOM: f64 = 2.2;
        const ZOOM_MAX: f64 = 3.0;
        let ratio = extent.size() / (2.0 * half_cm.max(DVec3::splat(2.0)) * ROOM);
        self.zoom = ratio.min_element().clamp(1.0, ZOOM_MAX);
        self.shift_cm = if self.zoom > 1.0 {
            at_cm - extent.middle()
        } else {
            DVec3::ZERO
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn extent() -> Extent {
        Extent {
            min_cm: DVec3::splat(-2.0),
            max_cm: DVec3::new(122.0, 62.0, 64.0),
        }
    }

    fn frames(look: &Look) -> [Frame; 3] {
        let sheet = Rect::from_min_size(pos2(10.0, 20.0), vec2(1100.0, 700.0));
        let arranged = Arrangement::new(sheet, &extent(), look, Filling::All);
        arranged
            .frames
            .map(|frame| frame.expect("all views are shown"))
    }

    fn check_linked(frames: &[Frame; 3]) {
        let at = DVec3::new(31.7, 12.3, 44.4);
        let [top, side, end] = frames.map(|frame| frame.pos(at));
        // Rounded rectangles are whole points, so the shared axis is exact.
        assert_eq!(top.x, side.x, "top and side share x");
        assert_eq!(side.y, end.y, "side and end share z");
    }

    #[test]
    fn views_share_their_axes_however_one_zooms_and_pans() {
        let mut look = Look::default();
        check_linked(&frames(&look));
        let frame = frames(&look)[1];
        look.zoom_about(&frame, pos2(300.0, 500.0), 2.5, 4.0);
        check_linked(&frames(&look));
        look.pan(&frames(&look)[2], vec2(31.0, -7.0));
        check_linked(&frames(&look));
    }

    #[test]
    fn zooming_keeps_what_lies_under_the_pointer() {
        let mut look = Look::default();
        let before = frames(&look)[0];
        let pointer = before.rect.center() + vec2(90.0, -40.0);
        let under = before.flat_cm(pointer);
        look.zoom_about(&before, pointer, 1.7, before.scale);
        let gap = frames(&look)[0].flat_cm(pointer) - under;
        assert!(gap.length() < 1e-9, "moved by {gap}");
    }

    #[test]
    fn screen_and_tank_undo_each_other() {
        for frame in frames(&Look::default()) {
            let at = DVec2::new(17.0, 21.0);
            let back = frame.flat_cm(frame.pos_flat(at));
            // f32 screen places of a few hundred points: 1e-4 points.
            assert!((back - at).length() < 1e-4, "came back as {back}");
        }
    }
}
