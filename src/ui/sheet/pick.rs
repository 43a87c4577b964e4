//! What the pointer is on.

use egui::{Pos2, Rect};
use glam::{DVec2, DVec3};

use crate::draw::middle_cm;
use crate::flow::jet::Reach;
use crate::scene::{Item, ItemId, Layout, Pump, Tank};
use crate::ui::paint::gear;
use crate::ui::paint::rocks::RockDrawings;
use crate::ui::paint::tank::inside_cm;
use crate::ui::sheet::outline::{self, Spot};
use crate::ui::sheet::{Frame, View};

/// How near counts as on, in points.
pub(super) const NEAR: f32 = 7.0;

/// Something that can be pointed at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Target {
    /// An item.
    Item(ItemId),
    /// The tip of a pump's arrow.
    Aim(ItemId),
    /// The ring that turns the selected item.
    Turn(ItemId),
    /// A point of the selected rock's outline.
    Point(Spot),
    /// An edge of the selected rock's outline, between a point and the next.
    Edge(Spot),
    /// A level line, by the axis that it cuts.
    Level(usize),
    /// A return nozzle.
    Return(usize),
    /// The overflow.
    Overflow,
    /// The surface of the water.
    WaterLine,
    /// A reading.
    Reading(usize),
}

/// What is needed to find a target.
pub(super) struct Pick<'a> {
    /// The tank.
    pub tank: &'a Tank,
    /// What is in it.
    pub layout: &'a Layout,
    /// Places of the readings that are shown, with their indices.
    pub readings: &'a [(usize, DVec3)],
    /// What is left out of the drawing.
    pub hidden: &'a [ItemId],
    /// What is selected.
    pub selection: &'a [ItemId],
    /// How the rocks are drawn.
    pub rocks: &'a RockDrawings,
    /// How far the pumps reach, in the layout's order.
    pub reaches: &'a [Reach],
    /// Where the views are cut, in cm.
    pub cut_at_cm: DVec3,
}

impl Pick<'_> {
    /// What is at `pos` in `frame`, small things before large ones.
    pub(super) fn at(&self, frame: &Frame, pos: Pos2) -> Option<Target> {
        self.handle_at(frame, pos)
            .or_else(|| self.small_item_at(frame, pos))
            .or_else(|| self.level_at(frame, pos))
            .or_else(|| self.rock_at(frame, pos))
    }

    fn handle_at(&self, frame: &Frame, pos: Pos2) -> Option<Target> {
        if let [id] = *self.selection {
            if let Some(at) = turn_handle(self.layout, id, frame)
                && at.distance(pos) < NEAR
            {
                return Some(Target::Turn(id));
            }
            if let Some(rock) = self.layout.rocks.iter().find(|rock| rock.id == id)
                && !rock.locked
            {
                if let Some(spot) = outline::point_at(rock, frame, pos, NEAR) {
                    return Some(Target::Point(spot));
                }
                if let Some(spot) = outline::edge_at(rock, frame, pos, NEAR * 0.7) {
                    return Some(Target::Edge(spot));
                }
            }
        }
        let tips = self.layout.pumps.iter().zip(self.reaches);
        let is_on = |(pump, reach): &(&Pump, &Reach)| {
            !pump.locked && self.is_shown(pump.id) && frame.pos(reach.tip_cm()).distance(pos) < NEAR
        };
        tips.filter(is_on)
            .map(|(pump, _)| Target::Aim(pump.id))
            .next()
    }

    fn small_item_at(&self, frame: &Frame, pos: Pos2) -> Option<Target> {
        let near_pump = |pump: &&Pump| {
            self.is_shown(pump.id) && frame.pos(pump.at_cm).distance(pos) < gear::RING + 3.0
        };
        if let Some(pump) = self.layout.pumps.iter().find(near_pump) {
            return Some(Target::Item(pump.id));
        }
        for (idx, at_cm) in self.readings {
            if frame.pos(*at_cm).distance(pos) < NEAR {
                return Some(Target::Reading(*idx));
            }
        }
        for (idx, nozzle) in self.tank.returns.iter().enumerate() {
            if frame.pos(nozzle.at_cm).distance(pos) < NEAR + 1.0 {
                return Some(Target::Return(idx));
            }
        }
        let near_coral = |coral: &&crate::scene::Coral| {
            let (h, v, _) = frame.view.axes();
            let half = DVec2::new(coral.size_cm[h], coral.size_cm[v]) / 2.0;
            let d = frame.flat_cm(pos) - frame.view.flat(middle_cm(coral));
            let half = half.max(DVec2::splat(5.0 / frame.scale));
            (d / half).length() < 1.05
        };
        let nearness = |at: &DVec3| frame.view.nearness(*at);
        let corals = self
            .layout
            .corals
            .iter()
            .filter(|coral| self.is_shown(coral.id));
        let corals = corals.filter(near_coral);
        if let Some(coral) = corals.max_by(|a, b| nearness(&a.at_cm).total_cmp(&nearness(&b.at_cm)))
        {
            return Some(Target::Item(coral.id));
        }
        let on_lamp = |lamp: &&crate::scene::Lamp| {
            let corners = lamp.face_cm();
            let points = corners.iter().map(|p| frame.pos(*p));
            let rect = points.fold(Rect::NOTHING, |rect, p| rect.union(Rect::from_pos(p)));
            if frame.view == View::Top {
                // From above a lamp covers half the tank: only its edge counts.
                rect.expand(4.0).contains(pos) && !rect.shrink(6.0).contains(pos)
            } else {
                rect.expand2(egui::vec2(2.0, 12.0)).contains(pos)
            }
        };
        let mut lamps = self
            .layout
            .lamps
            .iter()
            .filter(|lamp| self.is_shown(lamp.id));
        if let Some(lamp) = lamps.find(on_lamp) {
            return Some(Target::Item(lamp.id));
        }
        let overflow = self.tank.overflow_cm()?.map(|corner| frame.pos(corner));
        let rect = overflow
            .iter()
            .fold(Rect::NOTHING, |rect, p| rect.union(Rect::from_pos(*p)));
        rect.expand(3.0).contains(pos).then_some(Target::Overflow)
    }

    fn is_shown(&self, id: ItemId) -> bool {
        !self.hidden.contains(&id)
    }

    fn level_at(&self, frame: &Frame, pos: Pos2) -> Option<Target> {
        let (h, v, _) = frame.view.axes();
        let at = frame.pos(self.cut_at_cm);
        if (pos.y - at.y).abs() < 3.5 {
            return Some(Target::Level(v));
        }
        if (pos.x - at.x).abs() < 3.5 {
            return Some(Target::Level(h));
        }
        if frame.view == View::Top {
            return None;
        }
        let [lo, hi] = inside_cm(self.tank, frame.view);
        let surface = frame.rect_between(
            DVec2::new(lo.x, self.tank.water_cm),
            DVec2::new(hi.x, self.tank.water_cm),
        );
        surface
            .expand2(egui::vec2(0.0, 3.5))
            .contains(pos)
            .then_some(Target::WaterLine)
    }

    fn rock_at(&self, frame: &Frame, pos: Pos2) -> Option<Target> {
        let near_cm = 2.0 / frame.scale;
        let flat_cm = frame.flat_cm(pos);
        let covered = self.layout.rocks.iter().filter(|rock| {
            self.is_shown(rock.id)
                && self
                    .rocks
                    .rock(rock.id)
                    .is_some_and(|drawn| drawn.covers(rock, (frame.view, flat_cm), near_cm))
        });
        let nearest = covered.max_by(|a, b| {
            let nearness = |rock: &crate::scene::Rock| frame.view.nearness(rock.at_cm);
            nearness(a).total_cmp(&nearness(b))
        });
        nearest.map(|rock| Target::Item(rock.id))
    }

    /// Items that lie wholly in a box of the screen.
    pub(super) fn within(&self, frame: &Frame, marquee: Rect) -> Vec<ItemId> {
        let mut ids = Vec::new();
        let mut take = |id: ItemId, at_cm: DVec3| {
            if self.is_shown(id) && marquee.contains(frame.pos(at_cm)) {
                ids.push(id);
            }
        };
        for rock in &self.layout.rocks {
            take(rock.id, rock.at_cm);
        }
        for pump in &self.layout.pumps {
            take(pump.id, pump.at_cm);
        }
        for lamp in &self.layout.lamps {
            take(lamp.id, lamp.at_cm);
        }
        for coral in &self.layout.corals {
            take(coral.id, middle_cm(coral));
        }
        ids
    }
}

/// Place of the ring that turns an item: in the top view, ahead of its +x.
pub(super) fn turn_handle(layout: &Layout, id: ItemId, frame: &Frame) -> Option<Pos2> {
    if frame.view != View::Top {
        return None;
    }
    let (at_cm, turn_deg, away_cm) = match layout.item(id)? {
        Item::Rock(rock) if !rock.locked => {
            let far = if let Some(scan) = &rock.scan {
                let (low, high) = scan.bounds_cm();
                low.abs().max(high.abs()).truncate().max_element().max(4.0)
            } else {
                let points = rock.plan.points_cm.iter();
                points.map(|p| p.length()).fold(4.0, f64::max)
            };
            (rock.at_cm, rock.turn_deg, far)
        }
        Item::Lamp(lamp) if !lamp.locked => {
            let far = lamp
                .face_cm()
                .iter()
                .map(|p| p.truncate().distance(lamp.at_cm.truncate()))
                .fold(4.0, f64::max);
            (lamp.at_cm, lamp.turn_deg, far)
        }
        _ => return None,
    };
    let (sin, cos) = turn_deg.to_radians().sin_cos();
    let direction = DVec3::new(cos, sin, 0.0);
    Some(frame.pos(at_cm + direction * away_cm) + frame.vector(direction).normalized() * 20.0)
}
