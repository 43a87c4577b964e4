//! What a rock's first outline leaves open: how it looks from the other side is
//! a guess, drawn as one and offered to be changed or kept.

use egui::{Align2, Frame as Scrap, Rect, Stroke, Ui, UiBuilder, Vec2, vec2};
use glam::DVec2;

use crate::desk::{Change, Command};
use crate::scene::{Item, Layout, Outline, Rock, Tank};
use crate::ui::paint::label;
use crate::ui::parts;
use crate::ui::sheet::outline::{Lie, Which, tidy};
use crate::ui::sheet::{Frame, Sheet, SheetContext, Tool, View, words};

/// What a step makes of a guess that is too large, and the other way round.
const STEP: f64 = 0.8;

/// A rock of which one outline was drawn and the other is guessed.
pub(super) struct Guess {
    /// The outline that is a guess.
    which: Which,
    /// Both outlines as they are if nobody has touched them since.
    plan: Outline,
    front: Outline,
}

impl Guess {
    /// A rock that was drawn in one view; `None` if nothing was guessed of it.
    pub(super) fn new(rock: &Rock, drawn_in: View) -> Option<Self> {
        let which = match drawn_in {
            View::Top => Which::Front,
            View::Side => Which::Plan,
            View::End => return None,
        };
        Some(Self {
            which,
            plan: rock.plan.clone(),
            front: rock.front.clone(),
        })
    }

    /// The rock, if its guess still stands.
    fn rock_in<'a>(&self, layout: &'a Layout) -> Option<&'a Rock> {
        let is_it = |rock: &&Rock| rock.plan == self.plan && rock.front == self.front;
        layout.rocks.iter().rfind(is_it)
    }

    /// Whether a view shows what was guessed.
    fn is_seen_in(&self, view: View) -> bool {
        match self.which {
            Which::Front | Which::End => view == View::Side,
            Which::Plan => view == View::Top,
        }
    }

    /// The rock with the guess grown or shrunk away from its foot or its middle,
    /// no farther than water and panes go.
    fn scaled(&self, rock: &Rock, by: f64, tank: &Tank) -> Rock {
        let outline = self.which.of(rock).unwrap_or(&self.front);
        let reach = (outline.points_cm.iter()).fold(0.1, |most: f64, p| most.max(p.y.abs()));
        let room = match self.which {
            Which::Front | Which::End => tank.water_cm - rock.at_cm.z,
            Which::Plan => rock.at_cm.y.min(tank.width_cm - rock.at_cm.y),
        };
        let by = by.min((room / reach).max(STEP));
        let scale = |outline: &Outline| Outline {
            points_cm: (outline.points_cm.iter())
                .map(|p| tidy(DVec2::new(p.x, p.y * by)))
                .collect(),
            ..outline.clone()
        };
        let mut rock = rock.clone();
        match self.which {
            Which::Front | Which::End => rock.front = scale(&self.front),
            Which::Plan => rock.plan = scale(&self.plan),
        }
        rock
    }
}

/// What the keeper answers to a guess.
enum Answer {
    Keep,
    Scale(f64),
}

impl Sheet {
    /// Drops the guess when the rock is gone or was drawn by hand since.
    pub(super) fn tend_guess(&mut self, layout: &Layout) {
        self.guess.take_if(|guess| guess.rock_in(layout).is_none());
    }

    /// Draws the guessed outline of the selected rock, dashed, and asks about it.
    pub(super) fn offer_guess(
        &mut self,
        ui: &mut Ui,
        frame: &Frame,
        (context, send): (&SheetContext<'_>, &mut Vec<Command>),
    ) {
        if self.tool != Tool::Hand || self.hand.is_busy() {
            return;
        }
        let Some(guess) = (self.guess.as_ref()).filter(|guess| guess.is_seen_in(frame.view)) else {
            return;
        };
        let desk = context.desk;
        let rock = guess.rock_in(desk.layout());
        let Some(rock) = rock.filter(|rock| desk.selection() == [rock.id]) else {
            return;
        };
        let Some(seen) = dash(ui, frame, (rock, guess.which), context) else {
            return;
        };
        match ask(ui, frame, (seen, guess.which), context) {
            Some(Answer::Keep) => self.guess = None,
            Some(Answer::Scale(by)) => {
                let scaled = guess.scaled(rock, by, &desk.scene().tank);
                self.guess = Some(Guess {
                    which: guess.which,
                    plan: scaled.plan.clone(),
                    front: scaled.front.clone(),
                });
                let change = Change::Put(Box::new(Item::Rock(scaled)));
                send.push(Command::Edit(words::CHANGE_GUESS.to_owned(), change));
            }
            None => {}
        }
    }
}

/// Dashes the outline; the box that it takes on the screen.
fn dash(
    ui: &Ui,
    frame: &Frame,
    (rock, which): (&Rock, Which),
    context: &SheetContext<'_>,
) -> Option<Rect> {
    let lie = Lie::new(rock, frame.view).filter(|lie| lie.which == which)?;
    let outline = which.of(rock)?;
    let curve = match which {
        Which::Plan => outline.curve_cm(),
        Which::Front | Which::End => outline.standing_curve_cm(),
    };
    let on_screen = |p: &DVec2| frame.pos_flat(lie.flat_cm(*p));
    let mut ring: Vec<_> = curve.points().iter().map(on_screen).collect();
    ring.push(*ring.first()?);
    let stroke = Stroke::new(2.0, context.theme.accent);
    label::dashed(&ui.painter_at(frame.rect), &ring, stroke, 7.0, 5.0);
    Some(Rect::from_points(&ring))
}

/// Words and answers on a scrap of paper above or below the outline.
fn ask(
    ui: &mut Ui,
    frame: &Frame,
    (seen, which): (Rect, Which),
    context: &SheetContext<'_>,
) -> Option<Answer> {
    /// Room that the words take, in points.
    const SIZE: Vec2 = vec2(330.0, 26.0);
    let [said, less, more] = match which {
        Which::Front | Which::End => words::GUESSED_FROM_ABOVE,
        Which::Plan => words::GUESSED_FROM_SIDE,
    };
    let theme = context.theme;
    let room = frame.rect.shrink(4.0);
    let above = seen.center_top() - vec2(0.0, 8.0);
    let rect = if above.y - SIZE.y > room.top() {
        Align2::CENTER_BOTTOM.anchor_size(above, SIZE)
    } else {
        Align2::CENTER_TOP.anchor_size(seen.center_bottom() + vec2(0.0, 8.0), SIZE)
    };
    let x = (rect.min.x).clamp(room.left(), (room.right() - SIZE.x).max(room.left()));
    let rect = Rect::from_min_size(egui::pos2(x, rect.min.y.min(room.bottom() - SIZE.y)), SIZE);
    let mut answer = None;
    ui.scope_builder(UiBuilder::new().max_rect(rect), |ui| {
        let line = Stroke::new(1.0, theme.accent);
        let scrap = Scrap::new().fill(theme.sheet).stroke(line).inner_margin(4);
        scrap.show(ui, |ui| {
            ui.horizontal(|ui| {
                ui.label(said);
                if parts::link(ui, theme, less).clicked() {
                    answer = Some(Answer::Scale(STEP));
                }
                if parts::link(ui, theme, more).clicked() {
                    answer = Some(Answer::Scale(1.0 / STEP));
                }
                if parts::link(ui, theme, words::KEEP_GUESS).clicked() {
                    answer = Some(Answer::Keep);
                }
            });
        });
    });
    answer
}
