//! Outlets of pumps and returns, and how a slice sees them.

use glam::DVec3;

use crate::flow::Cut;
use crate::scene::{Layout, Programme, PumpKind, Tank};
use crate::units::{M_PER_CM, flow_m3_s_from_lph};

/// A layer of this thickness a metre on carries what a round jet carries in
/// its middle plane: where plane and round jet have the same centerline speed.
///
/// **Source** derived: `2.45·√(K/(h·x)) = 5.8·U₀d/x` gives `h = 0.14 x`.
const LAYER_PER_M: f64 = 0.14;

/// Diameters after which a round jet decays as `1/x`.
const ROUND_FROM_DIAMETERS: f64 = 6.0;

/// Growth of a round jet's half width.
///
/// **Source** Hussein, Capp & George 1994. PUBLISHED-secondhand.
const HALF_WIDTH_PER_M: f64 = 0.094;

/// Shape of an opening.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Opening {
    Round { diameter_m: f64 },
    Slot { length_m: f64, height_m: f64 },
}

/// Where water is pushed into the tank.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Outlet {
    pub(crate) at_m: DVec3,
    pub(crate) aim: DVec3,
    pub(crate) flow_m3_s: f64,
    opening: Opening,
    pub(crate) programme: Programme,
    pub(crate) is_return: bool,
}

/// An outlet as one estimate sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct SeenOutlet {
    pub(crate) at_m: DVec3,
    pub(crate) aim: DVec3,
    /// For a slice, of one layer of cells.
    pub(crate) kinematic_thrust_m4_s2: f64,
    opening: Opening,
    cut: Cut,
}

fn aim(turn_deg: f64, tilt_deg: f64) -> DVec3 {
    let (turn, tilt) = (turn_deg.to_radians(), tilt_deg.to_radians());
    DVec3::new(turn.cos() * tilt.cos(), turn.sin() * tilt.cos(), tilt.sin())
}

/// All outlets of a layout that push.
pub(crate) fn outlets(tank: &Tank, layout: &Layout) -> Vec<Outlet> {
    let pumps = layout.pumps.iter().map(|pump| Outlet {
        at_m: pump.at_cm * M_PER_CM,
        aim: aim(pump.turn_deg, pump.tilt_deg),
        flow_m3_s: flow_m3_s_from_lph(pump.flow_lph * pump.throttle),
        opening: match pump.kind {
            PumpKind::Propeller | PumpKind::Nozzle => Opening::Round {
                diameter_m: pump.outlet_cm * M_PER_CM,
            },
            PumpKind::CrossFlow { length_cm } => Opening::Slot {
                length_m: length_cm * M_PER_CM,
                height_m: pump.outlet_cm * M_PER_CM,
            },
        },
        programme: pump.programme,
        is_return: false,
    });
    let returns = tank.returns.iter().map(|back| Outlet {
        at_m: back.at_cm * M_PER_CM,
        aim: aim(back.turn_deg, back.tilt_deg),
        flow_m3_s: flow_m3_s_from_lph(back.flow_lph),
        opening: Opening::Round {
            diameter_m: back.outlet_cm * M_PER_CM,
        },
        programme: Programme::Steady,
        is_return: true,
    });
    pumps
        .chain(returns)
        .filter(|outlet| outlet.flow_m3_s > 0.0)
        .collect()
}

impl Opening {
    fn area_m2(self) -> f64 {
        match self {
            Self::Round { diameter_m } => std::f64::consts::FRAC_PI_4 * diameter_m * diameter_m,
            Self::Slot { length_m, height_m } => length_m * height_m,
        }
    }

    /// Diameter of a round opening of the same area.
    fn diameter_m(self) -> f64 {
        (self.area_m2() / std::f64::consts::FRAC_PI_4).sqrt()
    }
}

impl Outlet {
    /// Thrust over density, `Q·U₀`.
    pub(crate) fn thrust_m4_s2(&self) -> f64 {
        self.flow_m3_s * self.flow_m3_s / self.opening.area_m2()
    }

    /// Speed that cells of this size see at the outlet.
    pub(crate) fn cell_speed_m_s(&self, cell_m: f64) -> f64 {
        (self.thrust_m4_s2() / self.opening.area_m2().max(cell_m * cell_m)).sqrt()
    }

    /// The outlet in this estimate; `None` if it is not felt there.
    pub(crate) fn on_cut(&self, cut: Cut, cell_m: f64) -> Option<SeenOutlet> {
        let (axis, level_m) = match cut {
            Cut::Plan { height_m } => (2, height_m),
            Cut::Side { depth_m } => (1, depth_m),
            Cut::Tank => {
                return Some(SeenOutlet {
                    at_m: self.at_m,
                    aim: self.aim,
                    kinematic_thrust_m4_s2: self.thrust_m4_s2(),
                    opening: self.opening,
                    cut,
                });
            }
        };
        let mut flat = self.aim;
        flat[axis] = 0.0;
        let in_plane = flat.length();
        let diameter_m = self.opening.diameter_m();
        // How much of the jet lies in the plane, judged at twelve diameters.
        let off_m = self.at_m[axis] - level_m;
        let half_width_m = HALF_WIDTH_PER_M * 2.0 * ROUND_FROM_DIAMETERS * diameter_m;
        let share =
            in_plane * (-2.0 * std::f64::consts::LN_2 * (off_m / half_width_m).powi(2)).exp();
        if share < 0.02 {
            return None;
        }
        let mut at_m = self.at_m;
        at_m[axis] = level_m;
        let layer_m = LAYER_PER_M * ROUND_FROM_DIAMETERS * diameter_m;
        Some(SeenOutlet {
            at_m,
            aim: flat / in_plane,
            kinematic_thrust_m4_s2: self.thrust_m4_s2() * share * cell_m / layer_m,
            opening: self.opening,
            cut,
        })
    }
}

impl SeenOutlet {
    /// Way from which the jet of a slice is made to decay like a round one.
    pub(crate) fn round_from_m(&self) -> f64 {
        ROUND_FROM_DIAMETERS * self.opening.diameter_m()
    }

    /// Two directions across the jet; the first lies level.
    pub(crate) fn across(&self) -> [DVec3; 2] {
        let level = self.aim.cross(DVec3::Z);
        let level = if level.length() > 1e-6 {
            level.normalize()
        } else {
            DVec3::Y
        };
        [level, self.aim.cross(level)]
    }

    /// Points over a short cylinder at the outlet, one cell long.
    pub(crate) fn points(&self, cell_m: f64) -> Vec<DVec3> {
        const ALONG: i32 = 5;
        const ACROSS: i32 = 17;
        let [level, up] = self.across();
        let mut points = Vec::new();
        let middle = |i: i32, n: i32| (f64::from(i) + 0.5) / f64::from(n) - 0.5;
        for l in 0..ALONG {
            for a in 0..ACROSS {
                for b in 0..ACROSS {
                    let (a, b) = (middle(a, ACROSS), middle(b, ACROSS));
                    let (wide, high) = match self.opening {
                        Opening::Round { .. } if a * a + b * b > 0.25 => continue,
                        Opening::Round { diameter_m } => (a * diameter_m, b * diameter_m),
                        Opening::Slot { length_m, height_m } => (a * length_m, b * height_m),
                    };
                    let (wide, high) = match self.cut {
                        Cut::Plan { .. } => (wide, 0.0),
                        Cut::Side { .. } => (0.0, high),
                        Cut::Tank => (wide, high),
                    };
                    let along = middle(l, ALONG) * cell_m;
                    points.push(self.at_m + self.aim * along + level * wide + up * high);
                }
            }
        }
        points
    }
}
