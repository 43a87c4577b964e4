//! The marks of rocks: outline, lines of height, and what the cut goes through.

use std::sync::Arc;

use crate::list::{Fill, Ink, Layer, Mark, Pen, Shape, Show, Subject};
use crate::rocks::Rocks;
use crate::scene::Rock;
use crate::study::Study;
use crate::view::View;

/// The marks of a study's rocks in a view, farther ones first.
pub(crate) fn marks(view: View, study: &Study, rocks: &Rocks) -> Vec<Mark> {
    let mut order: Vec<&Rock> = study.layout().rocks.iter().collect();
    order.sort_by(|a, b| view.nearness(a.at_cm).total_cmp(&view.nearness(b.at_cm)));
    let mut marks = Vec::with_capacity(7 * order.len());
    for rock in order {
        draw(&mut marks, (view, rock), rocks);
    }
    marks
}

fn draw(marks: &mut Vec<Mark>, (view, rock): (View, &Rock), rocks: &Rocks) {
    /// Radius of a grain, in nibs.
    const GRAIN: f64 = 0.6;
    let pieces = rocks.rock(rock.id).and_then(|drawn| drawn.pieces(view));
    let Some(pieces) = pieces else { return };
    let at_cm = view.flat(rock.at_cm);
    let mut add = |of, shape, fill, pen| {
        marks.push(Mark {
            of,
            layer: Layer::Rocks,
            show: Show::Always,
            shape,
            fill,
            pen,
        });
    };
    let area = |of: &Arc<_>| Shape::Area {
        at_cm,
        area: Arc::clone(of),
    };
    let rock_fill = Some(Fill::full(Ink::Rock));
    let (whole, cut) = (Subject::Rock(rock.id), Subject::Section(rock.id));
    add(whole, area(pieces.outline), rock_fill, None);
    if let Some(section) = pieces.cut {
        add(cut, area(section), rock_fill, None);
        let tone = Fill {
            ink: Ink::Line,
            strength: 0.13,
        };
        add(cut, area(section), Some(tone), None);
        if let Some(grains) = pieces.grains {
            let dots = Shape::Dots {
                at_cm,
                dots: Arc::clone(grains),
                radius: GRAIN,
            };
            let grain = Fill {
                ink: Ink::Line,
                strength: 0.5,
            };
            add(cut, dots, Some(grain), None);
        }
    }
    if let Some(heights) = pieces.heights {
        let lines = Shape::Lines {
            at_cm,
            lines: Arc::clone(heights),
        };
        let fine = Pen::new(0.7, Ink::Line).faint(0.42).steady();
        add(whole, lines, None, Some(fine));
    }
    let pen = Some(Pen::new(1.5, Ink::Line));
    add(whole, area(pieces.outline), None, pen);
    if let Some(section) = pieces.cut {
        let pen = Pen::new(2.0, Ink::Line).steady();
        add(cut, area(section), None, Some(pen));
    }
}
