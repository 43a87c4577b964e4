//! What a mean hides of the flow over a coral: the phases of the pumps'
//! programs, and a jet that the cells of the estimate are too large for.

use crate::Certainty;
use crate::fit::{Fitter, FlowOver, Site, Strip, Verdict, range_score, verdict_of};
use crate::jets::Jet;
use crate::scene::Programme;
use crate::scene::finding::{Figure, Note, Quantity};
use crate::units::M_PER_CM;

/// How long a lull must last to count, in s. Water that rests for some minutes
/// and comes back is what keepers set programs for.
///
/// **Source** own choice.
const LULL_S: f64 = 3600.0;

/// Diameters of its outlet within which a jet's law is held against the
/// estimate: cells mix a jet too early up to about twenty, and farther on it
/// meets panes and other water.
///
/// **Source** `src/flow/METHODS.md`, free jet; the end is our choice.
const LAW_REACH: f64 = 30.0;

/// Score of a strip whose mean is right and one of whose moments is not, and
/// of one with a moment far off its range; own choice.
const ONCE: f64 = 0.45;
const FAR: f64 = 0.30;

impl Fitter<'_> {
    /// Adds to a flow strip what its moments bring, and what of them counts.
    pub(crate) fn mind_moments(&self, strip: &mut Strip, site: &Site, over: &FlowOver) {
        let mut most_m_s = over.speed_m_s;
        if let Some([least, most]) = over.phases_m_s {
            most_m_s = most_m_s.max(most);
            self.mind_phases(strip, [least, most].map(|speed| speed / M_PER_CM));
        }
        if let Some(jet_m_s) = self.jet_over(site).filter(|jet| *jet > most_m_s) {
            let jet_cm_s = jet_m_s / M_PER_CM;
            if jet_cm_s > strip.high {
                strip.others.push(Quantity::new(Figure::JetSpeed, jet_cm_s));
            }
            if counts(strip, jet_cm_s) {
                strip.notes.push(Note::InJet);
                strip.certainty = Certainty::Check;
                lower(strip, jet_cm_s);
            }
        }
    }

    fn mind_phases(&self, strip: &mut Strip, [least_cm_s, most_cm_s]: [f64; 2]) {
        strip.others.extend([
            Quantity::new(Figure::SlowestPhase, least_cm_s),
            Quantity::new(Figure::FastestPhase, most_cm_s),
        ]);
        if most_cm_s > strip.high && counts(strip, most_cm_s) {
            strip.notes.push(Note::FastPhase);
            lower(strip, most_cm_s);
        }
        let lasts = || self.lull_s() >= LULL_S;
        if least_cm_s < strip.low && counts(strip, least_cm_s) && lasts() {
            strip.notes.push(Note::SlowPhase);
            lower(strip, least_cm_s);
        }
    }

    /// How long at most a pump with a program rests, in s.
    fn lull_s(&self) -> f64 {
        let pumps = self.input.layout.pumps.iter();
        let rests = pumps.map(|pump| match pump.programme {
            Programme::Steady => 0.0,
            Programme::Pulse { period_s, .. } | Programme::Alternate { period_s, .. } => {
                period_s * (1.0 - pump.running_share())
            }
        });
        rests.fold(0.0, f64::max)
    }

    /// Speed that the fastest jet in sight brings to a coral's top by the law
    /// of a free one, at full stroke, in m/s.
    fn jet_over(&self, site: &Site) -> Option<f64> {
        const ABOVE_M: f64 = 0.02;
        let top_m = site.at_m + site.normal * (site.size_m.z + ABOVE_M);
        let of = |jet: &Jet| {
            let (way_m, speed_m_s) = jet.at(self.rockwork, top_m, 0.0);
            (way_m <= LAW_REACH * jet.law.diameter_m).then_some(speed_m_s)
        };
        self.jets.iter().filter_map(of).reduce(f64::max)
    }
}

/// Whether a moment is clearly out of the range of a strip whose mean is not.
fn counts(strip: &Strip, value: f64) -> bool {
    let is_out = |value: f64| {
        verdict_of(range_score(value, strip.low, strip.optimum, strip.high)) < Verdict::Fair
    };
    strip.value.is_some_and(|mean| !is_out(mean)) && is_out(value)
}

fn lower(strip: &mut Strip, value: f64) {
    let is_far = range_score(value, strip.low, strip.optimum, strip.high) <= 0.0;
    strip.score = strip.score.min(if is_far { FAR } else { ONCE });
    strip.verdict = verdict_of(strip.score);
}
