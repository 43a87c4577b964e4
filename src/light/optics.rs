//! How one ray fares at the water surface, at a pane and on its way: Fresnel,
//! Snell and the exact refraction path of a point source over flat water.

/// Refractive index of the panes (float glass). MEMORY. Acrylic (1.49) changes
/// nothing beyond the critical angle, where nearly all lamp light meets a pane.
pub const GLASS_INDEX: f64 = 1.52;

/// Reflectances (perpendicular, parallel) of a flat boundary from index `n1`
/// to `n2`, and the cosine beyond it; `None` beyond the critical angle.
///
/// **Source** Fresnel's equations, any optics text. MEMORY; checked against
/// `tests/data/light_fresnel_n134.csv`.
fn boundary(n1: f64, n2: f64, cosine: f64) -> Option<(f64, f64, f64)> {
    let ratio = n1 / n2;
    let cosine_2_squared = 1.0 - ratio * ratio * (1.0 - cosine * cosine);
    if cosine_2_squared <= 0.0 {
        return None;
    }
    let cosine_2 = cosine_2_squared.sqrt();
    let across = (n1 * cosine - n2 * cosine_2) / (n1 * cosine + n2 * cosine_2);
    let along = (n2 * cosine - n1 * cosine_2) / (n2 * cosine + n1 * cosine_2);
    Some((across * across, along * along, cosine_2))
}

/// Share of unpolarized light that enters water of index `n` from air, by the
/// cosine of its angle from the vertical in air.
pub fn air_to_water(cos_air: f64, n: f64) -> f64 {
    boundary(1.0, n, cos_air).map_or(0.0, |(s, p, _)| 1.0 - 0.5 * (s + p))
}

/// Share of unpolarized light that the surface throws back down into water of
/// index `n`; one beyond the critical angle.
pub fn surface_from_below(cos_water: f64, n: f64) -> f64 {
    boundary(n, 1.0, cos_water).map_or(1.0, |(s, p, _)| 0.5 * (s + p))
}

/// Share that a clear pane with air behind it throws back into water of index
/// `n`: both faces of the pane, all orders, added as energies (a pane is far
/// thicker than the coherence length of lamp light).
pub fn clear_pane(cos_water: f64, n: f64) -> f64 {
    let Some((s1, p1, cos_glass)) = boundary(n, GLASS_INDEX, cos_water) else {
        return 1.0;
    };
    let Some((s2, p2, _)) = boundary(GLASS_INDEX, 1.0, cos_glass) else {
        return 1.0;
    };
    let both = |r1: f64, r2: f64| r1 + (1.0 - r1) * (1.0 - r1) * r2 / (1.0 - r1 * r2);
    0.5 * (both(s1, s2) + both(p1, p2))
}

/// Share that a pane blacked out in contact with its outer face throws back
/// into water of index `n`: its inner face alone, since paint has about the
/// index of the glass (MEMORY) and takes what comes so far.
pub fn black_pane(cos_water: f64, n: f64) -> f64 {
    boundary(n, GLASS_INDEX, cos_water).map_or(1.0, |(s, p, _)| 0.5 * (s + p))
}

/// The refracted ray from a point in air to a point in water.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Refraction {
    /// Horizontal distance from the source to the point of entry, in m.
    pub air_run_m: f64,
    /// Cosine of the angle from the vertical in air.
    pub cos_air: f64,
    /// Cosine of the angle from the vertical in water.
    pub cos_water: f64,
    /// Sine of the same.
    pub sin_water: f64,
    /// Irradiance of a level plane there for each unit of intensity, losses
    /// left out, in 1/m².
    pub spread_per_m2: f64,
}

/// The one path that Snell's law allows from a source `height_m` above flat
/// water of index `n` to a point `depth_m` below and `run_m` aside.
///
/// Fermat: the time over the point of entry `x`,
/// `√(x²+h²) + n √((r−x)²+d²)`, is convex, so that its slope has one root;
/// Newton from the paraxial guess with a bisection guard finds it. The
/// spreading is `sin θa / (r · dr/dθa)`, written without the `0/0` on the axis.
///
/// **Source** derived from Snell's law; checked against
/// `tests/data/light_refraction_spreading.csv`.
pub fn refract(height_m: f64, depth_m: f64, run_m: f64, n: f64) -> Refraction {
    let air_run_m = entry_run(height_m, depth_m, run_m, n);
    let air = (air_run_m * air_run_m + height_m * height_m).sqrt();
    let (cos_air, sin_air) = (height_m / air, air_run_m / air);
    let sin_water = sin_air / n;
    let cos_water = (1.0 - sin_water * sin_water).sqrt();
    // r / sin θa and dr/dθa.
    let run_per_sine = height_m / cos_air + depth_m / (n * cos_water);
    let run_slope = height_m / (cos_air * cos_air)
        + depth_m * cos_air / (n * cos_water * cos_water * cos_water);
    Refraction {
        air_run_m,
        cos_air,
        cos_water,
        sin_water,
        spread_per_m2: 1.0 / (run_per_sine * run_slope),
    }
}

/// A horizontal distance from the source that the point of entry is never
/// nearer than: that of paraxial rays, since others are bent more, and what the
/// critical angle leaves.
pub fn entry_run_least(height_m: f64, depth_m: f64, run_m: f64, n: f64) -> f64 {
    let paraxial_m = run_m * height_m / (height_m + depth_m / n);
    paraxial_m.max(run_m - depth_m * reach_per_depth(n))
}

fn entry_run(height_m: f64, depth_m: f64, run_m: f64, n: f64) -> f64 {
    const STEPS_MAX: usize = 40;
    // Near the root each step squares the error: one of 1e-6 leaves 1e-12.
    const NEAR: f64 = 1e-6;
    let (h2, d2) = (height_m * height_m, depth_m * depth_m);
    let mut x = entry_run_least(height_m, depth_m, run_m, n);
    let (mut low, mut high) = (0.0, run_m);
    for _ in 0..STEPS_MAX {
        let (air2, water2) = (x * x + h2, (run_m - x) * (run_m - x) + d2);
        let (air, water) = (air2.sqrt(), water2.sqrt());
        let slope = x / air - n * (run_m - x) / water;
        if slope > 0.0 {
            high = x;
        } else {
            low = x;
        }
        let bend = h2 / (air2 * air) + n * d2 / (water2 * water);
        let newton = x - slope / bend;
        let next = if newton >= low && newton <= high {
            newton
        } else {
            0.5 * (low + high)
        };
        if (next - x).abs() <= NEAR * run_m {
            return next;
        }
        x = next;
    }
    x
}

/// Horizontal distance that light from above can travel in water of index `n`
/// for each unit of depth: the tangent of the critical angle.
pub fn reach_per_depth(n: f64) -> f64 {
    1.0 / (n * n - 1.0).max(1e-6).sqrt()
}
