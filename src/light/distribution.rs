//! A lamp's measured distribution: intensity by direction, type C.

/// Intensity over directions, in candela (only its shape and its flux matter).
///
/// Vertical angles run from 0 (along the lamp's axis) up to 180 degrees,
/// horizontal ones from 0 along the lamp's length, counter-clockwise from
/// above the page of the photometry, that is about the axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Distribution {
    vertical_deg: Vec<f64>,
    horizontal_deg: Vec<f64>,
    /// One row of all vertical angles for each horizontal one.
    candela: Vec<f64>,
    symmetry: Symmetry,
    flux: f64,
    about: About,
}

/// What the file says beside the intensities.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct About {
    /// Lamps times lumens a lamp; `None` for an absolute measurement.
    pub rated_lm: Option<f64>,
    /// Electrical power, in W; zero if not stated.
    pub input_w: f64,
    /// Opening along the lamp's length, in m.
    pub length_m: f64,
    /// Opening across it, in m.
    pub width_m: f64,
    /// Whether the opening is round, `length_m` across.
    pub round: bool,
    /// Keywords and their texts, in the file's order.
    pub keywords: Vec<(String, String)>,
}

/// Which part of the circle the horizontal angles cover.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Symmetry {
    /// One plane stands for all.
    Axial,
    /// 0 to 90 degrees, mirrored twice.
    Quadrant,
    /// 0 to 180 degrees, mirrored about the 0–180 plane.
    Bilateral,
    /// 90 to 270 degrees, mirrored about the 90–270 plane.
    BilateralAcross,
    /// All round.
    Full,
}

impl Distribution {
    /// A distribution from ascending angles and one row of intensities for
    /// each horizontal angle.
    pub(super) fn new(
        vertical_deg: Vec<f64>,
        horizontal_deg: Vec<f64>,
        candela: Vec<f64>,
        symmetry: Symmetry,
        about: About,
    ) -> Self {
        let mut new = Self {
            vertical_deg,
            horizontal_deg,
            candela,
            symmetry,
            flux: 0.0,
            about,
        };
        new.flux = new.integrate();
        new
    }

    /// Luminous flux over all directions, in lm, by the interpolation of
    /// [`Self::intensity_cd`]: exact over the vertical angle, trapezoid over
    /// the horizontal one (which is exact for it, being linear).
    pub fn flux_lm(&self) -> f64 {
        self.flux
    }

    /// What the file says beside the intensities.
    pub fn about(&self) -> &About {
        &self.about
    }

    /// How the planes repeat round the axis.
    pub fn symmetry(&self) -> Symmetry {
        self.symmetry
    }

    /// Intensity in a direction, in cd, linear between the angles of the file
    /// and zero outside its vertical range.
    pub fn intensity_cd(&self, vertical_deg: f64, horizontal_deg: f64) -> f64 {
        let Some((low, share)) = bracket(&self.vertical_deg, vertical_deg) else {
            return 0.0;
        };
        let plane = |i: usize| {
            let row = &self.candela[i * self.vertical_deg.len()..];
            row[low] + (row[low + 1] - row[low]) * share
        };
        if self.symmetry == Symmetry::Axial {
            return plane(0);
        }
        let folded = self.fold(horizontal_deg);
        match bracket(&self.horizontal_deg, folded) {
            Some((low, share)) => plane(low) + (plane(low + 1) - plane(low)) * share,
            None => plane(0),
        }
    }

    fn fold(&self, horizontal_deg: f64) -> f64 {
        let turn = horizontal_deg.rem_euclid(360.0);
        match self.symmetry {
            Symmetry::Axial => 0.0,
            Symmetry::Full => turn,
            Symmetry::Bilateral => turn.min(360.0 - turn),
            Symmetry::BilateralAcross => {
                if turn < 90.0 {
                    180.0 - turn
                } else if turn > 270.0 {
                    540.0 - turn
                } else {
                    turn
                }
            }
            Symmetry::Quadrant => {
                let half = turn.min(360.0 - turn);
                half.min(180.0 - half)
            }
        }
    }

    fn integrate(&self) -> f64 {
        let plane = |i: usize| -> f64 {
            let n = self.vertical_deg.len();
            let row = &self.candela[i * n..(i + 1) * n];
            let ends = row.windows(2).zip(self.vertical_deg.windows(2));
            ends.map(|(cd, deg)| band(cd[0], cd[1], deg[0].to_radians(), deg[1].to_radians()))
                .sum()
        };
        if self.symmetry == Symmetry::Axial {
            return std::f64::consts::TAU * plane(0);
        }
        let stored: f64 = (1..self.horizontal_deg.len())
            .map(|i| {
                let width = (self.horizontal_deg[i] - self.horizontal_deg[i - 1]).to_radians();
                0.5 * width * (plane(i - 1) + plane(i))
            })
            .sum();
        let repeats = match self.symmetry {
            Symmetry::Quadrant => 4.0,
            Symmetry::Bilateral | Symmetry::BilateralAcross => 2.0,
            Symmetry::Axial | Symmetry::Full => 1.0,
        };
        repeats * stored
    }
}

/// `∫ I sin θ dθ` over one band with `I` linear in `θ`.
fn band(from_cd: f64, to_cd: f64, a: f64, b: f64) -> f64 {
    let slope = (to_cd - from_cd) / (b - a);
    from_cd * a.cos() - to_cd * b.cos() + slope * (b.sin() - a.sin())
}

/// The interval of ascending `angles` that holds `angle`, and where in it.
fn bracket(angles: &[f64], angle: f64) -> Option<(usize, f64)> {
    const SLACK_DEG: f64 = 1e-9;
    let (first, last) = (*angles.first()?, *angles.last()?);
    if angles.len() < 2 || angle < first - SLACK_DEG || angle > last + SLACK_DEG {
        return None;
    }
    let low = angles
        .partition_point(|a| *a <= angle)
        .clamp(1, angles.len() - 1)
        - 1;
    let share = (angle - angles[low]) / (angles[low + 1] - angles[low]);
    Some((low, share.clamp(0.0, 1.0)))
}
