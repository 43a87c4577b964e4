//! What the water gives to its walls, for balances of momentum.

use crate::kernel::Kernel;
use crate::lattice::{SLIDES, direction};

impl Kernel {
    /// Momentum that the water gives in a step to all walls along x, y and z,
    /// with pressure less that of water at rest: what bounces off them, less
    /// what slides along flat faces keeps, and the drag of those faces. A
    /// free-slip lid takes none along x and y; along z it is left out.
    pub fn walls_reaction(&self) -> [f64; 3] {
        let mut reaction = self.all_walls_force();
        let domain = self.domain();
        if domain.wall_drag.is_empty() {
            return reaction;
        }
        for cell in (0..domain.n_cells()).filter(|&cell| !domain.solid[cell]) {
            let f = self.arriving(cell);
            for index in domain.slides_at(cell) {
                // The pair comes back from the wall and changes places.
                let [a, b] = SLIDES[index].pair;
                let (ca, cb) = (direction(a), direction(b));
                for x in 0..3 {
                    let kept = f64::from(ca[x] - cb[x]) * (f[b] - f[a]);
                    reaction[x] -= kept;
                }
            }
            let drag = domain.wall_drag[cell];
            if drag.linear > 0.0 || drag.quadratic > 0.0 {
                let u = self.macroscopic(cell).velocity;
                let speed = u.iter().map(|x| x * x).sum::<f64>().sqrt();
                let share = f64::from(drag.linear) + f64::from(drag.quadratic) * speed;
                for x in 0..3 {
                    reaction[x] += share * u[x];
                }
            }
        }
        reaction
    }
}
