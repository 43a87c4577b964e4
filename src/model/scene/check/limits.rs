//! What a scene may hold: each limit once, by name, with its unit and the
//! mistake that most often breaks it. `scenes/FORMAT.md` lists the same table.

/// A range of values that a field may take, ends included.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// Field or fields it holds for, as named in the file.
    pub field: &'static str,
    /// Smallest value.
    pub min: f64,
    /// Largest value.
    pub max: f64,
    /// Unit, empty for a share or a count.
    pub unit: &'static str,
    /// What to do about a value outside.
    pub way_out: &'static str,
}

impl Limit {
    /// Whether `value` lies within; never for NaN.
    pub fn holds(&self, value: f64) -> bool {
        value >= self.min && value <= self.max
    }

    /// The range in words, as `1 to 300 cm`.
    pub fn text(&self) -> String {
        let unit = if self.unit.is_empty() { "" } else { " " };
        format!("{} to {}{unit}{}", self.min, self.max, self.unit)
    }
}

/// Builds the table and the named constants together, so that neither can miss one.
macro_rules! limits {
    ($($(#[$doc:meta])* $name:ident = $field:literal, $min:literal, $max:literal, $unit:literal, $way_out:literal;)*) => {
        $($(#[$doc])* pub const $name: Limit = Limit {
            field: $field, min: $min, max: $max, unit: $unit, way_out: $way_out,
        };)*

        /// Every limit, in the order of the file.
        pub const ALL: &[Limit] = &[$($name),*];
    };
}

limits! {
    /// Inner length, width and height of the tank.
    TANK_SIZE = "tank.length_cm, width_cm, height_cm", 10.0, 1000.0, "cm", "give inner measures in cm, not mm or m";
    /// Depth of the bed.
    SAND_DEPTH = "sand.depth_cm", 0.0, 50.0, "cm", "give it in cm; 0 is a bare bottom";
    /// Grain size of the bed.
    SAND_GRAIN = "sand.grain_mm", 0.05, 50.0, "mm", "give it in mm; coral sand is 0.5 to 3 mm";
    /// Share of light that a surface throws back. A perfect mirror would let
    /// the bounces between surfaces go on for ever.
    REFLECTANCE = "reflectance", 0.0, 0.95, "", "give a share, as 0.25, not percent";
    /// Absorption of the water.
    ABSORPTION = "water.absorption_per_m", 0.0, 10.0, "1/m", "clear water has about 0.15, yellow water up to 0.6";
    /// Refractive index of the water.
    REFRACTIVE_INDEX = "water.refractive_index", 1.3, 1.4, "", "seawater has 1.34";
    /// Share of light that clear panes return. None at all would be a black
    /// pane; more than a flawless one cannot be.
    RETURNED_SHARE = "panes.returned_share", 0.0, 1.0, "", "give a share, as 0.9; clean low-iron glass has about 0.97";
    /// A share that readings gave.
    MEASURED_SHARE = "measured (shares)", 0.05, 5.0, "", "give a share of what is stated, as 0.85, or leave it out";
    /// Where a jet seems to begin.
    JET_OFFSET = "measured.offset_cm", -50.0, 50.0, "cm", "give cm along the jet from the outlet, or leave it out";
    /// Way of a drifting particle.
    DRIFT_WAY = "drift.way_cm", 1.0, 1000.0, "cm", "give the way that it drifted, in cm";
    /// Its time.
    DRIFT_TIME = "drift.time_s", 0.05, 3600.0, "s", "give the time that it took, in s";
    /// Flow of a pump or return.
    FLOW = "flow_lph", 1.0, 200000.0, "L/h", "give the rated flow in L/h; remove the pump or set its throttle to 0 if it stands still";
    /// Outlet of a pump or return.
    OUTLET = "outlet_cm", 0.3, 60.0, "cm", "give the outlet's diameter in cm";
    /// Length of a cross-flow pump's slot.
    SLOT_LENGTH = "kind.length_cm", 1.0, 300.0, "cm", "give the slot's length in cm";
    /// Depth of the overflow below the surface.
    OVERFLOW_DEPTH = "overflow.depth_cm", 0.1, 100.0, "cm", "give the depth of the weir below the water surface in cm";
    /// Any turn about the vertical.
    TURN = "turn_deg", -3600.0, 3600.0, "°", "give degrees between 0 and 360";
    /// Any tilt.
    TILT = "tilt_deg", -180.0, 180.0, "°", "give degrees; 0 is level (a lamp: straight down)";
    /// Lean of a lamp, which must not shine upwards.
    LAMP_TILT = "lamps.tilt_deg", -89.0, 89.0, "°", "give degrees from straight down";
    /// Setting of a pump or lamp.
    SHARE = "throttle, dim, share", 0.0, 1.0, "", "give a share, as 0.5, not percent";
    /// Period of a pump's programme.
    PERIOD = "programme.period_s", 0.1, 86400.0, "s", "give the length of a whole cycle in s";
    /// Members of an alternating set.
    SET_MEMBERS = "programme.of", 2.0, 16.0, "", "give how many pumps take turns";
    /// Electrical power.
    POWER = "power_w", 0.0, 5000.0, "W", "give it in W";
    /// Length or diameter of a lamp.
    LAMP_SIZE = "body.length_cm, width_cm, diameter_cm", 0.1, 500.0, "cm", "give the size of the glowing face in cm";
    /// Height of a lamp above the water.
    LAMP_HEIGHT = "height of a lamp above the water", 0.1, 500.0, "cm", "raise the lamp above the water, or lower it";
    /// Photon flux of a lamp.
    PHOTONS = "output.umol_s", 0.01, 50000.0, "µmol/s", "give the photon flux in µmol/s; switch a lamp off with dim: 0.0";
    /// Photons a joule. Red photons of 700 nm carry 0.171 J a µmol, so no lamp can pass 5.9.
    EFFICACY = "output.efficacy_umol_j", 0.1, 5.9, "µmol/J", "lamps of today give 0.8 to 3";
    /// A PPFD reading that fixes a lamp's output.
    LAMP_READING = "output.ppfd_umol", 0.1, 5000.0, "µmol/m²/s", "full sun is about 2000; give the reading of this lamp alone";
    /// Full angle of a beam at half intensity.
    BEAM_ANGLE = "spread.full_angle_deg", 2.0, 175.0, "°", "give the full angle, 120 for a bare panel";
    /// Hours of light.
    DAY_HOURS = "day.hours", 0.0, 24.0, "h", "give hours of light a day";
    /// Rising and falling light, each.
    RAMP_HOURS = "day.ramp_hours", 0.0, 12.0, "h", "give hours; both ramps lie within the day's hours";
    /// Hour of the day.
    FIRST_HOUR = "day.first_hour", 0.0, 24.0, "h", "give the hour of first light, 10 for ten in the morning";
    /// Hour of the day of a pump's share.
    SHARE_HOUR = "by_hour.hour", 0.0, 24.0, "h", "give hours of the day, 22 for ten at night";
    /// Any coordinate of an outline.
    OUTLINE_COORDINATE = "points_cm, openings", -1000.0, 1000.0, "cm", "give cm in the rock's own frame";
    /// Radius of a rock's edges.
    ROUNDING = "rounding_cm", 0.0, 30.0, "cm", "give the radius of the edges in cm";
    /// Step of a scan's grid.
    SCAN_STEP = "scan.step_cm", 0.02, 20.0, "cm", "give how far apart the nodes are, in cm";
    /// Density of a rock.
    DENSITY = "density_kg_per_l", 0.3, 5.0, "kg/L", "porous reef rock has 1.2 to 2.0";
    /// Each measure of a coral.
    CORAL_SIZE = "size_cm", 0.1, 200.0, "cm", "give width, depth and height in cm";
    /// A width or length that an animal needs.
    ANIMAL_ROOM = "animals: width_cm, length_cm", 0.1, 1000.0, "cm", "give it in cm";
    /// A measured PPFD.
    READING_PPFD = "readings.value (light)", 0.0, 5000.0, "µmol/m²/s", "full sun is about 2000";
    /// A measured speed.
    READING_SPEED = "readings.value (speed)", 0.0, 500.0, "cm/s", "give it in cm/s";
    /// A corner of the pane in a photo. One may lie outside the picture, cut off.
    PHOTO_CORNER = "underlays.corners", -1.0, 2.0, "", "give shares of the picture's width and height, 0 to 1 within it";
    /// Where the camera stood before the pane.
    PHOTO_CAMERA = "underlays.camera_cm", 5.0, 2000.0, "cm", "give how far before the pane the camera stood, in cm";
    /// Plane that a photo is set right for.
    PHOTO_PLANE = "underlays.plane_cm", 0.0, 1000.0, "cm", "give how far from the front glass, or above the bottom, the traced rock stands";
    /// Heights of the corners of a pane in a photo.
    PHOTO_HEIGHT = "underlays.between_cm", 0.0, 1000.0, "cm", "give the heights of the lower and upper corners, or leave it out";
    /// How strongly a photo covers the paper.
    PHOTO_OPACITY = "underlays.opacity", 0.0, 1.0, "", "give a share, as 0.6, not percent";
    /// Points of one outline or opening.
    OUTLINE_POINTS = "points of one outline or opening", 3.0, 200.0, "points", "draw at least a triangle; leave out points that lie close together";
}

/// Points of all outlines of a scene together. Looking for crossings takes time
/// with the square of an outline's points; this keeps it to about a second.
pub const SCENE_POINTS_MAX: usize = 40_000;
/// Nodes of all scans of a scene together; packed they take about half a byte
/// each, which keeps a scene file well below its largest size.
pub const SCENE_NODES_MAX: usize = 6_000_000;
/// Layouts of a scene.
pub const LAYOUTS_MAX: usize = 30;
/// Rocks, pumps, lamps or corals of one layout, each.
pub const ITEMS_MAX: usize = 300;
/// Returns of a tank.
pub const RETURNS_MAX: usize = 20;
/// Readings of a scene.
pub const READINGS_MAX: usize = 5_000;
/// Animals of a scene.
pub const ANIMALS_MAX: usize = 300;
/// Characters of a name.
pub const NAME_CHARS_MAX: usize = 200;
/// Smallest area of an outline, in cm².
pub const OUTLINE_AREA_MIN_CM2: f64 = 0.25;
/// Least water above the sand, in cm.
pub const WATER_MIN_CM: f64 = 3.0;
/// How far beyond the tank's sides a lamp may hang, in cm.
pub const LAMP_BEYOND_MAX_CM: f64 = 200.0;
/// Exit speed above which a pump's figures are doubted, in m/s.
pub const EXIT_SPEED_DOUBTED_M_S: f64 = 4.0;
/// Exit speed that no aquarium pump reaches, in m/s.
pub const EXIT_SPEED_MAX_M_S: f64 = 20.0;
/// How far a coral's base may stand off its mount before it is doubted, in cm.
pub const CORAL_GAP_DOUBTED_CM: f64 = 1.5;
/// How far a rock may reach into glass before it is doubted, in cm.
pub const ROCK_IN_GLASS_DOUBTED_CM: f64 = 0.5;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_are_ranges_with_a_way_out() {
        for limit in ALL {
            assert!(limit.min < limit.max, "{} is empty", limit.field);
            assert!(
                !limit.way_out.is_empty(),
                "{} leaves no way out",
                limit.field
            );
            assert!(!limit.holds(f64::NAN), "{} lets NaN in", limit.field);
            assert!(limit.holds(limit.max), "{} leaves out its end", limit.field);
        }
    }
}
