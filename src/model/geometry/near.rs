//! Places sorted into cubes, to find those near another one.

use std::collections::BTreeMap;

use glam::DVec3;

/// Numbered places by the cube that they lie in.
#[derive(Clone, Debug)]
pub struct Near {
    edge_m: f64,
    cubes: BTreeMap<[i32; 3], Vec<usize>>,
}

impl Near {
    /// No places yet; cubes of this edge, in m.
    pub fn new(edge_m: f64) -> Self {
        Self {
            edge_m,
            cubes: BTreeMap::new(),
        }
    }

    fn cube(&self, at_m: DVec3) -> [i32; 3] {
        (at_m / self.edge_m).floor().as_ivec3().to_array()
    }

    /// Adds a place with its number.
    pub fn add(&mut self, at_m: DVec3, idx: usize) {
        self.cubes.entry(self.cube(at_m)).or_default().push(idx);
    }

    /// Numbers of all places within an edge of `at_m`, and of some beyond.
    pub fn around(&self, at_m: DVec3) -> impl Iterator<Item = usize> + '_ {
        let [x, y, z] = self.cube(at_m);
        let beside = |middle: i32| middle - 1..=middle + 1;
        let cubes = beside(z)
            .flat_map(move |z| beside(y).flat_map(move |y| beside(x).map(move |x| [x, y, z])));
        let found = cubes.filter_map(|cube| self.cubes.get(&cube));
        found.flatten().copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn none_within_an_edge_is_missed() {
        let mut near = Near::new(0.02);
        let places: Vec<DVec3> = (0..500)
            .map(|k| {
                let t = f64::from(k);
                DVec3::new((t * 0.37).sin(), (t * 0.71).cos(), (t * 0.13).sin()) * 0.05
            })
            .collect();
        for (idx, at_m) in places.iter().enumerate() {
            near.add(*at_m, idx);
        }
        for at_m in &places {
            let found: Vec<usize> = near.around(*at_m).collect();
            let within = |idx: &usize| places[*idx].distance(*at_m) <= 0.02;
            let missed = (0..places.len())
                .filter(within)
                .any(|idx| !found.contains(&idx));
            assert!(!missed, "around {at_m}");
            assert!(found.len() < places.len(), "not all of them");
        }
    }
}
