//! A finding and what can be done about it, in words.

use crate::advice::Aspect;
use crate::catalog::{Topic, cautions};
use crate::fit::Facts;
use crate::growth::meeting_of;
use crate::names::Speaker;
use crate::notes;
use crate::scene::finding::{
    Cause, Certainty, Figure, Finding, Kind, Note, Quantity, Remedy, Severity,
};
use crate::scene::{Item, ItemId};
use crate::units::Measure;
use crate::{capitalized, listed};

impl Speaker<'_> {
    /// What was noticed, in a few sentences.
    pub fn finding(&self, finding: &Finding) -> String {
        let mut sentences = vec![match finding.kind {
            Kind::Standing => self.standing(finding),
            Kind::Setup => self.setup(finding),
            Kind::LampLevel | Kind::PumpLevel => self.level(finding),
            Kind::CoralLight => self.coral(finding, Aspect::Light),
            Kind::CoralFlow => self.coral(finding, Aspect::Flow),
            Kind::CoralRoom => self.coral(finding, Aspect::Room),
            Kind::CoralMount if finding.figure(Figure::StabilityWanted).is_some() => {
                self.coral(finding, Aspect::Stability)
            }
            Kind::CoralMount => self.coral(finding, Aspect::Mount),
            Kind::Growth => self.growth(finding),
            Kind::DeadSpot => self.dead_spot(finding),
            Kind::MayFlip => self.may_flip(finding),
            Kind::SandMoves => self.sand_moves(finding),
            Kind::Shade => self.shade(finding),
            Kind::Animal => self.animal_does(finding),
            Kind::Caution => self.caution(finding),
        }];
        let told = finding.notes.iter().map(|note| notes::sentence(*note));
        sentences.extend(told.filter(|text| !text.is_empty()).map(str::to_owned));
        sentences.retain(|text| !text.is_empty());
        sentences.join(" ")
    }

    fn shown(&self, finding: &Finding, figure: Figure, decimals: usize) -> String {
        let value = finding.figure(figure).unwrap_or(0.0);
        match figure.measure() {
            Measure::Share => format!("{:.decimals$} %", value * 100.0),
            measure => self.value(measure, value, decimals),
        }
    }

    fn dead_spot(&self, finding: &Finding) -> String {
        let waste = if finding.has(Note::DetritusSettles) {
            "; detritus settles and stays there"
        } else {
            ""
        };
        let slice = if finding.has(Note::SliceEstimate) {
            let thick = self.shown(finding, Figure::Thickness, 0);
            format!(" Slice estimate: its area times {thick}.")
        } else {
            String::new()
        };
        let corals = match finding.items.as_slice() {
            [] => String::new(),
            ids => {
                let likes = [Figure::Flow, Figure::FlowLow, Figure::FlowHigh];
                format!(" In it: {}.", self.those_within(finding, ids, (likes, 1)))
            }
        };
        let chance = finding
            .figure(Figure::Chance)
            .map_or_else(String::new, |chance| {
                let of_100 = (chance * 100.0).round();
                format!(" Of places like this, {of_100} in 100 are that slow.")
            });
        format!(
            "Dead spot, {}: {} move at {} on average, below {}{waste}.{chance}{slice}{corals}",
            self.place(&finding.place),
            self.shown(finding, Figure::Volume, 1),
            self.shown(finding, Figure::MeanSpeed, 1),
            self.shown(finding, Figure::DeadLimit, 1),
        )
    }

    /// Corals that a place is told of, each with what it gets there and what it
    /// likes where that hangs under the finding.
    fn those_within(
        &self,
        finding: &Finding,
        ids: &[ItemId],
        ([value, low, high], decimals): ([Figure; 3], usize),
    ) -> String {
        let measure = value.measure();
        let told = |id: &ItemId| {
            let name = self.bare_name(*id);
            let own = finding.under.iter().find(|own| own.item() == Some(*id));
            let figures =
                own.and_then(|own| Some([own.figure(value)?, own.figure(low)?, own.figure(high)?]));
            let Some([value, low, high]) = figures else {
                return name;
            };
            let value = self.number(measure, value, decimals);
            let low = self.number(measure, low, 0);
            let high = self.value(measure, high, 0);
            format!("{name} ({value}, likes {low} to {high})")
        };
        ids.iter().map(told).collect::<Vec<_>>().join(", ")
    }

    fn may_flip(&self, finding: &Finding) -> String {
        format!(
            "The flow may flip, {}: in {}, {:.0} estimates that began a little differently go \
             different ways. What is shown is a mean of them; expect the flow to change for \
             minutes at a time. Pumps that do not face each other, nor blow down the middle, \
             give a steadier flow.",
            self.place(&finding.place),
            self.shown(finding, Figure::Volume, 1),
            finding.figure(Figure::Runs).unwrap_or(0.0),
        )
    }

    fn shade(&self, finding: &Finding) -> String {
        let hungry = match finding.items.as_slice() {
            [] => String::new(),
            ids => {
                let likes = [Figure::Light, Figure::LightLow, Figure::LightHigh];
                let named = self.those_within(finding, ids, (likes, 0));
                format!(" Too dark for: {named}.")
            }
        };
        format!(
            "Shade {}: {} get {} of open light, {}.{hungry}",
            self.place(&finding.place),
            self.shown(finding, Figure::Area, 0),
            self.shown(finding, Figure::OpenShare, 0),
            self.shown(finding, Figure::Light, 0),
        )
    }

    fn sand_moves(&self, finding: &Finding) -> String {
        let pump = match &finding.cause {
            Some(Cause::Pump(id)) => self.name(*id),
            _ => "the pump".to_owned(),
        };
        let grain = finding.figure(Figure::Grain).unwrap_or(0.0);
        format!(
            "Sand may move, {}: {} of the bed see up to {} at {} above it, too much for {} \
             grains. Tilt {pump} up, move it or use coarser sand.",
            self.place(&finding.place),
            self.shown(finding, Figure::Area, 0),
            self.shown(finding, Figure::FastestSpeed, 0),
            self.shown(finding, Figure::AboveBed, 1),
            Measure::Grain.text(grain, self.units),
        )
    }

    fn coral(&self, finding: &Finding, what: Aspect) -> String {
        let coral = finding.item().and_then(|id| match self.item(id) {
            Some(Item::Coral(coral)) => Some(coral),
            _ => None,
        });
        let name = finding
            .item()
            .map_or_else(String::new, |id| self.name_with_genus(id));
        let entry = coral
            .as_ref()
            .and_then(|coral| self.catalog.entry(&coral.entry));
        let facts = Facts {
            quantities: &finding.quantities,
            notes: &finding.notes,
            neighbor: finding.items.get(1).copied(),
            entry,
            mount: coral.map_or_else(Default::default, |coral| coral.mount),
        };
        let text = self.aspect(what, &facts);
        let remedy = self.aspect_remedy(what, &facts);
        format!("{}: {text} {remedy}", capitalized(&name))
            .trim_end()
            .to_owned()
    }

    /// A lamp or pump that is too strong or too weak for most corals.
    fn level(&self, finding: &Finding) -> String {
        let setting = finding.figure(Figure::Setting).unwrap_or(1.0) * 100.0;
        let gear = match &finding.cause {
            Some(Cause::Lamps(ids) | Cause::Pumps(ids)) => self.names(ids),
            _ => String::new(),
        };
        let noun = if finding.kind == Kind::LampLevel {
            "light"
        } else {
            "flow"
        };
        let much = if finding.has(Note::TooMuch) {
            "much"
        } else {
            "little"
        };
        let n = finding.figure(Figure::Corals).unwrap_or(0.0);
        let counts = match finding.gain {
            Some(gain) => format!(
                "would put {:.0} of {n:.0} corals in their range of {noun}, {:.0} are now",
                gain.after, gain.before
            ),
            None => String::new(),
        };
        let can = if finding
            .remedies
            .iter()
            .any(|r| matches!(r, Remedy::Dim { .. } | Remedy::Throttle { .. }))
        {
            ""
        } else {
            " That is more than full power."
        };
        let is_one = finding.cause.as_ref().is_none_or(|c| c.items().len() < 2);
        let (gives, guess) = match (is_one, finding.kind) {
            (true, Kind::LampLevel) => ("it gives", ""),
            (false, Kind::LampLevel) => ("they give", ""),
            (true, _) => ("it gives", " Speeds are taken to go with the pump's flow."),
            (false, _) => ("they give", " Speeds are taken to go with the pumps' flow."),
        };
        let corals = self.bare_names(&finding.items);
        let n_ill = finding.items.len();
        let told = format!("Too {much} {noun} for {n_ill} of {n:.0} corals: {corals}.");
        // Twice and more is out of any gear's reach: it takes more of them.
        if !can.is_empty() && setting >= 200.0 {
            let n_gear = finding.cause.as_ref().map_or(1, |c| c.items().len());
            let n_such = (setting / 100.0 * n_gear as f64).ceil();
            let times = setting / 100.0;
            return format!(
                "{told} {} cannot give that much: {times:.1} times what {gives} now, as much as \
                 {n_such:.0} of them, {counts}.{guess}",
                capitalized(&gear),
            );
        }
        format!(
            "{told} {} at {setting:.0} % of what {gives} now {counts}.{can}{guess}",
            capitalized(&gear),
        )
    }

    fn growth(&self, finding: &Finding) -> String {
        let meeting = finding.notes.iter().find_map(|note| meeting_of(*note));
        let (Some(meeting), [by, to, ..]) = (meeting, finding.items.as_slice()) else {
            return String::new();
        };
        let months = finding
            .quantities
            .iter()
            .find(|q| q.figure == Figure::Months);
        let when = months.map_or_else(String::new, month_words);
        let status = self
            .growth_status(*by)
            .map_or_else(String::new, |status| format!(" ({})", status.words()));
        format!(
            "{} Growth rates vary widely{status}.",
            self.meets(meeting, (*by, *to), &when)
        )
    }

    fn standing(&self, finding: &Finding) -> String {
        let ids = &finding.items;
        let name = capitalized(&self.names(ids));
        let (s, whose) = if ids.len() > 1 {
            ("", "their")
        } else {
            ("s", "its")
        };
        let length = |figure: Figure| self.shown(finding, figure, 1);
        let margin = finding.figure(Figure::Margin).unwrap_or(0.0);
        let away = self.value(Measure::Length, margin.abs(), 1);
        let text = if finding.has(Note::NothingUnder) {
            format!("Nothing is under {}.", self.names(ids))
        } else if finding.has(Note::TipsOver) {
            format!("{name} tip{s} over: {whose} center is {away} outside {whose} support.")
        } else if finding.has(Note::StandsOnLittle) {
            format!(
                "{name} stand{s} on little: {whose} center is {away} inside {whose} support, {} \
                 wanted (common practice).",
                length(Figure::MarginWanted)
            )
        } else if finding.has(Note::Overhangs) {
            format!(
                "{name} hang{s} {} of {whose} length past {whose} support.",
                self.shown(finding, Figure::Overhang, 0)
            )
        } else if finding.has(Note::PointOnGlass) {
            format!("{name} rest{s} on a point of bare glass: put a sheet between.")
        } else {
            format!("{name} stand{s} on sand: that moves when something digs in it.")
        };
        format!("{text} A rough estimate: it proves nothing safe.")
    }

    fn setup(&self, finding: &Finding) -> String {
        let name = finding.item().map_or_else(String::new, |id| self.name(id));
        let says = if finding.has(Note::UnderWater) {
            "reaches under water: that part of it is left out. Hang it higher"
        } else if finding.has(Note::BesideTank) {
            "hangs beside the tank's opening: little of its light gets in"
        } else if finding.has(Note::InRock) {
            "hangs in rock. Move one of them"
        } else if !finding.has(Note::ReadingDark) {
            return self.mistake(finding);
        } else {
            "does not reach the place of the reading that fixes its output, so it counts as dark. \
             Move the reading into its light"
        };
        format!("{} {says}.", capitalized(&name))
    }

    fn animal_does(&self, finding: &Finding) -> String {
        let name = match finding.cause {
            Some(Cause::Animal(idx)) => capitalized(&self.animal(idx)),
            _ => "An animal".to_owned(),
        };
        let length = |figure: Figure| self.shown(finding, figure, 0);
        let ids = &finding.items;
        let loose = |verb: &str| {
            let are = if ids.len() == 1 { "is" } else { "are" };
            format!("{name} {verb}: {} {are} not fastened.", self.names(ids))
        };
        if finding.has(Note::Digs) {
            format!("{name} digs: {} on sand may sink or tip.", self.names(ids))
        } else if finding.has(Note::NeedsCave) {
            format!(
                "{name} needs a cave {} wide; the widest is about {}.",
                length(Figure::CaveWanted),
                length(Figure::Cave)
            )
        } else if finding.has(Note::NeedsLane) {
            format!(
                "{name} needs an open lane of {}; the longest is {}.",
                length(Figure::LaneWanted),
                length(Figure::Lane)
            )
        } else if finding.has(Note::Hosts) {
            loose("rubs the corals that it lives in")
        } else if finding.has(Note::Perches) {
            loose("sits on corals")
        } else {
            loose("pushes loose things about")
        }
    }

    fn caution(&self, finding: &Finding) -> String {
        let name = finding
            .item()
            .map_or_else(String::new, |id| self.name_with_genus(id));
        let name = capitalized(&name);
        if finding.has(Note::Palytoxin) {
            let told = cautions().iter();
            let told = told.filter(|caution| caution.topic == Topic::Palytoxin);
            let told: Vec<&str> = told.map(|caution| caution.text_in(self.units)).collect();
            format!("{name}: {}", told.join(" "))
        } else {
            format!(
                "{name}: it stings people. Wear gloves, and seek medical help for a bad reaction."
            )
        }
    }

    /// What a remedy does, as an order to the program.
    pub fn remedy(&self, remedy: &Remedy) -> String {
        let percent = |share: f64| format!("{:.0} %", share * 100.0);
        match remedy {
            Remedy::ProposePump => "look for a place for one more pump".to_owned(),
            Remedy::AddPump(_) => "add the proposed pump".to_owned(),
            Remedy::Dim { lamps, factor } => {
                format!("set {} to {}", self.names(lamps), percent(*factor))
            }
            Remedy::Throttle { pump, throttle } => {
                format!("set {} to {}", self.name(*pump), percent(*throttle))
            }
            Remedy::Aim {
                pump,
                turn_deg,
                tilt_deg,
            } => format!(
                "aim {} {turn_deg:.0}° about the vertical and {tilt_deg:.0}° up",
                self.name(*pump)
            ),
            Remedy::Move { item, by_cm } => {
                let by = self.value(Measure::Length, by_cm.length(), 1);
                format!("move {} by {by}", self.name(*item))
            }
            Remedy::Remount { coral, mount } => format!(
                "hold {} by {}",
                self.name(*coral),
                crate::mount_word(*mount)
            ),
            Remedy::Remove(id) => format!("take out {}", self.name(*id)),
            Remedy::ShowBerths(id) => format!("look for a better place for {}", self.name(*id)),
            Remedy::ListCandidates => "see what could live there".to_owned(),
            Remedy::Select(id) => format!("look at {}", self.name(*id)),
        }
    }

    /// The number that matters of a finding, to stand on its spot in a drawing.
    pub fn spot_label(&self, finding: &Finding) -> Option<String> {
        match finding.kind {
            Kind::DeadSpot => {
                let volume = finding.figure(Figure::Volume)?;
                let decimals = usize::from(volume < 10.0);
                let volume = self.value(Measure::Volume, volume, decimals);
                Some(format!("dead, {volume}"))
            }
            Kind::Shade => {
                let share = finding.figure(Figure::OpenShare)? * 100.0;
                Some(format!("shade, {share:.0} % of open"))
            }
            _ => None,
        }
    }

    pub(crate) fn item(&self, id: ItemId) -> Option<Item> {
        let others = self.other.into_iter();
        let mut layouts = std::iter::once(self.layout).chain(others);
        layouts.find_map(|layout| layout.item(id))
    }
}

/// When, from a value within its interval.
fn month_words(quantity: &Quantity) -> String {
    let month = quantity.value.ceil();
    match quantity.interval {
        Some([early, late]) if late.is_finite() => {
            format!(
                "month {month:.0} ({:.0} to {:.0})",
                early.ceil(),
                late.ceil()
            )
        }
        Some([early, _]) => format!("month {month:.0} ({:.0} or later)", early.ceil()),
        None => format!("month {month:.0}"),
    }
}

/// A remedy in a word or two, for a link.
pub fn remedy_link(remedy: &Remedy) -> &'static str {
    match remedy {
        Remedy::ProposePump => "propose a pump",
        Remedy::AddPump(_) => "add this pump",
        Remedy::Dim { .. } => "set the light",
        Remedy::Throttle { .. } => "set the pump",
        Remedy::Aim { .. } => "aim it so",
        Remedy::Move { .. } => "move it",
        Remedy::Remount { .. } => "hold it so",
        Remedy::Remove(_) => "take it out",
        Remedy::ShowBerths(_) => "show berths",
        Remedy::ListCandidates => "what lives there?",
        Remedy::Select(_) => "select it",
    }
}

/// What a finding is about, in a word or two.
pub fn kind_word(kind: Kind) -> &'static str {
    match kind {
        Kind::Standing => "standing",
        Kind::Setup => "setup",
        Kind::LampLevel | Kind::CoralLight => "light",
        Kind::PumpLevel | Kind::CoralFlow => "flow",
        Kind::CoralRoom => "room",
        Kind::CoralMount => "mount",
        Kind::Growth => "growth",
        Kind::DeadSpot => "dead spot",
        Kind::MayFlip => "may flip",
        Kind::SandMoves => "sand",
        Kind::Shade => "shade",
        Kind::Animal => "animal",
        Kind::Caution => "caution",
    }
}

/// How sure, in a word.
pub fn certainty_word(certainty: Certainty) -> &'static str {
    match certainty {
        Certainty::Sure => "sure",
        Certainty::Likely => "likely",
        Certainty::Check => "check",
    }
}

/// How bad, in a word.
pub fn severity_word(severity: Severity) -> &'static str {
    match severity {
        Severity::Serious => "serious",
        Severity::Warning => "warning",
        Severity::Note => "note",
    }
}

/// What a cause is called with its article.
impl Speaker<'_> {
    /// Remedies in a word or two each, for links in one row: where several
    /// things can be selected, each goes by its name.
    pub fn remedy_links(&self, remedies: &[Remedy]) -> Vec<String> {
        let is_select = |remedy: &&Remedy| matches!(remedy, Remedy::Select(_));
        let are_many = remedies.iter().filter(is_select).count() > 1;
        let word = |remedy: &Remedy| match remedy {
            Remedy::Select(id) if are_many => self.bare_name(*id),
            remedy => remedy_link(remedy).to_owned(),
        };
        remedies.iter().map(word).collect()
    }

    /// What brings a finding about.
    pub fn cause(&self, cause: &Cause) -> String {
        match cause {
            Cause::Animal(idx) => self.animal(*idx),
            cause => {
                let names: Vec<String> = cause.items().iter().map(|id| self.name(*id)).collect();
                listed(&names)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::shapes::Shape;
    use crate::scene::{FORMAT, Layout, Panes, Sand, Scene, Sides, Tank, Water};
    use crate::units::UnitSystem;
    use glam::DVec3;

    #[test]
    fn things_to_select_in_one_row_go_by_their_names() {
        let mut rocks = [1, 2].map(|id| Shape::Boulder.rock(id, DVec3::new(30.0, 30.0, 3.0)));
        rocks[0].name = "left island".to_owned();
        let layout = Layout {
            rocks: rocks.to_vec(),
            ..Layout::default()
        };
        let scene = Scene {
            format: FORMAT,
            name: String::new(),
            tank: Tank {
                length_cm: 120.0,
                width_cm: 60.0,
                height_cm: 55.0,
                water_cm: 50.0,
                sand: Sand::default(),
                sides: Sides::default(),
                panes: Panes::default(),
                water: Water::default(),
                returns: vec![],
                overflow: None,
            },
            layouts: vec![layout.clone()],
            readings: vec![],
            animals: vec![],
            underlays: vec![],
        };
        let speaker = Speaker::new(&scene, &layout, UnitSystem::Metric);
        let both = [Remedy::Select(1), Remedy::Select(2)];
        let links = speaker.remedy_links(&both);
        assert_eq!(links[0], "left island", "by its name");
        assert_eq!(links[1], speaker.bare_name(2), "by its kind and number");
        let alone = speaker.remedy_links(&[Remedy::ShowBerths(2), Remedy::Select(2)]);
        assert_eq!(alone, ["show berths", "select it"], "only one thing");
    }
}
