//! What to put on paper, and as which file.

use egui::{ComboBox, Ui};

use crate::desk::{Command, PaperKind, PaperWish};
use crate::plan::{Held, Paper};
use crate::ui::ask::{Ask, PaperFile, PathFor};
use crate::ui::parts::{self, Panel};
use crate::ui::text;

/// The page with what was chosen on it so far.
#[derive(Clone, Debug, Default)]
pub struct PaperPage {
    kind: PaperKind,
    paper: Paper,
    held: Held,
    with_tiles: bool,
    with_berths: bool,
    /// The layout that the tank is in now, if not as the shown one.
    from: Option<usize>,
    has_begun: bool,
}

impl PaperPage {
    /// Draws the page.
    pub fn show(&mut self, ui: &mut Ui, panel: &mut Panel<'_>) {
        if !self.has_begun {
            self.has_begun = true;
            self.from = panel.desk.compared();
        }
        let theme = panel.theme;
        parts::row(ui, theme, text::PAPER_WHAT, |ui| {
            let new = parts::choice(ui, theme, &text::PAPER_KINDS, |kind| kind == self.kind);
            self.kind = new.unwrap_or(self.kind);
        });
        parts::aside(ui, theme, text::paper_words(self.kind));
        ui.add_space(8.0);
        match self.kind {
            PaperKind::Plan => self.plan_rows(ui, panel),
            PaperKind::Comparison => against_row(ui, panel),
            PaperKind::MovingDay => {
                self.way_row(ui, panel);
                parts::row(ui, theme, text::PAPER_HELD, |ui| {
                    let new = parts::choice(ui, theme, &text::HELDS, |held| held == self.held);
                    self.held = new.unwrap_or(self.held);
                });
            }
            PaperKind::Parts => {}
        }
        if self.kind != PaperKind::Parts {
            parts::row(ui, theme, text::PAPER_SIZE, |ui| {
                let new = parts::choice(ui, theme, &text::PAPERS, |paper| paper == self.paper);
                self.paper = new.unwrap_or(self.paper);
            });
        }
        ui.add_space(10.0);
        self.buttons(ui, panel);
        ui.add_space(6.0);
        parts::aside(ui, theme, text::PAPER_WAITS);
    }

    /// Which layout the tank is in now.
    fn way_row(&mut self, ui: &mut Ui, panel: &Panel<'_>) {
        let theme = panel.theme;
        if panel.desk.scene().layouts.len() > 1 {
            parts::row(ui, theme, text::PAPER_WAY, |ui| {
                let shown = self
                    .from
                    .map_or_else(|| text::PAPER_NO_WAY.to_owned(), |idx| name(panel, idx));
                let combo = ComboBox::from_id_salt("way from").selected_text(shown);
                let response = combo.show_ui(ui, |ui| {
                    ui.selectable_value(&mut self.from, None, text::PAPER_NO_WAY);
                    for idx in others(panel) {
                        ui.selectable_value(&mut self.from, Some(idx), name(panel, idx));
                    }
                });
                response.response.accessible_name(text::PAPER_WAY);
            });
        }
    }

    fn plan_rows(&mut self, ui: &mut Ui, panel: &Panel<'_>) {
        let theme = panel.theme;
        self.way_row(ui, panel);
        if let Some(chosen) = panel.desk.chosen_entry() {
            let label = panel
                .desk
                .catalog()
                .entry(chosen)
                .map_or_else(|| chosen.to_owned(), |entry| entry.plain_name.clone());
            let options = [(true, label.as_str()), (false, text::PAPER_NO_BERTHS)];
            parts::row(ui, theme, text::PAPER_BERTHS, |ui| {
                let new = parts::choice(ui, theme, &options, |named| named == self.with_berths);
                self.with_berths = new.unwrap_or(self.with_berths);
            });
        }
        parts::row(ui, theme, text::PAPER_LID_ROW, |ui| {
            ui.checkbox(&mut self.with_tiles, text::PAPER_LID)
        });
    }

    fn buttons(&self, ui: &mut Ui, panel: &mut Panel<'_>) {
        let theme = panel.theme;
        let is_open = match self.kind {
            PaperKind::Comparison => panel.desk.compared().is_none(),
            PaperKind::MovingDay => self.from.is_none(),
            PaperKind::Plan | PaperKind::Parts => false,
        };
        if is_open {
            return;
        }
        let mut file = None;
        ui.horizontal(|ui| {
            if self.kind == PaperKind::Parts {
                let button = parts::main_button(ui, theme, text::CHOOSE_FOLDER);
                file = button.clicked().then_some(PaperFile::Folder);
                return;
            }
            if parts::main_button(ui, theme, text::SAVE_PDF).clicked() {
                file = Some(PaperFile::Pdf);
            }
            let has_page = self.kind != PaperKind::MovingDay;
            if has_page && ui.button(text::SAVE_HTML).clicked() {
                file = Some(PaperFile::Html);
            }
        });
        if let Some(file) = file {
            let wish = PaperWish {
                kind: self.kind,
                paper: self.paper,
                held: self.held,
                with_tiles: self.with_tiles,
                from: self.from,
                berths_for: panel
                    .desk
                    .chosen_entry()
                    .filter(|_| self.with_berths)
                    .map(str::to_owned),
                ..PaperWish::default()
            };
            panel.ask.push(Ask::Close);
            panel
                .ask
                .push(Ask::Whereto(PathFor::Paper(Box::new(wish), file)));
        }
    }
}

/// Which layout the shown one is set against.
fn against_row(ui: &mut Ui, panel: &mut Panel<'_>) {
    let theme = panel.theme;
    if panel.desk.scene().layouts.len() < 2 {
        parts::aside(ui, theme, text::PAPER_NEEDS_LAYOUT);
        return;
    }
    let compared = panel.desk.compared();
    let mut other = compared;
    parts::row(ui, theme, text::PAPER_AGAINST, |ui| {
        let shown = other.map_or_else(|| text::CHOOSE_LAYOUT.to_owned(), |idx| name(panel, idx));
        let combo = ComboBox::from_id_salt("against").selected_text(shown);
        let response = combo.show_ui(ui, |ui| {
            for idx in others(panel) {
                ui.selectable_value(&mut other, Some(idx), name(panel, idx));
            }
        });
        response.response.accessible_name(text::PAPER_AGAINST);
    });
    if other != compared {
        panel.send.push(Command::CompareWith(other));
    }
}

/// Layouts beside the shown one.
fn others(panel: &Panel<'_>) -> impl Iterator<Item = usize> {
    let shown = panel.desk.layout_idx();
    (0..panel.desk.scene().layouts.len()).filter(move |idx| *idx != shown)
}

fn name(panel: &Panel<'_>, idx: usize) -> String {
    let layout = panel.desk.scene().layouts.get(idx);
    match layout.map_or("", |layout| layout.name.as_str()) {
        "" => text::UNNAMED.to_owned(),
        name => name.to_owned(),
    }
}
