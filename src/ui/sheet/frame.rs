//! Where things lie on the screen: three linked projections that share one
//! scale and one center, so that x is the same in top and side view, z in side
//! and end view.

use egui::{Pos2, Rect, Vec2, pos2, vec2};
use glam::{DVec2, DVec3};

use crate::scene::Tank;

/// Smallest and largest scale, in points a centimetre.
const SCALE_RANGE: (f64, f64) = (0.8, 60.0);

pub use crate::draw::View;

/// Maps one view to its part of the screen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// Which projection it is.
    pub view: View,
    /// Its part of the screen.
    pub rect: Rect,
    /// Points a centimetre.
    pub scale: f64,
    /// What lies at `focus`, in cm.
    pub center_cm: DVec2,
    /// Screen place of `center_cm`.
    pub focus: Pos2,
    /// Height from which the air is folded in the upright views, in cm.
    pub fold_cm: Option<f64>,
}

impl Frame {
    /// Screen place of a point of the tank, in cm.
    pub fn pos(&self, at_cm: DVec3) -> Pos2 {
        self.pos_flat(self.view.flat(at_cm))
    }

    /// Screen place of a point of the view, in cm.
    pub fn pos_flat(&self, flat_cm: DVec2) -> Pos2 {
        let Some(fold_cm) = self.fold_cm.filter(|fold_cm| flat_cm.y > *fold_cm) else {
            return self.linear_pos(flat_cm);
        };
        let at_fold = self.linear_pos(DVec2::new(flat_cm.x, fold_cm));
        at_fold - vec2(0.0, folded_points(flat_cm.y - fold_cm))
    }

    fn linear_pos(&self, flat_cm: DVec2) -> Pos2 {
        let d = (flat_cm - self.center_cm) * self.scale;
        pos2(self.focus.x + d.x as f32, self.focus.y - d.y as f32)
    }

    fn linear_cm(&self, pos: Pos2) -> DVec2 {
        let d = pos - self.focus;
        self.center_cm + DVec2::new(f64::from(d.x), f64::from(-d.y)) / self.scale
    }

    /// Point of the view under a screen place, in cm.
    pub fn flat_cm(&self, pos: Pos2) -> DVec2 {
        let linear = self.linear_cm(pos);
        let Some(fold_cm) = self.fold_cm.filter(|fold_cm| linear.y > *fold_cm) else {
            return linear;
        };
        let up_points = (linear.y - fold_cm) * self.scale;
        DVec2::new(linear.x, fold_cm + unfolded_cm(up_points))
    }

    /// Screen height at which the air begins to be folded, if it is in sight.
    pub(crate) fn fold_y(&self) -> Option<f32> {
        let y = self.linear_pos(DVec2::new(0.0, self.fold_cm?)).y;
        self.rect.y_range().contains(y).then_some(y)
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

/// Height of the folded air above the water on the screen, in points: what
/// hangs there is drawn in order, but not to scale.
const LOFT: f32 = 26.0;
/// Air that takes half of it, in cm.
const HALF_LOFT_CM: f64 = 14.0;
/// Water shown unfolded above its surface: room for its waves and for the comb
/// of an overflow, in cm.
const LIP_CM: f64 = 1.2;

/// How far above the fold something is drawn that hangs so far above it.
fn folded_points(up_cm: f64) -> f32 {
    LOFT * (up_cm / (up_cm + HALF_LOFT_CM)) as f32
}

/// The same read the other way round; what is above the loft is far away.
fn unfolded_cm(up_points: f64) -> f64 {
    const LAST: f64 = 0.94;
    let share = (up_points / f64::from(LOFT)).clamp(0.0, LAST);
    HALF_LOFT_CM * share / (1.0 - share)
}

/// The box that the views show when they fit, in cm: the water, edge to edge.
/// What hangs above it changes nothing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Extent {
    /// Lowest corner.
    pub min_cm: DVec3,
    /// Highest corner.
    pub max_cm: DVec3,
}

impl Extent {
    /// The tank up to a little above the water line.
    pub(super) fn of(tank: &Tank) -> Self {
        Self {
            min_cm: DVec3::ZERO,
            max_cm: DVec3::new(tank.length_cm, tank.width_cm, tank.water_cm + LIP_CM),
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
    /// The strip between the two columns that moves the border between them.
    pub splitter: Option<Rect>,
    /// Whether the side view stands beside the top view instead of below it.
    pub is_beside: bool,
    /// Points a centimetre when fitting.
    pub fit_scale: f64,
}

/// Where the side view beside the top view, and no right column, makes them
/// larger by this factor, they stand so: a tank that is as deep as it is long.
const BESIDE_GAIN: f64 = 1.25;
/// A strip lower than this below them has no turning view, in points.
const STRIP_LEAST: f32 = 110.0;

/// Room for the ruler left of the views, in points.
const RULER_LEFT: f32 = 30.0;
/// For the ruler between top and side view, which counts for both, or above a
/// view that stands alone.
const RULER_ROW: f32 = 18.0;
/// Around everything.
const EDGE: f32 = 1.0;
/// Between the columns.
const GAP: f32 = 12.0;
/// Paper around the water within a view.
const PAD: f32 = 2.0;
/// A right column narrower than this is left out.
const COLUMN_LEAST: f32 = 64.0;
/// Where the right column would cost the drawing more than this share of its
/// scale, it is left out until it is asked for.
const COLUMN_COST: f64 = 0.78;

impl Arrangement {
    /// Lays the views out in `sheet`. `column` is the share of the width that
    /// the right column was given by hand, if it was.
    pub(super) fn new(
        sheet: Rect,
        extent: &Extent,
        look: &Look,
        (filling, column): (Filling, Option<f32>),
    ) -> Self {
        let inner = sheet.shrink(EDGE);
        match filling {
            Filling::All => match Self::beside(inner, extent, look) {
                Some(beside) if column.is_none() => beside,
                _ => Self::all(inner, extent, look, column),
            },
            Filling::One(view) => Self::one(inner, extent, look, view),
            Filling::Solid => Self {
                frames: [None; 3],
                solid: Some(inner),
                splitter: None,
                is_beside: false,
                fit_scale: 4.0,
            },
        }
    }

    fn all(sheet: Rect, extent: &Extent, look: &Look, column: Option<f32>) -> Self {
        let size = extent.size();
        let room_y = f64::from(sheet.height() - RULER_ROW - LOFT - 3.0 * PAD).max(40.0);
        let tall = room_y / (size.y + size.z);
        let room_x = sheet.width() - RULER_LEFT;
        let (right, fit) = columns(room_x, &size, tall, column);
        let width = ((size.x * fit) as f32 + 2.0 * PAD).round();
        let heights = [
            ((size.y * fit) as f32 + 2.0 * PAD).round(),
            ((size.z * fit) as f32 + LOFT + PAD).round(),
        ];
        let spare_y = (sheet.height() - RULER_ROW - heights[0] - heights[1]).max(0.0);
        let left = (sheet.left() + RULER_LEFT).round();
        let top = (sheet.top() + spare_y * 0.3).round();
        let row_2 = top + heights[0] + RULER_ROW;
        let column_2 = (left + width + GAP).round();
        let at = |x: f32, y: f32, w: f32, h: f32| {
            Rect::from_min_size(pos2(x, y), vec2(w.round(), h.round()))
        };
        let mut rects = [
            Some(at(left, top, width, heights[0])),
            Some(at(left, row_2, width, heights[1])),
            None,
        ];
        let mut solid = None;
        if right > 0.0 {
            let wide = sheet.right() - column_2;
            rects[View::End.idx()] = Some(at(column_2, row_2, wide, heights[1]));
            solid = Some(at(column_2, top, wide, heights[0]));
        }
        let strip = Rect::from_x_y_ranges(column_2 - GAP..=column_2, top..=row_2 + heights[1]);
        let frames = View::ALL.map(|view| {
            let rect = rects[view.idx()]?;
            Some(frame(view, rect, fit, extent, look))
        });
        Self {
            frames,
            solid,
            splitter: Some(strip),
            is_beside: false,
            fit_scale: fit,
        }
    }

    /// Top and side view side by side, at one scale and standing on one line;
    /// none where that gains too little over the usual arrangement.
    fn beside(sheet: Rect, extent: &Extent, look: &Look) -> Option<Self> {
        let size = extent.size();
        let room_y = f64::from(sheet.height() - RULER_ROW - LOFT - 3.0 * PAD).max(40.0);
        let stacked = {
            let tall = room_y / (size.y + size.z);
            columns(sheet.width() - RULER_LEFT, &size, tall, None).1
        };
        let room_x = f64::from(sheet.width() - 2.0 * RULER_LEFT - GAP - 4.0 * PAD);
        let fit = (room_x / (2.0 * size.x)).min(room_y / size.y.max(size.z));
        if fit < BESIDE_GAIN * stacked {
            return None;
        }
        let width = ((size.x * fit) as f32 + 2.0 * PAD).round();
        let heights = [
            ((size.y * fit) as f32 + 2.0 * PAD).round(),
            ((size.z * fit) as f32 + LOFT + PAD).round(),
        ];
        let high = heights[0].max(heights[1]);
        let left = (sheet.left() + RULER_LEFT).round();
        let top = (sheet.top() + RULER_ROW).round();
        let column_2 = (left + width + GAP + RULER_LEFT).round();
        let at = |x: f32, height: f32| {
            Rect::from_min_size(pos2(x, top + high - height), vec2(width, height))
        };
        let rects = [
            Some(at(left, heights[0])),
            Some(at(column_2, heights[1])),
            None,
        ];
        let foot = (top + high + GAP).round();
        let strip = Rect::from_min_max(pos2(left, foot), sheet.max);
        Some(Self {
            frames: View::ALL.map(|view| {
                let rect = rects[view.idx()]?;
                Some(frame(view, rect, fit, extent, look))
            }),
            solid: (strip.height() >= STRIP_LEAST).then_some(strip),
            splitter: None,
            is_beside: true,
            fit_scale: fit,
        })
    }

    fn one(sheet: Rect, extent: &Extent, look: &Look, view: View) -> Self {
        let min = sheet.min + vec2(RULER_LEFT, RULER_ROW);
        let rect = Rect::from_min_max(min, sheet.max).round();
        let loft = if view == View::Top { PAD } else { LOFT };
        let size = view.flat(extent.size());
        let fit = (f64::from(rect.width() - 2.0 * PAD) / size.x)
            .min(f64::from(rect.height() - PAD - loft) / size.y);
        let mut frames = [None; 3];
        frames[view.idx()] = Some(frame(view, rect, fit, extent, look));
        Self {
            frames,
            solid: None,
            splitter: None,
            is_beside: false,
            fit_scale: fit,
        }
    }
}

/// Width of the right column (none for zero) and points a centimetre, where
/// the height would allow `tall`.
fn columns(room_x: f32, size: &DVec3, tall: f64, column: Option<f32>) -> (f32, f64) {
    let alone = tall.min(f64::from(room_x - 2.0 * PAD) / size.x);
    let both = f64::from(room_x - GAP - 4.0 * PAD) / (size.x + size.y);
    let Some(share) = column else {
        let fit = tall.min(both).max(0.1);
        return if fit < COLUMN_COST * alone {
            (0.0, alone.max(0.1))
        } else {
            ((size.y * fit) as f32 + 2.0 * PAD, fit)
        };
    };
    let right = share * room_x;
    if right < COLUMN_LEAST {
        return (0.0, alone.max(0.1));
    }
    let left = f64::from(room_x - right - GAP - 2.0 * PAD);
    (right, tall.min(left / size.x).max(0.1))
}

fn frame(view: View, rect: Rect, fit: f64, extent: &Extent, look: &Look) -> Frame {
    let is_upright = view != View::Top;
    let middle = rect.center();
    // The loft lies above the water, so the water's middle lies below the view's.
    let down = if is_upright { (LOFT - PAD) / 2.0 } else { 0.0 };
    Frame {
        view,
        rect,
        scale: (fit * look.zoom).clamp(SCALE_RANGE.0, SCALE_RANGE.1),
        center_cm: view.flat(extent.middle() + look.shift_cm),
        focus: middle + vec2(0.0, down),
        fold_cm: is_upright.then_some(extent.max_cm.z),
    }
}

impl Look {
    /// Looks `factor` times closer, keeping what lies under `pos` in `frame`
    /// where it is.
    pub(super) fn zoom_about(&mut self, frame: &Frame, pos: Pos2, factor: f64, fit_scale: f64) {
        let limits = (SCALE_RANGE.0 / fit_scale, SCALE_RANGE.1 / fit_scale);
        let zoom = (self.zoom * factor).clamp(limits.0.min(1.0), limits.1);
        let under = frame.linear_cm(pos);
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
            min_cm: DVec3::ZERO,
            max_cm: DVec3::new(120.0, 60.0, 51.2),
        }
    }

    fn frames(look: &Look) -> [Frame; 3] {
        let sheet = Rect::from_min_size(pos2(10.0, 20.0), vec2(1100.0, 700.0));
        let arranged = Arrangement::new(sheet, &extent(), look, (Filling::All, None));
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

    #[test]
    fn folded_air_keeps_order_and_is_read_back() {
        let side = frames(&Look::default())[1];
        let heights = [51.0, 52.0, 55.0, 62.0, 75.0, 110.0];
        let ys = heights.map(|z| side.pos_flat(DVec2::new(30.0, z)).y);
        assert!(ys.is_sorted_by(|a, b| a > b), "higher is higher: {ys:?}");
        assert!(ys[5] > side.rect.top(), "within the view: {ys:?}");
        for (z, y) in heights.into_iter().zip(ys) {
            let back = side.flat_cm(pos2(300.0, y)).y;
            // Half a thousandth of a point in 26 is some 0.01 cm where it is
            // squeezed most.
            assert!((back - z).abs() < 0.02, "{z} came back as {back}");
        }
    }

    #[test]
    fn of_a_cube_top_and_side_stand_beside_each_other_and_larger() {
        let cube = Extent {
            min_cm: DVec3::ZERO,
            max_cm: DVec3::new(60.0, 60.0, 56.2),
        };
        let sheet = Rect::from_min_size(pos2(0.0, 0.0), vec2(1100.0, 690.0));
        let look = Look::default();
        let lay = |extent: &Extent, column| {
            Arrangement::new(sheet, extent, &look, (Filling::All, column))
        };
        let (beside, stacked) = (lay(&cube, None), lay(&cube, Some(0.4)));
        assert!(beside.is_beside && !stacked.is_beside, "unless asked for");
        assert!(beside.fit_scale > 1.25 * stacked.fit_scale, "larger");
        let [top, side] = [0, 1].map(|k| beside.frames[k].expect("shown"));
        assert_eq!(top.rect.bottom(), side.rect.bottom(), "on one line");
        assert!(sheet.contains_rect(top.rect) && sheet.contains_rect(side.rect));
        assert!(!lay(&extent(), None).is_beside, "a long tank as before");
    }

    #[test]
    fn a_right_column_that_costs_too_much_is_left_out_until_asked_for() {
        let sheet = Rect::from_min_size(pos2(0.0, 0.0), vec2(436.0, 600.0));
        let lay = |column| {
            let look = Look::default();
            Arrangement::new(sheet, &extent(), &look, (Filling::All, column))
        };
        assert!(lay(None).solid.is_none(), "left out");
        assert!(lay(Some(0.4)).solid.is_some(), "asked for");
        assert!(
            lay(None).fit_scale > 1.3 * lay(Some(0.4)).fit_scale,
            "larger"
        );
    }
}
