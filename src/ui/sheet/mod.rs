//! The sheet: linked views of one drawing, and the hand that works in them.

mod act;
mod derived;
mod draw;
mod frame;
mod ghosts;
mod grip;
mod guess;
mod hand;
mod labels;
mod marks;
mod outline;
mod pick;
mod place;
mod readout;
mod sketch;
mod snap;
mod solid;
mod washes;
pub(crate) mod words;

pub use frame::{Frame, View};
pub(crate) use hand::released_at;
pub use place::Dropped;
pub use readout::Readout;

use std::sync::Arc;

use egui::{Rect, Sense, Ui, WidgetInfo};
use glam::DVec3;

use crate::desk::{Command, Desk};
use crate::draw::RockWish;
use crate::scene::Layout;
use crate::ui::pace::Motion;
use crate::ui::paint::lit::Lit;
use crate::ui::paint::mats::Mats;
use crate::ui::paint::photo::Photos;
use crate::ui::paint::rocks::{LightWish, RockDrawings, Wish, rock_tint};
use crate::ui::paint::tracer::Tracers;
use crate::ui::theme::Theme;
use crate::ui::wash::{Class, ColorTable, fit_change_classes, fit_classes, light_classes};
use derived::{Derived, Lists};
use frame::{Arrangement, Extent, Filling, Look};
use guess::Guess;
use hand::Hand;
use pick::Pick;
use solid::SolidView;
use washes::{BedLight, Washes};

use crate::words::Speaker;

/// What colors the views.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Wash {
    /// Mean speed of the water.
    #[default]
    Flow,
    /// Light on a level sensor.
    Light,
    /// How well the chosen coral would do.
    Fit,
    /// Ink only.
    None,
    /// How the flow differs from that of the compared layout.
    FlowChange,
    /// How the light differs from that of the compared layout.
    LightChange,
    /// How the fit of the chosen coral differs.
    FitChange,
}

impl Wash {
    /// Whether it shows a difference of two layouts.
    pub fn is_change(self) -> bool {
        matches!(self, Self::FlowChange | Self::LightChange | Self::FitChange)
    }

    /// Whether it lies on rock and sand and leaves the water clear.
    fn is_on_surfaces(self) -> bool {
        matches!(self, Self::Fit | Self::FitChange)
    }
}

/// What the sheet needs to know in a frame.
pub struct SheetContext<'a> {
    /// The open scene and its results.
    pub desk: &'a Desk,
    /// Colors.
    pub theme: &'a Theme,
    /// What may move by itself.
    pub motion: Motion,
}

/// What the pointer does when it is pressed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Tool {
    /// Selects and moves.
    #[default]
    Hand,
    /// Draws the outline of a new rock.
    Rock,
    /// Draws an opening into the selected rock.
    Opening,
    /// Notes readings where it is clicked.
    Reading,
}

/// The drawing area: what is looked at, and what the hand is doing.
pub struct Sheet {
    look: Look,
    filling: Filling,
    /// Share of the width that the keeper gave the right column.
    column: Option<f32>,
    wash: Wash,
    /// Whether the light wash shows sand and rock only, not the water.
    is_surface_light: bool,
    has_tracers: bool,
    tool: Tool,
    hand: Hand,
    rocks: RockDrawings,
    photos: Photos,
    washes: Washes,
    tracers: [Tracers; 3],
    solid: SolidView,
    /// The newest light on rock and sand, while the light wash shows.
    lit: Option<Arc<Lit>>,
    n_lits: u64,
    /// The fit that `lit` was made of, while that wash shows.
    fitted: Option<Arc<Vec<f32>>>,
    /// Mats as they lie over their rocks.
    mats: Mats,
    /// Solids and jets of the layout, for one state of the scene.
    derived: Option<Derived>,
    /// What is drawn of each view.
    lists: Lists,
    readout: Option<Readout>,
    /// View that the pointer was in last: arrow keys move along its axes.
    last_view: View,
    /// Where everything lay in the last frame.
    arrangement: Option<Arrangement>,
    /// The box that the views show when they fit.
    extent: Option<Extent>,
    /// Whether the keyboard is on a thing of the drawing.
    has_stop: bool,
    /// A finding whose mark was clicked, until it is asked for.
    called: Option<usize>,
    /// What was let go over a view, until it is asked for.
    dropped: Option<Dropped>,
    /// A rock that was drawn in one view, until its guessed other outline is
    /// changed or kept.
    guess: Option<Guess>,
    /// A place that was flown to (middle and half size, in cm), marked until
    /// the next click.
    spot: Option<(DVec3, DVec3)>,
}

impl Default for Sheet {
    fn default() -> Self {
        Self::new()
    }
}

impl Sheet {
    /// A sheet that shows the whole tank with the flow wash.
    pub fn new() -> Self {
        Self {
            look: Look::default(),
            filling: Filling::default(),
            column: None,
            wash: Wash::default(),
            is_surface_light: false,
            has_tracers: true,
            tool: Tool::default(),
            hand: Hand::default(),
            rocks: RockDrawings::default(),
            photos: Photos::default(),
            washes: Washes::default(),
            tracers: Default::default(),
            solid: SolidView::default(),
            lit: None,
            n_lits: 0,
            fitted: None,
            mats: Mats::default(),
            derived: None,
            lists: Lists::default(),
            readout: None,
            last_view: View::Top,
            arrangement: None,
            extent: None,
            has_stop: false,
            called: None,
            dropped: None,
            guess: None,
            spot: None,
        }
    }

    /// What colors the views.
    pub fn wash(&self) -> Wash {
        self.wash
    }

    /// What colors the views where there is something to show: without a pump
    /// or a return no flow, without a lamp no light.
    fn shown_wash(&self, desk: &Desk) -> Wash {
        match self.wash {
            Wash::Flow if !desk.study().moves_water() => Wash::None,
            Wash::Light if desk.layout().lamps.is_empty() => Wash::None,
            wash => wash,
        }
    }

    /// Looks at the same part in the same way as another sheet.
    pub fn follow(&mut self, other: &Self) {
        self.look = other.look;
        self.filling = other.filling;
        self.column = other.column;
        self.wash = other.wash;
        self.is_surface_light = other.is_surface_light;
        self.has_tracers = other.has_tracers;
        self.spot = other.spot;
        self.solid.follow(&other.solid);
    }

    /// Share of the width that the keeper gave the right column, to remember.
    pub fn column(&self) -> Option<f32> {
        self.column
    }

    /// Gives the right column a remembered share of the width.
    pub fn set_column(&mut self, column: Option<f32>) {
        self.column = column;
    }

    /// What is under the pointer, if it is over a view.
    pub fn cursor_readout(&self) -> Option<Readout> {
        self.readout
    }

    /// Where a view lay in the last frame, if it was shown.
    pub fn frame(&self, view: View) -> Option<Frame> {
        self.arrangement?.frames[view.idx()]
    }

    /// Whether specks drift with the water.
    pub fn has_tracers(&self) -> bool {
        self.has_tracers
    }

    /// What a tool in hand asks for, for the status line.
    pub fn hint(&self) -> Option<&'static str> {
        words::hint(self.tool)
    }

    /// Whether a hand is changing something right now.
    pub fn is_busy(&self) -> bool {
        self.hand.is_busy()
    }

    /// Draws the sheet over the room that is left and turns what the hand does
    /// into commands.
    pub fn show(&mut self, ui: &mut Ui, context: &SheetContext<'_>, send: &mut Vec<Command>) {
        let rect = ui.available_rect_before_wrap();
        ui.allocate_rect(rect, Sense::hover());
        // While a hand drags the water line the drawing stays where it is.
        let held = self.extent.filter(|_| self.hand.is_busy());
        let extent = held.unwrap_or_else(|| Extent::of(&context.desk.scene().tank));
        let wish = (self.filling, self.column);
        let arrangement = Arrangement::new(rect, &extent, &self.look, wish);
        self.arrangement = Some(arrangement);
        self.extent = Some(extent);
        self.derive(context.desk);
        self.tend_guess(context.desk.layout());
        self.take_light(context.desk);
        let colors = ColorTable::new(self.surface_classes(context.theme));
        let lit = self.lit.clone();
        let shown = arrangement.frames.iter().flatten();
        let wish = Wish {
            rocks: RockWish {
                levels: washes::levels(context.desk),
                nibs_per_cm: shown
                    .clone()
                    .next()
                    .map_or(arrangement.fit_scale, |it| it.scale),
            },
            is_reshaping: self.hand.is_reshaping(),
            light: lit.as_ref().map(|lit| LightWish {
                lit,
                colors: &colors,
                rock: rock_tint(context.theme),
            }),
        };
        let left = self.rocks.prepare(ui.ctx(), context.desk.study(), &wish);
        if left {
            ui.ctx().request_repaint();
        }
        if let Some(derived) = &self.derived {
            for frame in shown {
                let drawn = (derived, &self.mats, &self.rocks);
                self.lists.tend(frame, context.desk, drawn);
            }
        }
        self.readout = None;
        for frame in arrangement.frames.iter().flatten() {
            self.view_ui(ui, frame, context, send);
        }
        if let Some(rect) = arrangement.solid {
            self.solid
                .show(ui, rect, context, (&self.rocks, wish.light), send);
        }
        self.marks(ui, &arrangement, context.theme);
        self.keys(ui, context, send);
    }

    fn view_ui(
        &mut self,
        ui: &mut Ui,
        frame: &Frame,
        context: &SheetContext<'_>,
        send: &mut Vec<Command>,
    ) {
        let id = ui.scope_id().with(("view", frame.view));
        let response = ui.interact(frame.rect.expand(3.0), id, Sense::click_and_drag());
        let name = words::view_name(frame.view);
        response.widget_info(|| WidgetInfo::labeled(egui::Role::Canvas, true, name));
        self.item_stops(ui, frame, context, send);
        if response.hovered() || response.dragged() {
            self.last_view = frame.view;
        }
        self.gestures(ui, frame, &response, context, send);
        self.take_drop(frame, &response, context.desk);
        let wash = self.shown_wash(context.desk);
        let bed = self.bed_for(frame.view, context.desk);
        self.washes
            .prepare(ui.ctx(), frame, wash, context, (&self.rocks, &bed));
        let marks = self.paint_view(ui, frame, context);
        self.mark_stops(ui, frame, marks, (context, &mut *send));
        self.ghost_stops(ui, frame, (context, send));
        self.offer_guess(ui, frame, (context, send));
        if let Some(pos) = response.hover_pos() {
            let flat = frame.flat_cm(pos);
            self.readout = Some(Self::read_at(frame.view, flat, context.desk));
        }
    }

    /// What the marks of findings say and do when they are pointed at.
    fn mark_stops(
        &mut self,
        ui: &Ui,
        frame: &Frame,
        marks: Vec<labels::Mark>,
        (context, send): (&SheetContext<'_>, &mut Vec<Command>),
    ) {
        if self.tool != Tool::Hand || self.hand.is_busy() {
            return;
        }
        let desk = context.desk;
        for mark in marks {
            let id = ui.scope_id().with(("finding mark", frame.view, mark.idx));
            let response = ui.interact(mark.rect, id, Sense::click());
            response.widget_info(|| WidgetInfo::labeled(egui::Role::Button, true, &mark.words));
            let what = if mark.is_off {
                words::BRING_CUT
            } else {
                words::SHOW_WHOLE
            };
            let whole = desk.results().findings.get(mark.idx);
            let whole = whole.map_or_else(String::new, |finding| {
                Speaker::new(desk.scene(), desk.layout(), desk.settings().units).finding(finding)
            });
            let clicked = response.clicked();
            response.on_hover_text(format!("{whole}\n{what}"));
            if clicked && mark.is_off {
                let axis = frame.view.axes().2;
                send.push(Command::SetLevels(washes::levels_at(
                    desk,
                    mark.at_cm,
                    &[axis],
                )));
            } else if clicked {
                self.called = Some(mark.idx);
            }
        }
    }

    /// The finding whose mark was clicked since this was asked last.
    pub fn take_called(&mut self) -> Option<usize> {
        self.called.take()
    }

    /// One stop of the Tab key for each item, in the first view that is shown.
    fn item_stops(
        &mut self,
        ui: &mut Ui,
        frame: &Frame,
        context: &SheetContext<'_>,
        send: &mut Vec<Command>,
    ) {
        let first = self
            .arrangement
            .and_then(|arranged| arranged.frames.iter().flatten().next().copied());
        if first.is_none_or(|first| first.view != frame.view) {
            return;
        }
        let layout = context.desk.layout();
        self.has_stop = false;
        for id in layout.ids() {
            let Some(item) = layout.item(id) else {
                continue;
            };
            let rect = Rect::from_center_size(frame.pos(item.at_cm()), egui::Vec2::splat(14.0));
            let stop = ui.interact(
                rect,
                ui.scope_id().with(("item", id)),
                Sense::focusable_noninteractive(),
            );
            let name = words::item_name(&item, context.desk.catalog());
            stop.widget_info(|| WidgetInfo::labeled(egui::Role::ListItem, true, &name));
            if stop.has_focus() {
                // Arrow keys move the thing and leave the keyboard on it.
                let arrows = egui::EventFilter {
                    horizontal_arrows: true,
                    vertical_arrows: true,
                    ..egui::EventFilter::default()
                };
                ui.memory_mut(|memory| memory.set_focus_lock_filter(stop.id, arrows));
                self.has_stop = true;
            }
            if stop.gained_focus() && context.desk.selection() != [id] {
                send.push(Command::Select(vec![id]));
            }
        }
    }

    /// Sorts the newest light on rock and sand for drawing, or how the chosen
    /// coral would fit there, while that wash shows.
    fn take_light(&mut self, desk: &Desk) {
        let results = desk.results();
        let (Some(field), Some(about)) = (&results.light, &results.light_about) else {
            self.lit = None;
            self.fitted = None;
            return;
        };
        let fit = match self.wash {
            Wash::FitChange => {
                let compared = results.compared.as_ref();
                let change = compared.and_then(|compared| compared.fit_change.as_ref());
                change.and_then(|(of, change)| Arc::ptr_eq(of, field).then_some(change))
            }
            _ => Some(&results.fit_wash),
        };
        match self.wash {
            Wash::Light => {
                self.fitted = None;
                if !self.lit.as_ref().is_some_and(|lit| lit.is_of(field)) {
                    self.n_lits += 1;
                    self.lit = Some(Arc::new(Lit::new(field, about, self.n_lits)));
                }
            }
            Wash::Fit | Wash::FitChange
                if let Some(fit) = fit
                    && fit.len() == field.patches.len()
                    && !fit.is_empty() =>
            {
                let is_current = |old: &Arc<Vec<f32>>| Arc::ptr_eq(old, fit);
                if !self.fitted.as_ref().is_some_and(is_current) {
                    self.n_lits += 1;
                    let field = Arc::new(washes::fitted(field, fit));
                    self.lit = Some(Arc::new(Lit::new(&field, about, self.n_lits)));
                    self.fitted = Some(Arc::clone(fit));
                }
            }
            _ => {
                self.lit = None;
                self.fitted = None;
            }
        }
    }

    /// Classes of what lies on rock and sand.
    fn surface_classes(&self, theme: &Theme) -> &'static [Class] {
        match self.wash {
            Wash::Fit => fit_classes(),
            Wash::FitChange => fit_change_classes(),
            _ => light_classes(theme),
        }
    }

    /// What the light wash shows in a view beside the rocks.
    fn bed_for(&self, view: View, desk: &Desk) -> BedLight {
        /// A level this close to the sand is meant to lie on it, in cm.
        const ON_SAND_CM: f64 = 0.5;
        let Some(lit) = &self.lit else {
            return BedLight::Water;
        };
        let is_low = desk.levels().height_cm < desk.scene().tank.sand.depth_cm + ON_SAND_CM;
        match view {
            View::Top if self.wash.is_on_surfaces() => BedLight::Bed(Arc::clone(lit)),
            View::Top if self.is_surface_light || is_low => BedLight::Bed(Arc::clone(lit)),
            View::Side | View::End if self.is_surface_light => BedLight::Clear,
            _ => BedLight::Water,
        }
    }

    /// Whether the light wash leaves the water clear.
    pub fn is_surface_light(&self) -> bool {
        self.is_surface_light
    }

    /// Works out what follows from the layout, where that has changed.
    fn derive(&mut self, desk: &Desk) {
        self.mats.tend(desk.shown_study());
        let study = desk.study();
        if !matches!(&self.derived, Some(old) if old.is_of(study)) {
            self.derived = Some(Derived::new(study, self.derived.as_ref()));
        }
    }

    fn pick<'a>(
        &'a self,
        desk: &'a Desk,
        layout: &'a Layout,
        readings: &'a [(usize, DVec3)],
    ) -> Pick<'a> {
        Pick {
            tank: &desk.scene().tank,
            layout,
            readings,
            hidden: desk.hidden(),
            selection: desk.selection(),
            rocks: &self.rocks,
            reaches: self.derived.as_ref().map_or(&[], Derived::reaches),
            cut_at_cm: washes::cut_at_cm(desk),
        }
    }
}

/// Readings of the shown layout, with their indices.
fn shown_readings(desk: &Desk) -> Vec<(usize, DVec3)> {
    desk.scene()
        .marked_of(desk.layout())
        .map(|(idx, reading)| (idx, reading.at_cm))
        .collect()
}
