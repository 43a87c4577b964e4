//! Places for words: no words overlap others, none leaves its panel, and none
//! lies on a thing that must stay readable unless that is allowed.
//!
//! Places are in any unit, x to the right and y downwards.

use glam::DVec2;

/// An upright box.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// Its least corner.
    pub low: DVec2,
    /// Its greatest corner.
    pub high: DVec2,
}

/// Where words may lie.
#[derive(Clone, Debug, PartialEq)]
pub enum Near {
    /// Around a thing that reaches so far, nearer places first; with each
    /// distance beyond it the directions are tried in the order given, as
    /// (right, down) from -1 to 1.
    Around {
        /// The thing's middle.
        at: DVec2,
        /// Distances from it.
        away: Vec<f64>,
        /// Directions.
        sides: Vec<DVec2>,
    },
    /// Above or below the tip of an arrow, rather ahead of it than beside it,
    /// pushed back into the panel from its sides.
    Tip {
        /// Where the arrow begins.
        from: DVec2,
        /// Its tip.
        tip: DVec2,
        /// Distances from the tip, across and down.
        away: DVec2,
    },
    /// With their middles at these places, the better liked first.
    At(Vec<DVec2>),
}

/// Words that want a place.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// Sizes of what can be said, the longer first: a shorter one is said where
    /// a longer one finds no place.
    pub sizes: Vec<DVec2>,
    /// Where they may lie.
    pub near: Near,
    /// Those of a higher rank are placed first; of equals the earlier one.
    pub rank: i32,
    /// Whether they may cover things, rather than be left out.
    pub may_cover: bool,
}

/// A place that was found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// Where the words lie.
    pub spot: Spot,
    /// Which of their sizes has room.
    pub size: usize,
}

/// What is there already.
#[derive(Clone, Copy, Debug)]
pub struct Taken<'a> {
    /// Where words may lie at all.
    pub panel: Spot,
    /// Words that are there: none is covered.
    pub words: &'a [Spot],
    /// Things that words rather do not cover, and the room that they keep.
    pub things: &'a [Spot],
    /// The room that things keep around them.
    pub apart: f64,
}

impl Spot {
    /// The box between two corners.
    pub fn between(a: DVec2, b: DVec2) -> Self {
        Self {
            low: a.min(b),
            high: a.max(b),
        }
    }

    /// A box of a size about its middle.
    pub fn about(middle: DVec2, size: DVec2) -> Self {
        Self {
            low: middle - size / 2.0,
            high: middle + size / 2.0,
        }
    }

    /// Its width and height.
    pub fn size(&self) -> DVec2 {
        self.high - self.low
    }

    /// Its middle.
    pub fn middle(&self) -> DVec2 {
        self.low.midpoint(self.high)
    }

    /// Whether another one lies within it.
    pub fn holds(&self, other: &Self) -> bool {
        self.low.cmple(other.low).all() && self.high.cmpge(other.high).all()
    }

    /// Whether they share more than an edge.
    pub fn overlaps(&self, other: &Self) -> bool {
        self.low.cmplt(other.high).all() && other.low.cmplt(self.high).all()
    }

    fn grown(&self, by: f64) -> Self {
        Self {
            low: self.low - by,
            high: self.high + by,
        }
    }
}

/// Finds a place for each of some words, in their order; none for those that
/// have no room.
///
/// # Holds on return
/// No two places overlap, none overlaps words that are there, and none leaves
/// the panel. Those that may not cover things cover none.
pub fn place(wanted: &[Wanted], taken: Taken<'_>) -> Vec<Option<Placed>> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by_key(|idx| std::cmp::Reverse(wanted[*idx].rank));
    let mut words = taken.words.to_vec();
    let mut placed = vec![None; wanted.len()];
    for idx in order {
        let found = one(&wanted[idx], &taken, &words);
        words.extend(found.iter().map(|found| found.spot));
        placed[idx] = found;
    }
    placed
}

/// Places for the middles of rings with numbers, in their order: each on its
/// thing, or as near to it as it covers no other ring and no words. One that
/// finds no room at all lies on its thing.
///
/// # Holds on return
/// No two rings overlap, none leaves the panel, unless there was no room.
pub fn rings(at: &[DVec2], radius: f64, taken: Taken<'_>) -> Vec<DVec2> {
    const ROUNDS: u32 = 10;
    const SIDES: u32 = 12;
    let panel = taken.panel;
    let (low, high) = (panel.low + radius, panel.high - radius);
    let within = |at: DVec2| at.max(low).min(high);
    let wanted = |at: &DVec2| {
        let around = (0..ROUNDS).flat_map(|round| {
            (0..SIDES).map(move |side| {
                let turn = std::f64::consts::TAU * f64::from(side) / f64::from(SIDES);
                DVec2::from_angle(turn) * (f64::from(round) * radius)
            })
        });
        Wanted {
            sizes: vec![DVec2::splat(2.0 * radius)],
            near: Near::At(around.map(|off| within(*at + off)).collect()),
            rank: 0,
            may_cover: true,
        }
    };
    let wanted: Vec<Wanted> = at.iter().map(wanted).collect();
    let found = place(&wanted, taken).into_iter().zip(at);
    found
        .map(|(found, at)| found.map_or(*at, |found| found.spot.middle()))
        .collect()
}

fn one(wanted: &Wanted, taken: &Taken<'_>, words: &[Spot]) -> Option<Placed> {
    let covers = if wanted.may_cover {
        &[false, true][..]
    } else {
        &[false][..]
    };
    let tries = covers
        .iter()
        .flat_map(|cover| (0..wanted.sizes.len()).map(move |size| (*cover, size)));
    tries.into_iter().find_map(|(may_cover, size)| {
        let is_clear = |spot: &Spot| {
            let room = spot.grown(taken.apart);
            may_cover || !taken.things.iter().any(|thing| thing.overlaps(&room))
        };
        candidates(&wanted.near, wanted.sizes[size], &taken.panel)
            .into_iter()
            .filter(|spot| taken.panel.holds(spot))
            .filter(|spot| !words.iter().any(|other| other.overlaps(spot)))
            .find(is_clear)
            .map(|spot| Placed { spot, size })
    })
}

/// Places to try, the better liked first.
fn candidates(near: &Near, size: DVec2, panel: &Spot) -> Vec<Spot> {
    match near {
        Near::Around { at, away, sides } => {
            let places = away.iter().flat_map(|away| {
                sides
                    .iter()
                    .map(move |side| Spot::about(*at + *side * (size / 2.0 + *away), size))
            });
            places.collect()
        }
        Near::Tip { from, tip, away } => {
            let ahead = if tip.x >= from.x { 1.0 } else { -1.0 };
            let beside = |up: f64, ahead: f64| {
                let to = DVec2::new(ahead, up) * (size / 2.0 + *away);
                let spot = Spot::about(*tip + to, size);
                let low = (panel.low.x - spot.low.x).max(0.0);
                let high = (spot.high.x - panel.high.x).max(0.0);
                let back = DVec2::new(low - high, 0.0);
                Spot {
                    low: spot.low + back,
                    high: spot.high + back,
                }
            };
            let places = [-1.0, 1.0]
                .into_iter()
                .flat_map(|up| [ahead, -ahead].map(|ahead| beside(up, ahead)));
            places.collect()
        }
        Near::At(middles) => {
            let places = middles.iter().map(|middle| Spot::about(*middle, size));
            places.collect()
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const PANEL: Spot = Spot {
        low: DVec2::new(10.0, 20.0),
        high: DVec2::new(410.0, 220.0),
    };

    fn around(at: DVec2) -> Near {
        let steps = [-1.0, 0.0, 1.0];
        let sides = steps.iter().flat_map(|x| steps.map(|y| DVec2::new(*x, y)));
        Near::Around {
            at,
            away: vec![4.0, 15.0, 40.0],
            sides: sides.filter(|side| *side != DVec2::ZERO).collect(),
        }
    }

    fn point() -> impl Strategy<Value = DVec2> {
        // Some lie outside the panel.
        (0.0..450.0, 0.0..260.0).prop_map(|(x, y)| DVec2::new(x, y))
    }

    fn near() -> impl Strategy<Value = Near> {
        prop_oneof![
            point().prop_map(around),
            (point(), point()).prop_map(|(from, tip)| Near::Tip {
                from,
                tip,
                away: DVec2::new(5.0, 9.0)
            }),
            prop::collection::vec(point(), 1..4).prop_map(Near::At),
        ]
    }

    fn wanted() -> impl Strategy<Value = Wanted> {
        let size = (5.0..160.0, 5.0..30.0).prop_map(|(x, y)| DVec2::new(x, y));
        let sizes = prop::collection::vec(size, 1..3);
        (sizes, near(), -2..3_i32, any::<bool>()).prop_map(|(sizes, near, rank, may_cover)| {
            Wanted {
                sizes,
                near,
                rank,
                may_cover,
            }
        })
    }

    fn spot() -> impl Strategy<Value = Spot> {
        (point(), 4.0..60.0).prop_map(|(at, size)| Spot::about(at, DVec2::splat(size)))
    }

    proptest! {
        #[test]
        fn no_words_overlap_others_or_leave_their_panel(
            all in prop::collection::vec(wanted(), 0..40),
            words in prop::collection::vec(spot(), 0..3),
            things in prop::collection::vec(spot(), 0..8),
        ) {
            let taken = Taken { panel: PANEL, words: &words, things: &things, apart: 2.0 };
            let placed = place(&all, taken);
            prop_assert_eq!(placed.len(), all.len());
            for (idx, (found, asked)) in placed.iter().zip(&all).enumerate() {
                let Some(found) = found else { continue };
                prop_assert!(PANEL.holds(&found.spot), "{idx} leaves the panel: {found:?}");
                let gap = found.spot.size() - asked.sizes[found.size];
                prop_assert!(gap.length() < 1e-9, "{idx} has not its size: {found:?}");
                let others = placed[..idx].iter().flatten().map(|other| &other.spot);
                for other in others.chain(&words) {
                    prop_assert!(!found.spot.overlaps(other), "{idx} lies on {other:?}");
                }
                let covered = things.iter().any(|thing| thing.overlaps(&found.spot));
                prop_assert!(asked.may_cover || !covered, "{idx} covers a thing");
            }
        }

        #[test]
        fn words_that_have_the_panel_for_themselves_are_never_left_out(at in point()) {
            let asked = Wanted {
                sizes: vec![DVec2::new(60.0, 16.0)],
                near: around(at.clamp(PANEL.low, PANEL.high)),
                rank: 0,
                may_cover: false,
            };
            let taken = Taken { panel: PANEL, words: &[], things: &[], apart: 0.0 };
            prop_assert!(place(&[asked], taken)[0].is_some());
        }
    }

    #[test]
    fn rings_lie_on_their_things_or_beside_each_other() {
        const RADIUS: f64 = 9.0;
        let words = [Spot::about(DVec2::new(300.0, 60.0), DVec2::new(60.0, 16.0))];
        let taken = Taken {
            panel: PANEL,
            words: &words,
            things: &[],
            apart: 0.0,
        };
        // Alone; three at one place; under words; on the edge of the panel.
        let at = [
            DVec2::new(60.0, 60.0),
            DVec2::new(200.0, 100.0),
            DVec2::new(200.0, 100.0),
            DVec2::new(203.0, 100.0),
            DVec2::new(300.0, 60.0),
            DVec2::new(410.0, 220.0),
        ];
        let found = rings(&at, RADIUS, taken);
        assert_eq!(found[..2], at[..2], "who comes first lies on its thing");
        for (idx, ring) in found.iter().enumerate() {
            let spot = Spot::about(*ring, DVec2::splat(2.0 * RADIUS));
            assert!(PANEL.holds(&spot), "{idx} leaves the panel: {ring}");
            assert!(!spot.overlaps(&words[0]), "{idx} lies on words");
            for other in &found[..idx] {
                let apart = ring.distance(*other);
                assert!(apart >= 2.0 * RADIUS - 1e-9, "{idx} covers one: {apart}");
            }
            let away = ring.distance(at[idx]);
            assert!(away < 6.0 * RADIUS, "{idx} is far off: {away}");
        }
    }

    fn at(middle: DVec2, rank: i32) -> Wanted {
        Wanted {
            sizes: vec![DVec2::new(80.0, 16.0), DVec2::new(20.0, 16.0)],
            near: Near::At(vec![middle]),
            rank,
            may_cover: false,
        }
    }

    #[test]
    fn who_has_the_higher_rank_has_the_place_and_the_other_says_less_or_nothing() {
        let taken = Taken {
            panel: PANEL,
            words: &[],
            things: &[],
            apart: 0.0,
        };
        let (one, other) = (DVec2::new(200.0, 100.0), DVec2::new(255.0, 100.0));
        let placed = place(&[at(one, 0), at(other, 1)], taken);
        assert_eq!(placed[1].map(|it| it.size), Some(0), "in full");
        // The first would reach from 160 to 240, the second begins at 215.
        assert_eq!(placed[0].map(|it| it.size), Some(1), "in short");
        let placed = place(&[at(one, 0), at(one, 1)], taken);
        assert_eq!(placed[0], None, "no room at all");
    }

    #[test]
    fn words_rather_lie_farther_off_than_on_a_thing() {
        let thing = Spot::about(DVec2::new(200.0, 100.0), DVec2::splat(40.0));
        let taken = Taken {
            panel: PANEL,
            words: &[],
            things: &[thing],
            apart: 2.0,
        };
        let wanted = |away: Vec<f64>, may_cover| Wanted {
            sizes: vec![DVec2::new(30.0, 10.0)],
            near: Near::Around {
                at: DVec2::new(200.0, 100.0),
                away,
                sides: vec![DVec2::X],
            },
            rank: 0,
            may_cover,
        };
        let found = place(&[wanted(vec![4.0, 25.0], false)], taken)[0].expect("beside it");
        assert_eq!(found.spot.low.x, 225.0, "clear of it");
        assert_eq!(
            place(&[wanted(vec![4.0], false)], taken)[0],
            None,
            "left out"
        );
        let over = place(&[wanted(vec![4.0], true)], taken)[0].expect("on it");
        assert_eq!(over.spot.low.x, 204.0, "rather than not at all");
    }
}
