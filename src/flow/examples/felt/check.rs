//! How what is said was borne out, on tanks that the fit has not seen.

use std::fmt::Write as _;

use bommie_flow::Agreement;
use bommie_flow::felt::{CALLED, FeltLaw, INTERVAL, LIKELY, SURE};

use crate::fit::{LIMITS_M_S, half_width, said_share, true_share};
use crate::table::Table;

/// Edges of the bands in which chances are told.
const BANDS: [f64; 8] = [0.0, 0.05, 0.2, CALLED, 0.5, LIKELY, SURE, 1.0001];

/// Blocks of a band, what was said of them in the mean, and how many were slow.
#[derive(Clone, Copy, Default)]
struct Band {
    n: f64,
    said: f64,
    seen: f64,
}

/// What was said of one tank on one size of cells.
struct OfTank {
    name: String,
    cell_cm: f64,
    bands: [[Band; BANDS.len() - 1]; 2],
    /// Share of blocks within their interval.
    covered: f64,
    /// Truly slow blocks that are called slow.
    found: [f64; 2],
    /// Share said, its half width, and the true one.
    totals: [[f64; 3]; 2],
    /// Rank correlation, overlap of the slowest quarter, ln of the ratio of means: as estimated, and as calibrated.
    scores: [[f64; 3]; 2],
}

pub(crate) struct Said {
    tanks: Vec<OfTank>,
}

impl Said {
    /// Of the check tanks whose names begin with any of `begin`.
    pub(crate) fn new(tables: &[Table], law: &FeltLaw, begin: &[&str]) -> Self {
        let check = tables.iter().filter(|table| {
            !table.is_fit && begin.iter().any(|begin| table.tank.starts_with(begin))
        });
        Self {
            tanks: check.map(|table| of_tank(table, law)).collect(),
        }
    }

    fn cells(&self) -> Vec<f64> {
        let mut cells: Vec<f64> = self.tanks.iter().map(|tank| tank.cell_cm).collect();
        cells.sort_by(f64::total_cmp);
        cells.dedup();
        cells
    }

    pub(crate) fn print(&self) {
        for cell_cm in self.cells() {
            let tanks: Vec<&OfTank> = (self.tanks.iter())
                .filter(|tank| tank.cell_cm == cell_cm)
                .collect();
            println!("\ncells of {cell_cm} cm, {} check tanks", tanks.len());
            print_tanks(&tanks);
            for (at, limit) in LIMITS_M_S.iter().enumerate() {
                print_bands(&tanks, at, *limit);
            }
        }
    }

    /// Said against seen, all cells together: a mark a band, its size by how much water is in it.
    pub(crate) fn diagram(&self) -> String {
        let mut svg = String::from(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 480 440\" font-family=\"sans-serif\" font-size=\"13\">\n\
             <rect width=\"480\" height=\"440\" fill=\"#ffffff\"/>\n<path d=\"M60 380H420M60 380V20M60 380L420 20\" stroke=\"#888888\" fill=\"none\"/>\n",
        );
        let mut put = |x: f64, y: f64, text: &str| {
            writeln!(
                svg,
                "<text x=\"{x}\" y=\"{y}\" text-anchor=\"middle\">{text}</text>"
            )
            .expect("a string takes all");
        };
        for tenth in [0.0, 0.2, 0.4, 0.6, 0.8, 1.0] {
            put(60.0 + 360.0 * tenth, 398.0, &format!("{tenth}"));
            put(42.0, 384.0 - 360.0 * tenth, &format!("{tenth}"));
        }
        put(240.0, 425.0, "chance said, check tanks, cells of all sizes");
        put(
            150.0,
            14.0,
            "share seen: circles below 2 cm/s, squares below 5 cm/s",
        );
        let tanks: Vec<&OfTank> = self.tanks.iter().collect();
        for at in 0..2 {
            for band in pooled(&tanks, at).iter().filter(|band| band.n > 0.0) {
                let (x, y) = (
                    60.0 + 360.0 * band.said / band.n,
                    380.0 - 360.0 * band.seen / band.n,
                );
                let r = 2.0 + band.n.log10();
                let mark = if at == 0 {
                    format!("<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{r:.1}\" fill=\"#00507a\"/>")
                } else {
                    let (left, top, edge) = (x - r, y - r, 2.0 * r);
                    format!(
                        "<rect x=\"{left:.1}\" y=\"{top:.1}\" width=\"{edge:.1}\" height=\"{edge:.1}\" fill=\"none\" stroke=\"#b04a00\" stroke-width=\"2\"/>"
                    )
                };
                writeln!(svg, "{mark}").expect("a string takes all");
            }
        }
        svg.push_str("</svg>\n");
        svg
    }
}

fn pooled(tanks: &[&OfTank], at: usize) -> [Band; BANDS.len() - 1] {
    let mut sum = [Band::default(); BANDS.len() - 1];
    for tank in tanks {
        for (sum, band) in sum.iter_mut().zip(&tank.bands[at]) {
            sum.n += band.n;
            sum.said += band.said;
            sum.seen += band.seen;
        }
    }
    sum
}

fn print_tanks(tanks: &[&OfTank]) {
    println!(
        "| tank | rank, overlap, ln ratio as estimated | calibrated | within 80 % | < 2 cm/s said ± true | < 5 cm/s said ± true | found |\n|---|---|---|---|---|---|---|"
    );
    for tank in tanks {
        let [a, b] = tank.scores;
        let total = |at: usize| {
            let [said, half, truth] = tank.totals[at];
            let out = if (said - truth).abs() > half {
                " !"
            } else {
                ""
            };
            format!("{said:.3} ± {half:.3} {truth:.3}{out}")
        };
        println!(
            "| {} | {:.3}, {:.3}, {:+.3} | {:.3}, {:.3}, {:+.3} | {:.2} | {} | {} | {:.2}, {:.2} |",
            tank.name,
            a[0],
            a[1],
            a[2],
            b[0],
            b[1],
            b[2],
            tank.covered,
            total(0),
            total(1),
            tank.found[0],
            tank.found[1]
        );
    }
    let mean = |of: &dyn Fn(&OfTank) -> f64| {
        let values: Vec<f64> = tanks
            .iter()
            .map(|tank| of(tank))
            .filter(|x| x.is_finite())
            .collect();
        values.iter().sum::<f64>() / values.len() as f64
    };
    let scores = [0, 1].map(|k| {
        let [rank, overlap] = [0, 1].map(|s| mean(&|tank| tank.scores[k][s]));
        let off = mean(&|tank| tank.scores[k][2].abs());
        format!("{rank:.3}, {overlap:.3}, abs {off:.3}")
    });
    let within = [0, 1].map(|at| {
        mean(&|tank| {
            f64::from((tank.totals[at][0] - tank.totals[at][2]).abs() <= tank.totals[at][1])
        })
    });
    println!(
        "| **mean** | {} | {} | {:.3} | {:.2} of tanks within, {:.3} said, {:.3} true | {:.2} of tanks within | |",
        scores[0],
        scores[1],
        mean(&|tank| tank.covered),
        within[0],
        mean(&|tank| tank.totals[0][0]),
        mean(&|tank| tank.totals[0][2]),
        within[1]
    );
}

fn print_bands(tanks: &[&OfTank], at: usize, limit_m_s: f64) {
    let bands = pooled(tanks, at);
    print!(
        "slower than {} cm/s, said → seen (blocks):",
        limit_m_s * 100.0
    );
    for band in bands.iter().rev() {
        print!(
            " {:.2} → {:.2} ({})",
            band.said / band.n,
            band.seen / band.n,
            band.n
        );
    }
    let share = |from: f64| {
        let of = bands.iter().zip(BANDS).filter(|(_, low)| *low >= from);
        let [n, seen] = of.fold([0.0; 2], |[n, seen], (band, _)| {
            [n + band.n, seen + band.seen]
        });
        seen / n
    };
    let all: f64 = bands.iter().map(|band| band.seen).sum();
    let found = |from: f64| {
        let of = bands.iter().zip(BANDS).filter(|(_, low)| *low >= from);
        of.map(|(band, _)| band.seen).sum::<f64>() / all
    };
    let likely = bands[6 - 1];
    println!(
        "\n  sure right {:.2}, likely right {:.2}, called (from {CALLED}) right {:.2}, found {:.2}; from one half right {:.2}, found {:.2}",
        share(SURE),
        likely.seen / likely.n,
        share(CALLED),
        found(CALLED),
        share(0.5),
        found(0.5)
    );
}

fn of_tank(table: &Table, law: &FeltLaw) -> OfTank {
    let cell_m = table.cell_cm / 100.0;
    let mut bands = [[Band::default(); BANDS.len() - 1]; 2];
    let (mut covered, mut found, mut slow) = (0.0, [0.0; 2], [0.0; 2]);
    let (mut before, mut after, mut truth) = (Vec::new(), Vec::new(), Vec::new());
    for row in &table.rows {
        let [middle, scale] = law.at(&row.features, cell_m);
        let ln_true = row.true_m_s.max(0.001).ln();
        let [low, high] = INTERVAL.map(|share| middle + scale * law.distance(share));
        covered += f64::from(ln_true >= low && ln_true <= high);
        for (at, limit) in LIMITS_M_S.into_iter().enumerate() {
            let chance = law.share_below((limit.ln() - middle) / scale);
            let is_slow = f64::from(row.true_m_s < limit);
            let k = BANDS
                .partition_point(|edge| *edge <= chance)
                .clamp(1, BANDS.len() - 1)
                - 1;
            let band = &mut bands[at][k];
            band.n += 1.0;
            band.said += chance;
            band.seen += is_slow;
            slow[at] += is_slow;
            found[at] += is_slow * f64::from(chance >= CALLED);
        }
        before.push(f64::from(row.features[1]).exp());
        after.push((middle + scale * law.distance(0.5)).exp());
        truth.push(row.true_m_s);
    }
    let by = law.together(cell_m);
    OfTank {
        name: table.tank.clone(),
        cell_cm: table.cell_cm,
        bands,
        covered: covered / table.rows.len() as f64,
        found: [0, 1].map(|at| found[at] / slow[at]),
        totals: LIMITS_M_S.map(|limit| {
            let half = half_width(table, law, limit, by).max(law.least);
            [
                said_share(table, law, limit, 0.0),
                half,
                true_share(table, limit),
            ]
        }),
        scores: [score(&before, &truth), score(&after, &truth)],
    }
}

/// Rank correlation, overlap of the slowest quarter, logarithm of the ratio of means.
fn score(ours: &[f64], theirs: &[f64]) -> [f64; 3] {
    let of = Agreement::of(ours, theirs).expect("places in moving water");
    [of.rank, of.slowest_overlap, of.ln_ratio]
}
