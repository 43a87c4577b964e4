//! What is drawn of a tank, as pure data in cm: made once of a study for a
//! view, and laid down by whoever shows it. The window and the plan on paper
//! draw the same list, so that both show the same jets, lamps, corals and
//! panes, and say the same words of them.
//!
//! It knows no screen and no paper: colors are names ([`Ink`]), and what must
//! stay readable at any scale (a pump's ring, the width of a line) is measured
//! in nibs, which the backend makes points or fractions of a millimeter.

use bommie_flow as flow;
use bommie_model::{catalog, geometry, scene, study, units};
use bommie_words as words;

mod area;
mod coral;
mod facts;
mod gear;
mod glass;
mod levels;
mod list;
mod mats;
mod place;
mod relief;
mod rock;
mod rocks;
mod rulers;
mod said;
mod view;
mod volume;

pub use area::{Area, Ring, scatter};
pub use coral::middle_cm;
pub use facts::{Facts, Past};
pub use gear::{ARROW_FROM, RING};
pub use levels::Levels;
pub use list::{Fill, Ink, Layer, Line, List, Mark, Pen, Shape, Show, Source, Subject, Vertex};
pub use mats::{Mat, mat};
pub use place::{Near, Placed, Spot, Taken, Wanted, place, rings};
pub use relief::{Grid, Relief, Skin};
pub use rocks::{DrawnRock, RockWish, Rocks};
pub use rulers::{NUMBERS_APART, ScaleBar, TICKS, Tick, round_cm, scale_bar, ticks};
pub use said::{About, Label};
pub use view::View;
pub use volume::{Detail, Volume, tank_from_rock};

#[cfg(test)]
mod tests;
