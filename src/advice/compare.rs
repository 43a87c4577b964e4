//! Two layouts side by side: figures with their better direction and ties, the
//! fate of each coral, and a ranking of several.

use crate::Finding;
use crate::acclimation::{Acclimation, acclimation};
use crate::ahead::later_events;
use crate::figures::{FlowFigures, flow_figures};
use crate::fit::{Aspect, Fit, Strip, Verdict, fit};
use crate::growth::{Meeting, coral_name};
use crate::hollows::{animal_findings, open_lane_m};
use crate::scene::ItemId;
use crate::scene::finding::Figure;
use crate::stance::{Stance, stances};
use crate::units::Measure;
use crate::water::water_card;
use crate::{AdviceInput, shaded_zones};

/// One layout in numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct LayoutFigures {
    /// Of the water, if solved.
    pub flow: Option<FlowFigures>,
    /// Shaded surface, in m², if light is solved.
    pub shaded_m2: Option<f64>,
    /// PPFD that a tenth, half and nine tenths of the surface do not reach, in
    /// µmol/m²/s, if light is solved.
    pub ppfd_umol: Option<[f64; 3]>,
    /// Whether bounced light is in.
    pub light_is_full: bool,
    /// Corals by verdict: bad, poor, fair, good, unknown.
    pub corals: [usize; 5],
    /// Mass of dry rock, in kg.
    pub rock_kg: f64,
    /// Net water, in L.
    pub net_l: f64,
    /// Turnover of all pumps, in net volumes an hour.
    pub turnover_per_h: f64,
    /// Longest open lane, in m.
    pub lane_m: f64,
    /// Known electrical power, in W.
    pub power_w: f64,
    /// Rocks or bonded groups that are not to be built so, and to be watched.
    pub standing: [usize; 2],
    /// Pairs of corals of which one stings the other within the months that are
    /// looked at.
    pub stings: usize,
    /// Corals with less room than they need today.
    pub cramped: usize,
    /// Needs of animals that are not met, and harm that they do.
    pub animals: usize,
}

/// The figures of one layout.
pub fn layout_figures(input: &AdviceInput<'_>) -> LayoutFigures {
    let card = water_card(input.study);
    let (mut corals, mut cramped) = ([0; 5], 0);
    for fit in input
        .layout
        .corals
        .iter()
        .filter_map(|coral| fit(input, coral))
    {
        let short = |strip: &Strip| strip.what == Aspect::Room && strip.verdict < Verdict::Good;
        cramped += usize::from(fit.strips.iter().any(short));
        corals[match fit.verdict {
            Verdict::Bad => 0,
            Verdict::Poor => 1,
            Verdict::Fair => 2,
            Verdict::Good => 3,
            Verdict::Unknown => 4,
        }] += 1;
    }
    let area = |finding: &Finding| finding.figure(Figure::Area).unwrap_or(0.0) / 1e4;
    LayoutFigures {
        flow: input
            .flow
            .map(|field| flow_figures(field, &input.scene.tank, input.options)),
        shaded_m2: input
            .light
            .map(|_| shaded_zones(input).iter().map(area).sum()),
        ppfd_umol: input.light.and_then(|light| {
            let mut patches: Vec<(f64, f64)> = light
                .patches
                .iter()
                .map(|p| (p.ppfd_umol, p.area_m2))
                .collect();
            area_quantiles(&mut patches)
        }),
        light_is_full: input.light.is_some_and(|light| light.full),
        corals,
        rock_kg: card.rock_kg,
        net_l: card.net_l,
        turnover_per_h: card.turnover_per_h,
        lane_m: open_lane_m(input.study),
        power_w: card.pump_w + card.lamp_w,
        standing: [Stance::DoNot, Stance::Watch]
            .map(|how| stances(input.study).iter().filter(|s| s.1 == how).count()),
        stings: later_events(input, input.options.months)
            .iter()
            .filter(|event| event.what == Meeting::Sting)
            .count(),
        cramped,
        animals: animal_findings(input).len(),
    }
}

fn area_quantiles(patches: &mut [(f64, f64)]) -> Option<[f64; 3]> {
    patches.sort_by(|a, b| a.0.total_cmp(&b.0));
    let total: f64 = patches.iter().map(|p| p.1).sum();
    let at = |share: f64| {
        let mut sum = 0.0;
        let reached = |p: &&(f64, f64)| {
            sum += p.1;
            sum >= share * total
        };
        patches.iter().find(reached).map(|p| p.0)
    };
    Some([at(0.1)?, at(0.5)?, at(0.9)?])
}

/// Which way a figure is better.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Better {
    /// The lower the better.
    Lower,
    /// The higher the better.
    Higher,
    /// Neither: it depends on what is wanted.
    Neither,
}

/// Who is better in one figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// The first layout.
    First,
    /// The second layout.
    Second,
    /// They differ by less than the figures are sure of.
    Tie,
    /// They differ, and neither way is better.
    Differs,
    /// At least one is not known.
    Unknown,
}

impl Outcome {
    /// Its stable name, for scripts and tables.
    pub const fn tag(self) -> &'static str {
        match self {
            Self::First => "first",
            Self::Second => "second",
            Self::Tie => "tie",
            Self::Differs => "differs",
            Self::Unknown => "unknown",
        }
    }
}

/// One figure of two layouts.
#[derive(Clone, Debug, PartialEq)]
pub struct FigureRow {
    /// What it is.
    pub name: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// What it measures, in that unit; plain where it is a count or a share.
    pub measure: Measure,
    /// Value of the first layout.
    pub first: Option<f64>,
    /// Value of the second layout.
    pub second: Option<f64>,
    /// Difference below which they are called a tie, in `unit`.
    pub uncertainty: f64,
    /// Which way is better.
    pub better: Better,
    /// Who is better.
    pub outcome: Outcome,
}

/// What a change of layout means for one coral.
#[derive(Clone, Debug, PartialEq)]
pub struct CoralFate {
    /// Its id, the same in both layouts.
    pub id: ItemId,
    /// What it is called.
    pub name: String,
    /// Verdict in the first layout; none if it is not there.
    pub before: Option<Verdict>,
    /// Verdict in the second layout; none if it is not there.
    pub after: Option<Verdict>,
    /// PPFD on it before and after, in µmol/m²/s, where both are known.
    pub light_umol: Option<[f64; 2]>,
    /// Mean speed over it before and after, in cm/s, where both are known.
    pub flow_cm_s: Option<[f64; 2]>,
    /// What changed.
    pub causes: Vec<FateCause>,
    /// How to bring it from one light to the other, if that needs care.
    pub acclimation: Option<Acclimation>,
}

/// One thing that changed for a coral.
#[derive(Clone, Debug, PartialEq)]
pub enum FateCause {
    /// It is not in the second layout.
    OnlyFirst,
    /// It is only in the second layout.
    OnlySecond,
    /// This aspect is worse in the second.
    Worse(Box<Strip>),
    /// This aspect is better in the second.
    Better(Box<Strip>),
}

/// Two layouts side by side.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// Figures of the first.
    pub first: LayoutFigures,
    /// Figures of the second.
    pub second: LayoutFigures,
    /// The table.
    pub rows: Vec<FigureRow>,
    /// Every coral of either.
    pub corals: Vec<CoralFate>,
}

/// Compares two layouts, usually of one scene.
pub fn compare(first: &AdviceInput<'_>, second: &AdviceInput<'_>) -> Comparison {
    let figures = (layout_figures(first), layout_figures(second));
    Comparison {
        rows: figure_rows(&figures.0, &figures.1),
        corals: fates(first, second),
        first: figures.0,
        second: figures.1,
    }
}

/// Figures of two layouts as a table. Swapping the layouts swaps the outcomes.
///
/// What is called a tie: speeds and volumes within the joint confidence
/// interval or 5 % (of the larger), whichever is more, as a run's interval
/// holds chance only; light within 5 % (10 % without bounces); rock and water
/// within 1 %, the accuracy of the summed volumes.
pub fn figure_rows(first: &LayoutFigures, second: &LayoutFigures) -> Vec<FigureRow> {
    let mut rows = flow_rows(first, second);
    rows.extend(light_rows(first, second));
    let whole = |count: usize| Some(count as f64);
    let unfit = |f: &LayoutFigures| whole(f.corals[0] + f.corals[1]);
    let lower = Better::Lower;
    rows.push(row(
        "corals out of range",
        "",
        (unfit(first), unfit(second)),
        0.0,
        lower,
    ));
    let good = (whole(first.corals[3]), whole(second.corals[3]));
    rows.push(row("corals that fit well", "", good, 0.0, Better::Higher));
    rows.extend(count_rows(first, second));
    let plain: [(&str, &str, f64, f64, f64, Better); 5] = [
        (
            "rock, dry",
            "kg",
            first.rock_kg,
            second.rock_kg,
            0.01,
            Better::Neither,
        ),
        (
            "net water",
            "L",
            first.net_l,
            second.net_l,
            0.01,
            Better::Neither,
        ),
        (
            "turnover",
            "1/h",
            first.turnover_per_h,
            second.turnover_per_h,
            0.02,
            Better::Neither,
        ),
        (
            "longest open lane",
            "cm",
            100.0 * first.lane_m,
            100.0 * second.lane_m,
            0.05,
            Better::Higher,
        ),
        (
            "power, known",
            "W",
            first.power_w,
            second.power_w,
            0.0,
            lower,
        ),
    ];
    for (name, unit, a, b, share, better) in plain {
        rows.push(row(
            name,
            unit,
            (Some(a), Some(b)),
            share * a.abs().max(b.abs()),
            better,
        ));
    }
    rows
}

/// What is counted: the fewer the better.
fn count_rows(first: &LayoutFigures, second: &LayoutFigures) -> Vec<FigureRow> {
    type Count = fn(&LayoutFigures) -> usize;
    let counts: [(&'static str, Count); 5] = [
        ("rocks not to be built so", |f| f.standing[0]),
        ("rocks to be watched", |f| f.standing[1]),
        ("corals with too little room", |f| f.cramped),
        ("stings to come", |f| f.stings),
        ("troubles with animals", |f| f.animals),
    ];
    let whole = |count: usize| Some(count as f64);
    counts
        .into_iter()
        .map(|(name, count)| {
            let values = (whole(count(first)), whole(count(second)));
            row(name, "", values, 0.0, Better::Lower)
        })
        .collect()
}

fn flow_rows(first: &LayoutFigures, second: &LayoutFigures) -> Vec<FigureRow> {
    const FLOOR: f64 = 0.05;
    type Pick = fn(&FlowFigures) -> (Option<f64>, f64);
    let table: [(&str, &str, Better, Pick); 6] = [
        ("dead water", "L", Better::Lower, |f| {
            (Some(f.dead_l), f.dead_share_half_width * f.water_l)
        }),
        ("dead share", "%", Better::Lower, |f| {
            (Some(100.0 * f.dead_share), 100.0 * f.dead_share_half_width)
        }),
        ("mean speed", "cm/s", Better::Higher, |f| {
            (
                Some(100.0 * f.mean_speed_m_s),
                100.0 * f.mean_speed_half_width_m_s,
            )
        }),
        ("slowest tenth", "cm/s", Better::Higher, |f| {
            (
                Some(100.0 * f.slowest_tenth_m_s),
                100.0 * f.mean_speed_half_width_m_s,
            )
        }),
        ("settled detritus", "cm²", Better::Lower, |f| {
            (f.detritus_m2.map(|m2| 1e4 * m2), 0.0)
        }),
        ("sand at risk", "cm²", Better::Lower, |f| {
            (f.sand_at_risk_m2.map(|m2| 1e4 * m2), 0.0)
        }),
    ];
    // A slice and a tank estimate cannot be set against each other.
    let alike = match (&first.flow, &second.flow) {
        (Some(a), Some(b)) => a.estimate == b.estimate,
        _ => false,
    };
    let value = |figures: &LayoutFigures, pick: Pick| match &figures.flow {
        Some(flow) if alike => pick(flow),
        _ => (None, 0.0),
    };
    table
        .into_iter()
        .map(|(name, unit, better, pick)| {
            let ((a, half_a), (b, half_b)) = (value(first, pick), value(second, pick));
            let largest = a.unwrap_or(0.0).abs().max(b.unwrap_or(0.0).abs());
            let uncertainty = half_a.hypot(half_b).max(FLOOR * largest);
            row(name, unit, (a, b), uncertainty, better)
        })
        .collect()
}

fn light_rows(first: &LayoutFigures, second: &LayoutFigures) -> Vec<FigureRow> {
    let share = if first.light_is_full && second.light_is_full {
        0.05
    } else {
        0.10
    };
    let ppfd = |f: &LayoutFigures, i: usize| f.ppfd_umol.map(|quantiles| quantiles[i]);
    let shaded = |f: &LayoutFigures| f.shaded_m2.map(|m2| 1e4 * m2);
    let table = [
        (
            "shaded surface",
            "cm²",
            shaded(first),
            shaded(second),
            Better::Lower,
        ),
        (
            "PPFD, darkest tenth",
            "µmol/m²/s",
            ppfd(first, 0),
            ppfd(second, 0),
            Better::Neither,
        ),
        (
            "PPFD, middle",
            "µmol/m²/s",
            ppfd(first, 1),
            ppfd(second, 1),
            Better::Neither,
        ),
        (
            "PPFD, brightest tenth",
            "µmol/m²/s",
            ppfd(first, 2),
            ppfd(second, 2),
            Better::Neither,
        ),
    ];
    table
        .into_iter()
        .map(|(name, unit, a, b, better)| {
            let largest = a.unwrap_or(0.0).max(b.unwrap_or(0.0));
            row(name, unit, (a, b), share * largest, better)
        })
        .collect()
}

fn row(
    name: &'static str,
    unit: &'static str,
    (first, second): (Option<f64>, Option<f64>),
    uncertainty: f64,
    better: Better,
) -> FigureRow {
    let outcome = match (first, second) {
        (Some(a), Some(b)) if (a - b).abs() <= uncertainty => Outcome::Tie,
        (Some(a), Some(b)) => match better {
            Better::Neither => Outcome::Differs,
            Better::Lower if a < b => Outcome::First,
            Better::Higher if a > b => Outcome::First,
            Better::Lower | Better::Higher => Outcome::Second,
        },
        _ => Outcome::Unknown,
    };
    FigureRow {
        name,
        unit,
        measure: measure_of(unit),
        first,
        second,
        uncertainty,
        better,
        outcome,
    }
}

/// What a unit of the table measures.
fn measure_of(unit: &str) -> Measure {
    match unit {
        "L" => Measure::Volume,
        "cm/s" => Measure::Speed,
        "cm²" => Measure::Area,
        "cm" => Measure::Length,
        "kg" => Measure::Mass,
        "µmol/m²/s" => Measure::Ppfd,
        "1/h" => Measure::PerHour,
        "W" => Measure::Power,
        _ => Measure::Plain,
    }
}

fn fates(first: &AdviceInput<'_>, second: &AdviceInput<'_>) -> Vec<CoralFate> {
    let mut ids: Vec<ItemId> = first
        .layout
        .corals
        .iter()
        .chain(&second.layout.corals)
        .map(|coral| coral.id)
        .collect();
    ids.sort_unstable();
    ids.dedup();
    ids.into_iter().map(|id| fate(first, second, id)).collect()
}

fn fate(first: &AdviceInput<'_>, second: &AdviceInput<'_>, id: ItemId) -> CoralFate {
    let find = |input: &AdviceInput<'_>| {
        let coral = input.layout.corals.iter().find(|coral| coral.id == id)?;
        Some((coral.clone(), fit(input, coral)))
    };
    let (before, after) = (find(first), find(second));
    let name =
        before
            .as_ref()
            .or(after.as_ref())
            .map_or_else(String::new, |(coral, _)| {
                match first.catalog.entry(&coral.entry) {
                    Some(entry) => coral_name(coral, entry),
                    None => coral.entry.clone(),
                }
            });
    let fits = (
        before.as_ref().and_then(|(_, fit)| fit.clone()),
        after.as_ref().and_then(|(_, fit)| fit.clone()),
    );
    let value = |fit: &Fit, what: Aspect| fit.strips.iter().find(|s| s.what == what)?.value;
    let pair = |what: Aspect| match &fits {
        (Some(a), Some(b)) => Some([value(a, what)?, value(b, what)?]),
        _ => None,
    };
    let step = pair(Aspect::Light);
    let entry = after
        .as_ref()
        .and_then(|(coral, _)| second.catalog.entry(&coral.entry));
    let causes = match (&before, &after) {
        (Some(_), None) => vec![FateCause::OnlyFirst],
        (None, Some(_)) => vec![FateCause::OnlySecond],
        _ => changes(fits.0.as_ref(), fits.1.as_ref()),
    };
    CoralFate {
        id,
        name,
        before: fits.0.as_ref().map(|fit| fit.verdict),
        after: fits.1.as_ref().map(|fit| fit.verdict),
        light_umol: step,
        flow_cm_s: pair(Aspect::Flow),
        causes,
        acclimation: entry
            .zip(step)
            .and_then(|(entry, [a, b])| acclimation(entry, a, b)),
    }
}

/// Strips whose verdict differs, as they are in the second.
fn changes(before: Option<&Fit>, after: Option<&Fit>) -> Vec<FateCause> {
    let (Some(before), Some(after)) = (before, after) else {
        return Vec::new();
    };
    let strip = |fit: &Fit, what: Aspect| -> Option<Strip> {
        fit.strips.iter().find(|strip| strip.what == what).cloned()
    };
    after
        .strips
        .iter()
        .filter_map(|now| {
            let then = strip(before, now.what)?;
            // What is not known on one side is no change.
            if now.verdict == Verdict::Unknown || then.verdict == Verdict::Unknown {
                return None;
            }
            let now = Box::new(now.clone());
            match now.verdict.cmp(&then.verdict) {
                std::cmp::Ordering::Less => Some(FateCause::Worse(now)),
                std::cmp::Ordering::Greater => Some(FateCause::Better(now)),
                std::cmp::Ordering::Equal => None,
            }
        })
        .collect()
}

/// Order of several layouts, best first, as indices: by how many figures each
/// wins against each other one, then in the order given.
///
/// **Source** Copeland's rule on the table of figures.
pub fn rank(layouts: &[LayoutFigures]) -> Vec<usize> {
    let wins = |a: usize| -> i64 {
        let against = |b: usize| -> i64 {
            figure_rows(&layouts[a], &layouts[b])
                .iter()
                .map(|row| match row.outcome {
                    Outcome::First => 1,
                    Outcome::Second => -1,
                    _ => 0,
                })
                .sum::<i64>()
                .signum()
        };
        (0..layouts.len()).filter(|&b| b != a).map(against).sum()
    };
    let mut order: Vec<usize> = (0..layouts.len()).collect();
    order.sort_by_key(|&a| std::cmp::Reverse(wins(a)));
    order
}
