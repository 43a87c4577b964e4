//! The wash of each view, kept until its field, its cut or its look changes.

use std::sync::Arc;

use egui::{Align2, Color32, Painter, Pos2, Rect, Stroke, TextureHandle, TextureOptions, pos2};
use glam::{DVec2, DVec3, Vec2};

use crate::desk::{Desk, Levels, Results};
use crate::draw;
use crate::flow::{Estimate, FlowField};
use crate::light::{LightField, LightPlane, SurfaceOwner};
use crate::ui::paint::contour::Line;
use crate::ui::paint::cut::{self, Cut};
use crate::ui::paint::label;
use crate::ui::paint::lit::Lit;
use crate::ui::paint::rocks::RockDrawings;
use crate::ui::paint::tank::{inside_cm, water_rect};
use crate::ui::sheet::{Frame, SheetContext, View, Wash, labels};
use crate::ui::theme::Theme;
use crate::ui::wash::{
    Class, ColorTable, fit_change_classes, fit_classes, flow_change_classes, flow_classes,
    light_change_classes, light_classes,
};

/// Strength of the wash on paper, and of one that is out of date.
const STRENGTH: f32 = 0.86;
/// How much of it is left when the field is older than the scene.
const STALE: f32 = 0.62;
/// Between hatch strokes, in points.
const HATCH_POINTS: f64 = 7.0;
/// How much wider strokes lie apart where the flow may flip.
const FLIP_SPACING: f32 = 1.6;

/// The field that a view's wash is cut from.
#[derive(Clone)]
enum Source {
    Flow(Arc<FlowField>),
    Light(Arc<LightPlane>),
    Bed(Arc<Lit>),
    /// A field of the shown layout and the same of the compared one.
    FlowChange([Arc<FlowField>; 2]),
    LightChange([Arc<LightPlane>; 2]),
}

/// What the light wash shows in a view beside the rocks.
pub(super) enum BedLight {
    /// The light in the water, where the level cuts.
    Water,
    /// The light on the sand, as seen from above.
    Bed(Arc<Lit>),
    /// Nothing.
    Clear,
}

impl Source {
    fn is_same(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Flow(a), Self::Flow(b)) => Arc::ptr_eq(a, b),
            (Self::Light(a), Self::Light(b)) => Arc::ptr_eq(a, b),
            (Self::Bed(a), Self::Bed(b)) => Arc::ptr_eq(a, b),
            (Self::FlowChange(a), Self::FlowChange(b)) => {
                Arc::ptr_eq(&a[0], &b[0]) && Arc::ptr_eq(&a[1], &b[1])
            }
            (Self::LightChange(a), Self::LightChange(b)) => {
                Arc::ptr_eq(&a[0], &b[0]) && Arc::ptr_eq(&a[1], &b[1])
            }
            _ => false,
        }
    }
}

/// One view's wash.
struct Layer {
    source: Source,
    depth_cm: f64,
    cut: Arc<Cut>,
    texture: TextureHandle,
    hatch: Option<Hatch>,
}

/// Hatching, for one limit and scale.
struct Hatch {
    limit: f32,
    scale: f64,
    strokes: Vec<[Vec2; 2]>,
    borders: Vec<Line>,
    /// Where the flow may flip.
    flips: Vec<[Vec2; 2]>,
}

/// Hatching of shaded surface in one view.
struct ShadeHatch {
    field: Arc<LightField>,
    share: f64,
    scale: f64,
    strokes: Vec<[Vec2; 2]>,
}

/// A flow field, where it is cut (in cm), and the cut.
type FlowCut = (Arc<FlowField>, f64, Arc<Cut>);

/// The cut of a flow field by a view's level: the one that is kept, if it is of
/// this field and level.
fn cut_of_flow(
    kept: &mut Option<FlowCut>,
    field: &Arc<FlowField>,
    (view, depth_cm): (View, f64),
) -> Arc<Cut> {
    if let Some((old, depth, cut)) = kept
        && Arc::ptr_eq(old, field)
        && *depth == depth_cm
    {
        return Arc::clone(cut);
    }
    let cut = Arc::new(Cut::of_flow(field, view, depth_cm));
    *kept = Some((Arc::clone(field), depth_cm, Arc::clone(&cut)));
    cut
}

/// The washes of all views.
#[derive(Default)]
pub(crate) struct Washes {
    layers: [Option<Layer>; 3],
    /// The flow in each view, also when another wash shows, for tracers.
    flow_cuts: [Option<FlowCut>; 3],
    shade: [Option<ShadeHatch>; 3],
}

/// The flow field that a view shows: the tank estimate, unless a slice is of a
/// later scene. The flag says that it is old.
pub(crate) fn flow_for(results: &Results, view: View) -> Option<(&Arc<FlowField>, bool)> {
    let slice = match view {
        View::Top => results.plan_slice.as_ref(),
        View::Side => results.side_slice.as_ref(),
        View::End => None,
    };
    match (results.tank.as_ref(), slice) {
        (Some(tank), _) if !results.tank_is_old() => Some((tank, false)),
        (_, Some(slice)) if results.slices_lead() => Some((slice, false)),
        (Some(tank), _) => Some((tank, true)),
        (None, slice) => slice.map(|slice| (slice, results.slices_are_old())),
    }
}

/// Tank estimates of both layouts: slices are not set against each other.
fn flow_change(results: &Results) -> Option<Source> {
    let (own, other) = (results.tank.as_ref()?, results.other.tank.as_ref()?);
    Some(Source::FlowChange([Arc::clone(own), Arc::clone(other)]))
}

fn light_change(results: &Results, view: View) -> Option<Source> {
    let own = light_for(results, view)?;
    let other = &results.other.light_planes.as_ref()?[view.idx()];
    Some(Source::LightChange([Arc::clone(own), Arc::clone(other)]))
}

/// The light plane that a view shows.
fn light_for(results: &Results, view: View) -> Option<&Arc<LightPlane>> {
    match view {
        View::Top => results.light_plan.as_ref(),
        View::Side => results.light_side.as_ref(),
        View::End => results.light_end.as_ref(),
    }
}

impl Washes {
    /// Brings a view's wash up to date.
    pub(crate) fn prepare(
        &mut self,
        ctx: &egui::Context,
        frame: &Frame,
        wash: Wash,
        context: &SheetContext<'_>,
        (rocks, bed): (&RockDrawings, &BedLight),
    ) {
        let results = context.desk.results();
        let view = frame.view;
        let depth_cm = view.depth(cut_at_cm(context.desk));
        let source = match wash {
            Wash::Flow => flow_for(results, view).map(|(field, _)| Source::Flow(Arc::clone(field))),
            Wash::Light => match bed {
                BedLight::Water => {
                    light_for(results, view).map(|plane| Source::Light(Arc::clone(plane)))
                }
                BedLight::Bed(lit) => Some(Source::Bed(Arc::clone(lit))),
                BedLight::Clear => None,
            },
            Wash::FlowChange => flow_change(results),
            Wash::LightChange => light_change(results, view),
            Wash::Fit | Wash::FitChange => match bed {
                BedLight::Bed(lit) => Some(Source::Bed(Arc::clone(lit))),
                BedLight::Water | BedLight::Clear => None,
            },
            Wash::None => None,
        };
        let slot = &mut self.layers[view.idx()];
        let Some(source) = source else {
            *slot = None;
            self.prepare_shade(frame, context, rocks);
            return;
        };
        let fits = |layer: &Layer| layer.source.is_same(&source) && layer.depth_cm == depth_cm;
        if !slot.as_ref().is_some_and(fits) {
            let kept = &mut self.flow_cuts[view.idx()];
            let (cut, classes) = cut_of(&source, wash, (view, depth_cm, kept), context.theme);
            let image = cut.image(&ColorTable::new(classes), STRENGTH);
            let texture = match slot.take() {
                Some(mut old) => {
                    old.texture.set(image, TextureOptions::LINEAR);
                    old.texture
                }
                None => ctx.load_texture("wash", image, TextureOptions::LINEAR),
            };
            *slot = Some(Layer {
                source,
                depth_cm,
                cut,
                texture,
                hatch: None,
            });
        }
        // A slice is no ground to call water dead.
        if let Some(layer) = slot
            && matches!(&layer.source, Source::Flow(field) if field.estimate == Estimate::Tank)
            && wash == Wash::Flow
        {
            layer.hatch(frame, context.desk.settings().dead_limit_cm_s as f32);
        }
        self.prepare_shade(frame, context, rocks);
    }

    /// The flow cut of a view, for tracers.
    pub(crate) fn flow_cut(&mut self, view: View, desk: &Desk) -> Option<Arc<Cut>> {
        let depth_cm = view.depth(cut_at_cm(desk));
        let (field, _) = flow_for(desk.results(), view)?;
        let kept = &mut self.flow_cuts[view.idx()];
        Some(cut_of_flow(kept, field, (view, depth_cm)))
    }

    fn prepare_shade(&mut self, frame: &Frame, context: &SheetContext<'_>, rocks: &RockDrawings) {
        let slot = &mut self.shade[frame.view.idx()];
        let share = context.desk.settings().shade_share;
        let Some(field) = &context.desk.results().light else {
            *slot = None;
            return;
        };
        let fits = |old: &ShadeHatch| {
            Arc::ptr_eq(&old.field, field) && old.share == share && is_near(old.scale, frame.scale)
        };
        if slot.as_ref().is_some_and(fits) {
            return;
        }
        let layout = context.desk.layout();
        let on_rock = |p: DVec2| {
            layout.rocks.iter().any(|rock| {
                let drawn = rocks.rock(rock.id);
                drawn.is_some_and(|drawn| drawn.covers(rock, (frame.view, p), 0.0))
            })
        };
        *slot = Some(ShadeHatch {
            field: Arc::clone(field),
            share,
            scale: frame.scale,
            strokes: shade_strokes(field, frame, share, &on_rock),
        });
    }

    /// Whether a view has a wash on its water.
    pub(crate) fn covers(&self, view: View) -> bool {
        self.layers[view.idx()].is_some()
    }

    /// Lays the wash on the water of a view.
    pub(crate) fn paint(
        &self,
        painter: &Painter,
        frame: &Frame,
        wash: Wash,
        context: &SheetContext<'_>,
    ) {
        let results = context.desk.results();
        let is_old = match wash {
            Wash::Flow => flow_for(results, frame.view).is_some_and(|(_, old)| old),
            _ => results.light_is_old(),
        };
        let Some(layer) = &self.layers[frame.view.idx()] else {
            return;
        };
        let water = water_rect(frame, &context.desk.scene().tank);
        let clipped = painter.with_clip_rect(painter.clip_rect().intersect(water));
        let rect = frame.rect_between(layer.cut.min_cm, layer.cut.max_cm());
        let tint = if is_old {
            Color32::WHITE.gamma_multiply(STALE)
        } else {
            Color32::WHITE
        };
        let whole = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
        clipped.image(layer.texture.id(), rect, whole, tint);
        if let Some(hatch) = &layer.hatch {
            hatch.paint(&clipped, frame, context.theme);
        }
    }

    /// Numbers the best berths, each in a ring that covers no other; where the
    /// rings lie.
    pub(crate) fn paint_fit(
        painter: &Painter,
        frame: &Frame,
        context: &SheetContext<'_>,
    ) -> Vec<Rect> {
        const RADIUS: f64 = 9.0;
        let (theme, results) = (context.theme, context.desk.results());
        let places = results.berths.iter().map(|it| frame.pos(it.at_m * 100.0));
        let shown = places.enumerate();
        let shown: Vec<(usize, Pos2)> = shown.filter(|(_, at)| frame.rect.contains(*at)).collect();
        let at: Vec<DVec2> = shown.iter().map(|(_, at)| labels::dvec(*at)).collect();
        let taken = draw::Taken {
            panel: labels::spot(frame.rect),
            words: &[],
            things: &[],
            apart: 0.0,
        };
        // As wide as the ring with its line.
        let rings = draw::rings(&at, RADIUS + 1.0, taken);
        let stroke = Stroke::new(1.5, theme.accent);
        let paint = |((k, at), ring): ((usize, Pos2), DVec2)| {
            let middle = pos2(ring.x as f32, ring.y as f32);
            // One that lies aside points at its berth.
            painter.line_segment([at, middle], Stroke::new(1.0, theme.accent));
            painter.circle(middle, RADIUS as f32, theme.sheet, stroke);
            let text = format!("{}", k + 1);
            let align = Align2::CENTER_CENTER;
            painter.text(middle, align, text, label::font(), theme.accent);
            Rect::from_center_size(middle, egui::Vec2::splat(2.0 * RADIUS as f32 + 2.0))
        };
        shown.into_iter().zip(rings).map(paint).collect()
    }

    /// Hatches the shaded surface in a view, over the rocks.
    pub(crate) fn paint_shade(&self, painter: &Painter, frame: &Frame, context: &SheetContext<'_>) {
        let (theme, tank) = (context.theme, &context.desk.scene().tank);
        if let Some(shade) = &self.shade[frame.view.idx()] {
            let inner = inside_cm(tank, frame.view);
            let glass = frame.rect_between(inner[0], inner[1]);
            let clipped = painter.with_clip_rect(painter.clip_rect().intersect(glass));
            let color = theme.ink.gamma_multiply(0.62);
            clipped.add(strokes(frame, &shade.strokes, color, 1.1));
        }
    }
}

impl Layer {
    fn hatch(&mut self, frame: &Frame, limit: f32) {
        let fits = |old: &Hatch| old.limit == limit && is_near(old.scale, frame.scale);
        if self.hatch.as_ref().is_some_and(fits) {
            return;
        }
        let spacing_cm = (HATCH_POINTS / frame.scale) as f32;
        self.hatch = Some(Hatch {
            limit,
            scale: frame.scale,
            strokes: self.cut.hatch(limit, spacing_cm),
            borders: self.cut.borders(limit),
            flips: self.cut.flip_hatch(spacing_cm * FLIP_SPACING),
        });
    }
}

impl Hatch {
    fn paint(&self, painter: &Painter, frame: &Frame, theme: &Theme) {
        // Dead water is dark in the wash: the strokes are of chalk.
        let chalk = Color32::from_rgb(0xF4, 0xEF, 0xE4);
        painter.add(strokes(
            frame,
            &self.strokes,
            chalk.gamma_multiply(0.55),
            1.0,
        ));
        painter.add(strokes(frame, &self.flips, theme.accent, 1.4));
        for line in &self.borders {
            let mut points: Vec<Pos2> = line
                .points
                .iter()
                .map(|p| frame.pos_flat(DVec2::new(p[0].into(), p[1].into())))
                .collect();
            if line.closed
                && let Some(first) = points.first().copied()
            {
                points.push(first);
            }
            let ink = if theme.is_night { chalk } else { theme.ink };
            label::dashed(painter, &points, Stroke::new(1.2, ink), 4.0, 3.0);
        }
    }
}

/// What a view shows of a field, and the classes of its colors.
fn cut_of(
    source: &Source,
    wash: Wash,
    (view, depth_cm, kept): (View, f64, &mut Option<FlowCut>),
    theme: &Theme,
) -> (Arc<Cut>, &'static [Class]) {
    let (cut, classes) = match source {
        Source::Flow(field) => {
            let cut = cut_of_flow(kept, field, (view, depth_cm));
            return (cut, flow_classes(theme));
        }
        Source::Light(plane) => (Cut::of_light(plane, view), light_classes(theme)),
        Source::Bed(lit) => {
            let classes = match wash {
                Wash::Fit => fit_classes(),
                Wash::FitChange => fit_change_classes(),
                _ => light_classes(theme),
            };
            (Cut::of_bed(lit), classes)
        }
        Source::FlowChange([own, other]) => (
            Cut::of_flow(own, view, depth_cm).minus(&Cut::of_flow(other, view, depth_cm)),
            flow_change_classes(),
        ),
        Source::LightChange([own, other]) => (
            Cut::of_light(own, view).minus(&Cut::of_light(other, view)),
            light_change_classes(),
        ),
    };
    (Arc::new(cut), classes)
}

/// A field that holds how an entry fits in place of the light, patch by patch;
/// patches where that is not a number are left out.
pub(super) fn fitted(field: &LightField, fit: &[f32]) -> LightField {
    let mut fitted = field.clone();
    for (patch, fit) in fitted.patches.iter_mut().zip(fit) {
        patch.ppfd_umol = f64::from(*fit);
    }
    fitted.patches.retain(|patch| !patch.ppfd_umol.is_nan());
    fitted
}

/// Zooming within a tenth keeps the strokes.
fn is_near(a: f64, b: f64) -> bool {
    (a / b - 1.0).abs() < 0.1
}

fn strokes(frame: &Frame, ends: &[[Vec2; 2]], color: Color32, width: f32) -> egui::Shape {
    let strokes = ends.iter().map(|ends| {
        let places = ends.map(|p| frame.pos_flat(p.as_dvec2()));
        (places, color)
    });
    label::strokes_mesh(strokes, width)
}

/// Where the levels cut, as one point, in cm.
pub(crate) fn cut_at_cm(desk: &Desk) -> DVec3 {
    let levels = desk.levels();
    DVec3::new(levels.across_cm, levels.depth_cm, levels.height_cm)
}

/// The same for what is drawn.
pub(crate) fn levels(desk: &Desk) -> draw::Levels {
    let levels = desk.levels();
    draw::Levels {
        top_cm: levels.height_cm,
        side_cm: levels.depth_cm,
        end_cm: levels.across_cm,
    }
}

/// The levels with the cuts across some axes brought to a place, in cm.
pub(crate) fn levels_at(desk: &Desk, at_cm: DVec3, axes: &[usize]) -> Levels {
    let mut levels = desk.levels();
    for axis in axes {
        match axis {
            0 => levels.across_cm = at_cm.x,
            1 => levels.depth_cm = at_cm.y,
            _ => levels.height_cm = at_cm.z,
        }
    }
    levels
}

/// Hatch strokes over the surface patches that get less than `share` of open
/// light and face the viewer: those of rock where rock is drawn, those of sand
/// beside it.
fn shade_strokes(
    field: &LightField,
    frame: &Frame,
    share: f64,
    on_rock: &impl Fn(DVec2) -> bool,
) -> Vec<[Vec2; 2]> {
    const FACING_LEAST: f64 = 0.25;
    let view = frame.view;
    let towards = view.towards_viewer();
    let cell_cm = (field.patch_m * 100.0).max(0.5);
    let dark = field.patches.iter().filter(|patch| {
        patch.open_umol > 0.0
            && patch.open_share() < share
            && patch.normal.dot(towards) > FACING_LEAST
    });
    let places: Vec<(DVec2, bool)> = dark
        .map(|patch| {
            let is_rock = patch.owner != SurfaceOwner::Sand;
            (view.flat(patch.at_m * 100.0), is_rock)
        })
        .collect();
    let Some((first, _)) = places.first().copied() else {
        return Vec::new();
    };
    let (lo, hi) = places
        .iter()
        .fold((first, first), |(lo, hi), (p, _)| (lo.min(*p), hi.max(*p)));
    let lo = lo - cell_cm;
    let n = ((hi - lo) / cell_cm).ceil() + 2.0;
    let (nx, ny) = (n.x as usize, n.y as usize);
    // Which kinds of surface are dark in each cell: rock, sand.
    let mut mask = vec![[false; 2]; nx * ny];
    for (p, is_rock) in places {
        let cell = ((p - lo) / cell_cm).floor();
        let idx = (cell.y as usize).min(ny - 1) * nx + (cell.x as usize).min(nx - 1);
        mask[idx][usize::from(!is_rock)] = true;
    }
    let is_in = |p: Vec2| {
        let p = p.as_dvec2();
        let cell = ((p - lo) / cell_cm).floor();
        let inside = cell.cmpge(DVec2::ZERO).all() && cell.x < nx as f64 && cell.y < ny as f64;
        if !inside {
            return false;
        }
        let [rock, sand] = mask[cell.y as usize * nx + cell.x as usize];
        (rock || sand) && if on_rock(p) { rock } else { sand }
    };
    let hi = lo + DVec2::new(nx as f64, ny as f64) * cell_cm;
    let spacing = (HATCH_POINTS * 0.72 / frame.scale) as f32;
    cut::hatch(
        [lo.as_vec2(), hi.as_vec2()],
        spacing,
        (cell_cm as f32 * 0.35).min(spacing),
        is_in,
    )
}
