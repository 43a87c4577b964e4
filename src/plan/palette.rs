//! Inks of the printed plan, and the classes of the washes, which the window
//! shows as well.

/// A color, red, green and blue.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rgb(pub u8, pub u8, pub u8);

/// Lines and facts.
pub const INK: Rgb = Rgb(0x22, 0x30, 0x3A);
/// What is said by the way.
pub const ASIDE: Rgb = Rgb(0x66, 0x60, 0x53);
/// Levels to act on, and what is out of range.
pub const ACCENT: Rgb = Rgb(0xA8, 0x41, 0x29);
/// Rock.
pub const ROCK: Rgb = Rgb(0xDB, 0xD1, 0xBD);
/// Shade on rock.
pub const ROCK_SHADE: Rgb = Rgb(0x6E, 0x62, 0x4C);
/// Sand.
pub const SAND: Rgb = Rgb(0xEF, 0xE5, 0xC9);
/// Still water without a wash.
pub const WATER: Rgb = Rgb(0xF3, 0xF6, 0xF5);
/// The surface of the water.
pub const WATER_LINE: Rgb = Rgb(0x3F, 0x6F, 0x9A);
/// Rules between parts of a page.
pub const RULE: Rgb = Rgb(0xB4, 0xAB, 0x98);
/// Heads of tables.
pub const STRIP: Rgb = Rgb(0xF1, 0xEC, 0xE0);
/// Living tissue.
pub const CORAL: Rgb = Rgb(0xE3, 0xB7, 0xAE);
/// Light cones.
pub const GLOW: Rgb = Rgb(0xB8, 0x90, 0x2A);
/// Bare paper.
pub const PAPER: Rgb = Rgb(0xFF, 0xFF, 0xFF);

/// One class of a wash: values from `from` up to `to` have this color; the
/// last class also takes all above it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Class {
    /// Lower limit, in the wash's unit.
    pub from: f64,
    /// Upper limit.
    pub to: f64,
    /// Color on the sheet.
    pub color: Rgb,
}

const fn class(from: f64, to: f64, color: Rgb) -> Class {
    Class { from, to, color }
}

/// Mean speed in cm/s. Colors lie on a path of even steps in lightness from
/// deep blue over green to pale rose, after the map "batlow".
///
/// **Source** Crameri 2018, Scientific colour maps, MEMORY; limits ours.
pub const FLOW: [Class; 6] = [
    class(0.0, 2.0, Rgb(0x14, 0x32, 0x5C)),
    class(2.0, 5.0, Rgb(0x1F, 0x5F, 0x6B)),
    class(5.0, 9.0, Rgb(0x4E, 0x7F, 0x57)),
    class(9.0, 16.0, Rgb(0x9A, 0x91, 0x40)),
    class(16.0, 26.0, Rgb(0xE2, 0xA5, 0x6D)),
    class(26.0, 50.0, Rgb(0xFC, 0xCB, 0xC9)),
];

/// PPFD in µmol/m²/s. From slate over gray to the yellow of noon, along the
/// blue–yellow axis that color-blind people share.
pub const LIGHT: [Class; 8] = [
    class(0.0, 15.0, Rgb(0x22, 0x25, 0x3B)),
    class(15.0, 40.0, Rgb(0x3A, 0x40, 0x5E)),
    class(40.0, 80.0, Rgb(0x59, 0x5F, 0x74)),
    class(80.0, 140.0, Rgb(0x7D, 0x80, 0x7E)),
    class(140.0, 220.0, Rgb(0xA5, 0xA1, 0x76)),
    class(220.0, 350.0, Rgb(0xCF, 0xC2, 0x68)),
    class(350.0, 600.0, Rgb(0xF2, 0xE0, 0x74)),
    class(600.0, 1000.0, Rgb(0xFF, 0xF6, 0xCE)),
];
