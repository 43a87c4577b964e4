//! The colors of the washes, in classes with printed limits: flow from dark
//! still water to pale brisk water, light from night to noon in a map of its own.

use egui::Color32;

use crate::plan::palette;
use crate::ui::theme::Theme;

/// One class of a wash: values from `from` up to `to` have this color.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Class {
    /// Lower limit, in the wash's unit.
    pub from: f64,
    /// Upper limit; the last class also takes all above it.
    pub to: f64,
    /// Color on the sheet.
    pub color: Color32,
}

const fn class(from: f64, to: f64, rgb: (u8, u8, u8)) -> Class {
    Class {
        from,
        to,
        color: Color32::from_rgb(rgb.0, rgb.1, rgb.2),
    }
}

/// A class of the printed plan on the screen.
const fn on_screen(class: palette::Class) -> Class {
    let palette::Rgb(r, g, b) = class.color;
    Class {
        from: class.from,
        to: class.to,
        color: Color32::from_rgb(r, g, b),
    }
}

/// Classes of a printed wash on the screen.
const fn all_on_screen<const N: usize>(printed: &[palette::Class; N]) -> [Class; N] {
    let mut classes = [on_screen(printed[0]); N];
    let mut k = 1;
    while k < N {
        classes[k] = on_screen(printed[k]);
        k += 1;
    }
    classes
}

/// Mean speed in cm/s.
const FLOW: [Class; 6] = all_on_screen(&palette::FLOW);

/// PPFD in µmol/m²/s.
const LIGHT: [Class; 8] = all_on_screen(&palette::LIGHT);

/// Change of the mean speed in cm/s: violet where it is less, orange where it
/// is more, pale where it is about the same. Violet and orange lie on both
/// sides of the axis that color-blind people share, and both grow darker away
/// from the middle.
///
/// **Source** the pair is common in diverging maps, MEMORY; steps and limits ours.
const FLOW_CHANGE: [Class; 7] = [
    class(-50.0, -10.0, (0x4A, 0x2A, 0x7E)),
    class(-10.0, -5.0, (0x7B, 0x64, 0xAE)),
    class(-5.0, -2.0, (0xB7, 0xAC, 0xD3)),
    class(-2.0, 2.0, (0xF3, 0xEF, 0xE6)),
    class(2.0, 5.0, (0xF2, 0xC1, 0x7E)),
    class(5.0, 10.0, (0xD4, 0x86, 0x25)),
    class(10.0, 50.0, (0x96, 0x4B, 0x05)),
];

/// Change of PPFD in µmol/m²/s, in the same colors.
const LIGHT_CHANGE: [Class; 7] = [
    class(-1000.0, -100.0, (0x4A, 0x2A, 0x7E)),
    class(-100.0, -40.0, (0x7B, 0x64, 0xAE)),
    class(-40.0, -15.0, (0xB7, 0xAC, 0xD3)),
    class(-15.0, 15.0, (0xF3, 0xEF, 0xE6)),
    class(15.0, 40.0, (0xF2, 0xC1, 0x7E)),
    class(40.0, 100.0, (0xD4, 0x86, 0x25)),
    class(100.0, 1000.0, (0x96, 0x4B, 0x05)),
];

/// How well a coral fits, 0 to 1: from pale (it will not do) to deep green (it
/// suits it), evenly darker.
const FIT: [Class; 5] = [
    class(0.0, 0.2, (0xEE, 0xE2, 0xD6)),
    class(0.2, 0.35, (0xCE, 0xCD, 0xAC)),
    class(0.35, 0.5, (0x97, 0xB5, 0x8B)),
    class(0.5, 0.75, (0x55, 0x94, 0x74)),
    class(0.75, 1.0, (0x14, 0x68, 0x5C)),
];

/// Change of how well a coral fits, in the colors of the other differences; a
/// step of 0.15 is that from a fair to a good place.
const FIT_CHANGE: [Class; 7] = [
    class(-1.0, -0.35, (0x4A, 0x2A, 0x7E)),
    class(-0.35, -0.15, (0x7B, 0x64, 0xAE)),
    class(-0.15, -0.05, (0xB7, 0xAC, 0xD3)),
    class(-0.05, 0.05, (0xF3, 0xEF, 0xE6)),
    class(0.05, 0.15, (0xF2, 0xC1, 0x7E)),
    class(0.15, 0.35, (0xD4, 0x86, 0x25)),
    class(0.35, 1.0, (0x96, 0x4B, 0x05)),
];

/// Classes of the fit difference, -1 to 1.
pub fn fit_change_classes() -> &'static [Class] {
    &FIT_CHANGE
}

/// Classes of the fit wash: the limits 0.35 and 0.5 are those between a poor,
/// a fair and a good place.
pub fn fit_classes() -> &'static [Class] {
    &FIT
}

/// Classes of the flow difference, in cm/s.
pub fn flow_change_classes() -> &'static [Class] {
    &FLOW_CHANGE
}

/// Classes of the light difference, in µmol/m²/s.
pub fn light_change_classes() -> &'static [Class] {
    &LIGHT_CHANGE
}

/// Classes of the flow wash, in cm/s. They are the same by day and by night.
pub fn flow_classes(_theme: &Theme) -> &'static [Class] {
    &FLOW
}

/// Classes of the light wash, in µmol/m²/s. They are the same by day and by night.
pub fn light_classes(_theme: &Theme) -> &'static [Class] {
    &LIGHT
}

/// A ready table that finds the color of a value fast.
#[derive(Clone, Debug)]
pub(crate) struct ColorTable {
    uppers: Vec<f32>,
    colors: Vec<[f32; 3]>,
}

impl ColorTable {
    pub(crate) fn new(classes: &[Class]) -> Self {
        Self {
            uppers: classes.iter().map(|class| class.to as f32).collect(),
            colors: classes
                .iter()
                .map(|class| {
                    let [r, g, b, _] = class.color.to_array();
                    [r, g, b].map(f32::from)
                })
                .collect(),
        }
    }

    /// Color of `value` as 0 to 255 a channel. The step between two classes is
    /// softened over `soft` (a value difference) so that its edge is not ragged.
    pub(crate) fn color(&self, value: f32, soft: f32) -> [f32; 3] {
        let last = self.colors.len() - 1;
        let idx = self.uppers[..last]
            .iter()
            .position(|upper| value < *upper)
            .unwrap_or(last);
        let mix = |a: [f32; 3], b: [f32; 3], share: f32| {
            [0, 1, 2].map(|channel| a[channel] + (b[channel] - a[channel]) * share)
        };
        let own = self.colors[idx];
        if idx < last && value > self.uppers[idx] - soft {
            let share = 0.5 * (value - self.uppers[idx] + soft) / soft;
            return mix(own, self.colors[idx + 1], share);
        }
        if idx > 0 && value < self.uppers[idx - 1] + soft {
            let share = 0.5 - 0.5 * (value - self.uppers[idx - 1]) / soft;
            return mix(own, self.colors[idx - 1], share);
        }
        own
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Linear RGB of a color.
    fn linear(color: Color32) -> [f64; 3] {
        let [r, g, b, _] = color.to_array();
        [r, g, b].map(|byte| {
            let c = f64::from(byte) / 255.0;
            if c <= 0.04045 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        })
    }

    /// Lightness L* of linear RGB.
    ///
    /// **Source** CIE 1976 L*, white at Y = 1; sRGB weights. MEMORY.
    fn lightness(rgb: [f64; 3]) -> f64 {
        let y = 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2];
        if y > 0.008856 {
            116.0 * y.cbrt() - 16.0
        } else {
            903.3 * y
        }
    }

    /// What linear RGB becomes for an eye without red or without green cones.
    ///
    /// **Source** Viénot, Brettel & Mollon 1999, matrices for sRGB primaries
    /// as in common use. MEMORY.
    fn seen_without(cone: char, rgb: [f64; 3]) -> [f64; 3] {
        let m = match cone {
            'r' => [
                [0.11238, 0.88762, 0.0],
                [0.11238, 0.88762, 0.0],
                [0.00401, -0.00401, 1.0],
            ],
            _ => [
                [0.29275, 0.70725, 0.0],
                [0.29275, 0.70725, 0.0],
                [-0.02234, 0.02234, 1.0],
            ],
        };
        m.map(|row| {
            row.iter()
                .zip(rgb)
                .map(|(a, b)| a * b)
                .sum::<f64>()
                .max(0.0)
        })
    }

    #[test]
    fn both_washes_grow_lighter_from_class_to_class_for_every_eye() {
        for classes in [&FLOW[..], &LIGHT[..]] {
            for pair in classes.windows(2) {
                let (a, b) = (linear(pair[0].color), linear(pair[1].color));
                let views = [
                    (a, b),
                    (seen_without('r', a), seen_without('r', b)),
                    (seen_without('g', a), seen_without('g', b)),
                ];
                for (a, b) in views {
                    let step = lightness(b) - lightness(a);
                    // 5 is about twice the difference that is just noticed
                    // between large patches.
                    assert!(step > 5.0, "step of {step:.1} above {}", pair[0].to);
                }
            }
        }
    }

    #[test]
    fn differences_grow_darker_outwards_and_their_sides_differ_for_every_eye() {
        for classes in [&FLOW_CHANGE[..], &LIGHT_CHANGE[..]] {
            let views: [fn([f64; 3]) -> [f64; 3]; 3] = [
                |rgb| rgb,
                |rgb| seen_without('r', rgb),
                |rgb| seen_without('g', rgb),
            ];
            for see in views {
                let seen: Vec<[f64; 3]> = classes
                    .iter()
                    .map(|class| see(linear(class.color)))
                    .collect();
                for k in 1..=3 {
                    for (inner, outer) in [(3 - k + 1, 3 - k), (3 + k - 1, 3 + k)] {
                        let step = lightness(seen[inner]) - lightness(seen[outer]);
                        assert!(step > 5.0, "step of {step:.1} to class {outer}");
                    }
                    // Blue against the rest is what every eye here still sees:
                    // as cube roots, so that dark colors count as they look.
                    let blueness = |rgb: [f64; 3]| rgb[2].cbrt() - (0.5 * (rgb[0] + rgb[1])).cbrt();
                    let apart = blueness(seen[3 - k]) - blueness(seen[3 + k]);
                    assert!(apart > 0.15, "sides {k} differ by {apart:.2}");
                }
            }
            assert_eq!(classes[0].from, -classes[6].to, "both ways alike");
        }
    }

    #[test]
    fn classes_are_gapless() {
        for classes in [&FLOW[..], &LIGHT[..]] {
            assert_eq!(classes[0].from, 0.0, "starts at zero");
            for pair in classes.windows(2) {
                assert_eq!(pair[0].to, pair[1].from, "no gap");
            }
        }
    }

    #[test]
    fn a_value_within_a_class_has_its_color_and_a_limit_is_half_way() {
        let table = ColorTable::new(&FLOW);
        assert_eq!(table.color(3.5, 0.1), [31.0, 95.0, 107.0], "class 2 to 5");
        let edge = table.color(5.0, 0.2);
        assert_eq!(edge, [54.5, 111.0, 97.0], "between the classes at 5");
        assert_eq!(table.color(99.0, 0.1), [252.0, 203.0, 201.0], "above all");
    }
}
