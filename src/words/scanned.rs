//! What a scan was, what was guessed of it, and what it became, in words.

use crate::scan::Report;
use crate::units::{Measure, UnitSystem};

/// What was taken for granted: unit, way up and foot.
pub fn scan_guesses(report: &Report) -> Vec<String> {
    let guess = |is_guess: bool| if is_guess { "guessed" } else { "as said" };
    let unit = format!(
        "1 unit is 1 {} ({})",
        report.unit.symbol(),
        guess(report.unit_is_guessed)
    );
    let up = format!(
        "{} is up ({})",
        report.up.name(),
        guess(report.up_is_guessed)
    );
    let foot = if report.foot_is_flat {
        "stands on its flat foot"
    } else {
        "no flat foot found: stands on its lowest point"
    };
    vec![unit, up, foot.to_owned()]
}

/// What was read and what it became: triangles, size, volume and its error,
/// whether it is closed, and how it was simplified.
pub fn scan_figures(report: &Report, units: UnitSystem) -> Vec<String> {
    let length = |cm: f64| Measure::Length.rounded(cm, 1, units);
    let size = report.size_cm;
    let mut said = vec![
        format!(
            "{} triangles read ({})",
            report.triangles,
            report.format.name()
        ),
        format!(
            "{} × {} × {} (length, depth, height)",
            length(size.x),
            length(size.y),
            Measure::Length.rounded_text(size.z, 1, units)
        ),
        format!(
            "volume {}, give or take {:.1} %",
            Measure::Volume.text(report.volume_l, units),
            (report.volume_error * 100.0).max(0.1)
        ),
        if report.open_edges > 0.0 {
            format!(
                "not closed ({:.1} % of its edges are open): holes were closed",
                report.open_edges * 100.0
            )
        } else {
            "a closed surface".to_owned()
        },
        format!(
            "kept as distances every {} ({} of them); what is thinner is lost",
            Measure::Length.rounded_text(report.step_cm, 2, units),
            report.nodes
        ),
    ];
    if report.pieces > 1 {
        said.push(format!(
            "{} pieces that do not touch, kept as one rock",
            report.pieces
        ));
    }
    if report.crumbs > 0 {
        said.push(format!("{} loose crumbs left out", report.crumbs));
    }
    said
}
