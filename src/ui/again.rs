//! Finding again what the keeper was at: the layout that was shown last, and
//! the finding stood on when the list comes anew.

use crate::advice::Finding;
use crate::desk::Command;
use crate::ui::app::App;

impl App {
    /// Shows the layout of the open file that was shown last.
    pub(super) fn show_layout_last_used(&mut self) {
        let path = self.desk.document().path.clone();
        let Some((of, name)) = self.choices.last_layout.clone() else {
            return;
        };
        let layouts = &self.desk.scene().layouts;
        let idx = layouts.iter().position(|layout| layout.name == name);
        if let (true, Some(idx)) = (path.as_ref() == Some(&of), idx) {
            self.desk.run(Command::ShowLayout(idx));
        }
    }

    /// Remembers which layout of the open file is shown.
    pub(super) fn note_layout(&mut self) {
        let Some(path) = &self.desk.document().path else {
            return;
        };
        let name = &self.desk.layout().name;
        let is_known = (self.choices.last_layout.as_ref())
            .is_some_and(|(of, known)| of == path && known == name);
        if !is_known {
            self.choices.last_layout = Some((path.clone(), name.clone()));
        }
    }

    /// Findings come anew; the keeper stays on the one that was chosen.
    pub(super) fn keep_finding(&mut self) {
        let findings = &self.desk.results().findings;
        let Some((idx, stood_on)) = self.finding.zip(self.stood_on.as_ref()) else {
            return;
        };
        let is_same =
            |other: &Finding| other.kind == stood_on.kind && other.item() == stood_on.item();
        if findings.get(idx).is_some_and(|it| it == stood_on) {
            return;
        }
        let away = |other: &Finding| other.place.at_m().distance(stood_on.place.at_m());
        let near = findings.iter().enumerate().filter(|(_, it)| is_same(it));
        let found = near.min_by(|a, b| away(a.1).total_cmp(&away(b.1)));
        self.finding = found.map(|(idx, _)| idx);
        if let Some((_, finding)) = found {
            self.stood_on = Some(finding.clone());
        }
    }
}
