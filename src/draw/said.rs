//! Words that go with what is drawn: how fast the water is at the tips of the
//! arrows, and how high lamps hang.

use glam::DVec2;

use crate::gear::arrow;
use crate::list::{Source, Subject};
use crate::view::View;
use crate::words;

/// What words are about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum About {
    /// How fast the water is at the tip of an arrow, which begins there.
    Jet {
        /// Start of the arrow, in cm of the view.
        from_cm: DVec2,
    },
    /// How high a lamp hangs.
    Height,
}

/// Words at a place of the view.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// What they are of.
    pub of: Subject,
    /// What they say of it.
    pub about: About,
    /// The place, in cm.
    pub at_cm: DVec2,
    /// The words.
    pub text: String,
    /// Whether they are left out unless their thing is pointed at.
    pub is_quiet: bool,
}

/// The words of a view, the more urgent ones first.
pub(crate) fn labels(source: &Source<'_>, view: View, nibs_per_cm: f64) -> Vec<Label> {
    let (tank, layout) = (&source.study.scene().tank, source.study.layout());
    let jets = layout.pumps.iter().zip(&source.facts.reaches);
    let jets = jets.filter_map(|(pump, reach)| {
        let [from_cm, at_cm] = arrow((view, nibs_per_cm), pump, reach)?;
        let is_at_glass = reach.is_at_glass(tank);
        Some(Label {
            of: Subject::Pump(pump.id),
            about: About::Jet { from_cm },
            at_cm,
            text: words::jet_reach(reach.speed_m_s, reach.way_m, is_at_glass, source.units),
            // The end view is narrow, and top and side say it already.
            is_quiet: view == View::End,
        })
    });
    let lamps = layout.lamps.iter().filter_map(|lamp| {
        let up_cm = lamp.at_cm.z - tank.water_cm;
        (up_cm > 0.0 && view != View::Top).then(|| Label {
            of: Subject::Lamp(lamp.id),
            about: About::Height,
            at_cm: view.flat(lamp.at_cm),
            text: words::above_water(up_cm, source.units),
            is_quiet: false,
        })
    });
    jets.chain(lamps).collect()
}
