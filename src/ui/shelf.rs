//! What can be added, each with a little drawing of its own: clicked, it goes to
//! a free place; dragged, to where it is let go.

use egui::{
    Align2, Color32, Context, DragAndDrop, FontId, Id, LayerId, Order, Painter, Pos2, Rect, Role,
    Sense, Shape, Stroke, Ui, Vec2, WidgetInfo, pos2,
};

use crate::desk::Action;
use crate::ui::ask::Ask;
use crate::ui::parts::{self, Panel};
use crate::ui::theme::{self, Theme};

/// The shelf from top to bottom; a rule stands between groups.
const GROUPS: [&[Action]; 4] = [
    &[
        Action::AddBoulder,
        Action::AddSlab,
        Action::AddPillar,
        Action::AddArch,
        Action::AddLedge,
        Action::AddRubble,
        Action::DrawRock,
    ],
    &[Action::AddPump, Action::AddReturn],
    &[
        Action::AddPanel,
        Action::AddPendant,
        Action::AddTube,
        Action::AddBar,
    ],
    &[Action::AddCoral, Action::AddAnimal, Action::AddReading],
];

/// Draws the shelf.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    egui::ScrollArea::vertical()
        .id_salt("shelf")
        .show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 1.0;
            for (idx, group) in GROUPS.iter().enumerate() {
                if idx > 0 {
                    parts::rule(ui, panel.theme);
                }
                for action in *group {
                    thing(ui, panel, *action);
                }
            }
        });
}

fn thing(ui: &mut Ui, panel: &mut Panel<'_>, action: Action) {
    let theme = panel.theme;
    let size = Vec2::new(ui.available_width(), 39.0);
    let (rect, response) = ui.allocate_exact_size(size, Sense::click_and_drag());
    response.widget_info(|| WidgetInfo::labeled(Role::Button, ui.is_enabled(), action.label()));
    response.dnd_set_drag_payload(action);
    let is_lit = response.hovered() || response.has_focus();
    let color = if is_lit { theme.accent } else { theme.ink };
    let drawing = Rect::from_center_size(
        pos2(rect.center().x, rect.top() + 12.0),
        Vec2::new(36.0, 20.0),
    );
    sketch(ui.painter(), drawing, theme, color).draw(action);
    ui.painter().text(
        pos2(rect.center().x, rect.bottom() - 8.0),
        Align2::CENTER_CENTER,
        action.label(),
        FontId::proportional(theme::SMALL_SIZE),
        color,
    );
    parts::focus_ring(ui, theme, &response);
    if response.gained_focus() {
        response.scroll_to_me(None);
    }
    if response.on_hover_text(action.tip()).clicked() {
        panel.ask.push(Ask::Do(action));
    }
}

/// Draws what is dragged from the shelf beside the pointer.
pub fn show_dragged(ctx: &Context, theme: &Theme) {
    let Some(action) = DragAndDrop::payload::<Action>(ctx) else {
        return;
    };
    let Some(pointer) = ctx.pointer_latest_pos() else {
        return;
    };
    let painter = ctx.layer_painter(LayerId::new(Order::Tooltip, Id::unique("dragged thing")));
    let drawing = Rect::from_center_size(pointer, Vec2::new(36.0, 20.0));
    sketch(&painter, drawing, theme, theme.accent).draw(*action);
}

fn sketch<'a>(painter: &'a Painter, rect: Rect, theme: &Theme, color: Color32) -> Sketch<'a> {
    Sketch {
        painter,
        rect,
        line: Stroke::new(1.4, color),
        fill: theme.rock,
        flesh: theme.coral,
        glow: theme.glow,
    }
}

/// A little drawing in a box; its own coordinates run from 0 to 36 across and
/// from 0 at the foot to 20 at the top.
struct Sketch<'a> {
    painter: &'a Painter,
    rect: Rect,
    line: Stroke,
    fill: Color32,
    flesh: Color32,
    glow: Color32,
}

impl Sketch<'_> {
    fn at(&self, (x, y): (f32, f32)) -> Pos2 {
        pos2(self.rect.left() + x, self.rect.bottom() - y)
    }

    fn points(&self, points: &[(f32, f32)]) -> Vec<Pos2> {
        points.iter().map(|point| self.at(*point)).collect()
    }

    /// A rock whose outline is convex enough for a plain fill.
    fn stone(&self, points: &[(f32, f32)]) {
        let shape = Shape::convex_polygon(self.points(points), self.fill, self.line);
        self.painter.add(shape);
    }

    fn stroke(&self, points: &[(f32, f32)]) {
        self.painter
            .add(Shape::line(self.points(points), self.line));
    }

    fn thin(&self, points: &[(f32, f32)]) {
        let line = Stroke::new(0.7, self.line.color);
        self.painter.add(Shape::line(self.points(points), line));
    }

    fn ring(&self, center: (f32, f32), radius: f32) {
        self.painter
            .circle_stroke(self.at(center), radius, self.line);
    }

    fn arrow(&self, from: (f32, f32), to: (f32, f32)) {
        self.stroke(&[from, to]);
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let length = dx.hypot(dy).max(1.0);
        let (ux, uy) = (dx / length * 4.5, dy / length * 4.5);
        self.stroke(&[
            (to.0 - ux - 0.6 * uy, to.1 - uy + 0.6 * ux),
            to,
            (to.0 - ux + 0.6 * uy, to.1 - uy - 0.6 * ux),
        ]);
    }

    fn cone(&self, left: f32, right: f32) {
        let line = Stroke::new(1.0, self.glow);
        for (from, to) in [
            ((left, 13.0), (left - 5.0, 1.0)),
            ((right, 13.0), (right + 5.0, 1.0)),
        ] {
            let points = [self.at(from), self.at(to)];
            self.painter
                .extend(Shape::dashed_line(&points, line, 2.0, 2.0));
        }
    }

    fn draw(&self, action: Action) {
        match action {
            Action::AddPump
            | Action::AddReturn
            | Action::AddPanel
            | Action::AddPendant
            | Action::AddTube
            | Action::AddBar => self.gear(action),
            Action::AddCoral => self.coral(),
            Action::AddAnimal => self.fish(),
            Action::AddReading => self.probe(),
            Action::DrawRock => self.pen(),
            _ => self.rock(action),
        }
    }

    fn rock(&self, action: Action) {
        match action {
            Action::AddBoulder => {
                self.stone(&[
                    (4.0, 1.0),
                    (3.0, 8.0),
                    (9.0, 15.0),
                    (19.0, 18.0),
                    (28.0, 15.0),
                    (33.0, 7.0),
                    (32.0, 1.0),
                ]);
                self.thin(&[(9.0, 5.0), (11.0, 10.0), (18.0, 13.5), (25.0, 12.0)]);
            }
            Action::AddSlab => {
                self.stone(&[
                    (1.0, 2.0),
                    (2.0, 6.0),
                    (10.0, 9.0),
                    (26.0, 8.5),
                    (35.0, 5.0),
                    (34.0, 2.0),
                ]);
                self.thin(&[(7.0, 5.5), (14.0, 6.5), (24.0, 6.0)]);
            }
            Action::AddPillar => {
                self.stone(&[
                    (12.0, 1.0),
                    (11.0, 9.0),
                    (13.0, 17.0),
                    (18.0, 20.0),
                    (23.0, 17.0),
                    (25.0, 9.0),
                    (24.0, 1.0),
                ]);
                self.thin(&[(15.0, 4.0), (15.0, 11.0), (17.0, 16.0)]);
            }
            Action::AddArch => self.arch(),
            Action::AddLedge => self.ledge(),
            Action::AddRubble => {
                self.stone(&[(3.0, 1.0), (4.0, 6.0), (9.0, 7.5), (13.0, 5.0), (13.0, 1.0)]);
                self.stone(&[
                    (22.0, 1.0),
                    (22.0, 5.0),
                    (27.0, 7.0),
                    (32.0, 5.0),
                    (33.0, 1.0),
                ]);
                self.stone(&[
                    (12.0, 3.0),
                    (13.0, 9.0),
                    (18.0, 12.0),
                    (23.0, 9.0),
                    (24.0, 3.0),
                ]);
            }
            _ => {}
        }
    }

    fn gear(&self, action: Action) {
        match action {
            Action::AddPump => {
                self.ring((9.0, 10.0), 6.5);
                self.thin(&[(4.5, 5.5), (13.5, 14.5)]);
                self.thin(&[(4.5, 14.5), (13.5, 5.5)]);
                self.arrow((15.5, 10.0), (33.0, 10.0));
            }
            Action::AddReturn => {
                self.stroke(&[(6.0, 20.0), (6.0, 10.0), (16.0, 10.0)]);
                self.stroke(&[(11.0, 20.0), (11.0, 15.0), (16.0, 15.0), (16.0, 10.0)]);
                self.arrow((18.0, 11.5), (31.0, 5.0));
            }
            Action::AddPanel => {
                self.stroke(&[
                    (6.0, 14.0),
                    (6.0, 18.0),
                    (30.0, 18.0),
                    (30.0, 14.0),
                    (6.0, 14.0),
                ]);
                self.cone(7.0, 29.0);
            }
            Action::AddPendant => {
                self.stroke(&[(18.0, 20.0), (18.0, 17.5)]);
                self.stroke(&[
                    (12.0, 13.5),
                    (15.0, 17.5),
                    (21.0, 17.5),
                    (24.0, 13.5),
                    (12.0, 13.5),
                ]);
                self.cone(13.0, 23.0);
            }
            Action::AddTube => {
                self.stroke(&[(4.0, 15.0), (32.0, 15.0)]);
                self.stroke(&[(4.0, 17.5), (32.0, 17.5)]);
                self.stroke(&[(4.0, 14.0), (4.0, 18.5)]);
                self.stroke(&[(32.0, 14.0), (32.0, 18.5)]);
                self.cone(9.0, 27.0);
            }
            Action::AddBar => {
                self.stroke(&[(3.0, 15.0), (33.0, 15.0)]);
                for x in [6.0, 12.0, 18.0, 24.0, 30.0] {
                    self.stroke(&[(x - 1.5, 13.0), (x + 1.5, 13.0)]);
                }
                self.cone(6.0, 30.0);
            }
            _ => {}
        }
    }

    fn ledge(&self) {
        self.stone(&[
            (7.0, 1.0),
            (6.0, 14.0),
            (14.0, 19.0),
            (17.0, 14.0),
            (16.0, 1.0),
        ]);
        self.stone(&[
            (8.0, 13.0),
            (12.0, 19.0),
            (26.0, 18.0),
            (34.0, 14.0),
            (31.0, 12.0),
        ]);
    }

    /// A pen and the line that it draws.
    fn pen(&self) {
        self.stroke(&[(4.0, 4.0), (9.0, 12.0), (17.0, 12.0), (20.0, 6.0)]);
        self.stroke(&[
            (20.0, 6.0),
            (30.0, 17.0),
            (33.0, 14.5),
            (23.0, 4.0),
            (20.0, 6.0),
        ]);
    }

    /// A probe on a stem with its scale.
    fn probe(&self) {
        self.stroke(&[(18.0, 20.0), (18.0, 9.0)]);
        self.ring((18.0, 5.5), 4.0);
        self.painter
            .circle_filled(self.at((18.0, 5.5)), 1.5, self.line.color);
        self.thin(&[(21.0, 12.0), (24.0, 12.0)]);
        self.thin(&[(21.0, 15.0), (26.0, 15.0)]);
        self.thin(&[(21.0, 18.0), (24.0, 18.0)]);
    }

    /// Two legs and a lintel, filled piece by piece because fills are convex.
    fn arch(&self) {
        let none = Stroke::NONE;
        let pieces: [&[(f32, f32)]; 3] = [
            &[(3.0, 1.0), (4.0, 11.0), (12.0, 9.0), (12.0, 1.0)],
            &[(24.0, 1.0), (24.0, 9.0), (32.0, 11.0), (33.0, 1.0)],
            &[
                (4.0, 11.0),
                (10.0, 17.0),
                (19.0, 19.0),
                (28.0, 16.0),
                (32.0, 11.0),
                (24.0, 9.0),
                (12.0, 9.0),
            ],
        ];
        for piece in pieces {
            let shape = Shape::convex_polygon(self.points(piece), self.fill, none);
            self.painter.add(shape);
        }
        let outline = [
            (3.0, 1.0),
            (4.0, 11.0),
            (10.0, 17.0),
            (19.0, 19.0),
            (28.0, 16.0),
            (32.0, 11.0),
            (33.0, 1.0),
            (24.0, 1.0),
            (23.0, 7.0),
            (18.0, 10.0),
            (13.0, 7.0),
            (12.0, 1.0),
            (3.0, 1.0),
        ];
        self.stroke(&outline);
    }

    fn coral(&self) {
        for (x, y, tip) in [(10.0, 12.0, 3.0), (18.0, 17.0, 3.4), (26.0, 13.0, 3.0)] {
            self.stroke(&[
                (18.0, 1.0),
                (f32::midpoint(18.0, x), y * 0.45),
                (x, y - tip),
            ]);
            self.painter
                .circle(self.at((x, y - 1.0)), tip, self.flesh, self.line);
        }
    }

    fn fish(&self) {
        let body = [
            (5.0, 10.0),
            (10.0, 14.5),
            (18.0, 15.5),
            (26.0, 11.5),
            (31.0, 15.0),
            (31.0, 5.0),
            (26.0, 8.5),
            (18.0, 4.5),
            (10.0, 5.5),
            (5.0, 10.0),
        ];
        self.stroke(&body);
        self.painter
            .circle_filled(self.at((10.0, 11.0)), 1.2, self.line.color);
    }
}
