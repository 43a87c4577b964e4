//! Outlets of pumps and returns.

use glam::DVec3;

use crate::scene::{ItemId, Layout, Programme, PumpKind, Tank, aim};
use crate::units::{M_PER_CM, flow_m3_s_from_lph};

/// Growth of a round jet's half width.
///
/// **Source** Hussein, Capp & George 1994. PUBLISHED-secondhand.
const HALF_WIDTH_PER_M: f64 = 0.094;

/// Length of the cylinder in which an outlet pushes, in m; a cell if that is
/// more. Own choice, as in the resolved tanks that the estimate is held against.
const LENGTH_M: f64 = 0.03;

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
    /// The pump; none for a return.
    pub(crate) pump: Option<ItemId>,
    pub(crate) is_return: bool,
}

/// Where a place lies in a free jet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct PlaceInJet {
    /// Way along the aim, in m.
    pub(crate) way_m: f64,
    /// Distance from the axis in half widths.
    pub(crate) half_widths: f64,
    /// The half width there, the smaller one of a slot's, in m.
    pub(crate) half_width_m: f64,
}

/// Two directions across an aim; the first lies level.
pub(crate) fn across(aim: DVec3) -> [DVec3; 2] {
    let level = aim.cross(DVec3::Z);
    let level = if level.length() > 1e-6 {
        level.normalize()
    } else {
        DVec3::Y
    };
    [level, aim.cross(level)]
}

/// All outlets of a layout that push.
pub(crate) fn outlets(tank: &Tank, layout: &Layout) -> Vec<Outlet> {
    let pumps = layout.pumps.iter().map(|pump| Outlet {
        at_m: pump.at_cm * M_PER_CM,
        aim: aim(pump.turn_deg, pump.tilt_deg),
        flow_m3_s: flow_m3_s_from_lph(pump.real_flow_lph()),
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
        pump: Some(pump.id),
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
        pump: None,
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
    /// A round steady outlet of 3000 L/h.
    #[cfg(test)]
    pub(crate) fn round(at_m: DVec3, aim: DVec3, diameter_m: f64) -> Self {
        Self {
            at_m,
            aim,
            flow_m3_s: flow_m3_s_from_lph(3000.0),
            opening: Opening::Round { diameter_m },
            programme: Programme::Steady,
            pump: None,
            is_return: false,
        }
    }

    /// Thrust over density, `Q·U₀`.
    pub(crate) fn thrust_m4_s2(&self) -> f64 {
        self.flow_m3_s * self.flow_m3_s / self.opening.area_m2()
    }

    /// Speed that cells of this size see at the outlet.
    pub(crate) fn cell_speed_m_s(&self, cell_m: f64) -> f64 {
        (self.thrust_m4_s2() / self.opening.area_m2().max(cell_m * cell_m)).sqrt()
    }

    /// Speed at the outlet, in m/s.
    pub(crate) fn speed_m_s(&self) -> f64 {
        self.flow_m3_s / self.opening.area_m2()
    }

    /// Diameter of a round outlet of the same area, in m.
    pub(crate) fn diameter_m(&self) -> f64 {
        self.opening.diameter_m()
    }

    /// Width and height of the outlet, in m.
    pub(crate) fn span_m(&self) -> [f64; 2] {
        match self.opening {
            Opening::Round { diameter_m } => [diameter_m; 2],
            Opening::Slot { length_m, height_m } => [length_m, height_m],
        }
    }

    /// Two directions across the jet.
    pub(crate) fn across(&self) -> [DVec3; 2] {
        across(self.aim)
    }

    /// Where a place lies in the free jet of this outlet; `None` behind it. A
    /// jet narrower than a cell still fills one.
    pub(crate) fn place_in_jet(&self, at_m: DVec3, cell_m: f64) -> Option<PlaceInJet> {
        let from = at_m - self.at_m;
        let way_m = from.dot(self.aim);
        if way_m < 0.0 {
            return None;
        }
        let [level, up] = self.across();
        let half = |span_m: f64| {
            let grown_m = HALF_WIDTH_PER_M * way_m;
            (0.5 * span_m).max(grown_m).max(0.5 * cell_m)
        };
        let [wide_m, high_m] = self.span_m().map(half);
        Some(PlaceInJet {
            way_m,
            half_widths: (from.dot(level) / wide_m).hypot(from.dot(up) / high_m),
            half_width_m: wide_m.min(high_m),
        })
    }

    /// Points over a short cylinder round the outlet.
    pub(crate) fn points(&self, cell_m: f64) -> Vec<DVec3> {
        const ALONG: i32 = 9;
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
                    let along = middle(l, ALONG) * LENGTH_M.max(cell_m);
                    points.push(self.at_m + self.aim * along + level * wide + up * high);
                }
            }
        }
        points
    }
}

/// Speed over the centerline's in a Gaussian jet, at the square of the
/// distance over its half width.
pub(crate) fn half_width_share(r2: f64) -> f64 {
    (-std::f64::consts::LN_2 * r2).exp()
}
