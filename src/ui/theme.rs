//! Paper, ink and one accent: the colors, fonts and spacing of the window.

use std::sync::Arc;

use egui::style::{HandleShape, Selection, WidgetVisuals, Widgets};
use egui::{
    Color32, Context, CornerRadius, FontData, FontDefinitions, FontFamily, FontId, Margin, Shadow,
    Stroke, Style, TextStyle, Vec2, Visuals,
};

/// Name of the bold family in the font table.
const BOLD: &str = "bold";
/// Name of the italic family in the font table.
const ITALIC: &str = "italic";
/// Height of running text, in points.
pub const TEXT_SIZE: f32 = 15.5;
/// Height of small text: units, asides, rulers.
pub const SMALL_SIZE: f32 = 13.5;
/// Height of headings.
pub const HEADING_SIZE: f32 = 18.0;

/// Colors of one sheet, by day or by night.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Theme {
    /// Behind everything.
    pub paper: Color32,
    /// What is drawn on.
    pub sheet: Color32,
    /// The title strip.
    pub strip: Color32,
    /// Lines and facts.
    pub ink: Color32,
    /// What is said by the way.
    pub aside: Color32,
    /// "You can act here", or "this is out of range".
    pub accent: Color32,
    /// Rock.
    pub rock: Color32,
    /// Sand.
    pub sand: Color32,
    /// A range in which a value is right.
    pub in_range: Color32,
    /// The surface of the water.
    pub water_line: Color32,
    /// Rules between parts of the window.
    pub rule: Color32,
    /// What is settled and well.
    pub good: Color32,
    /// Living tissue in a drawing.
    pub coral: Color32,
    /// Light cones.
    pub glow: Color32,
    /// Whether it is the dark sheet.
    pub is_night: bool,
}

impl Theme {
    /// Ink on warm paper.
    pub fn day() -> Self {
        Self {
            paper: Color32::from_rgb(0xF3, 0xEE, 0xE2),
            sheet: Color32::from_rgb(0xFB, 0xF8, 0xF0),
            strip: Color32::from_rgb(0xE9, 0xE2, 0xD2),
            ink: Color32::from_rgb(0x22, 0x30, 0x3A),
            aside: Color32::from_rgb(0x66, 0x60, 0x53),
            accent: Color32::from_rgb(0xA8, 0x41, 0x29),
            rock: Color32::from_rgb(0xCF, 0xC3, 0xAC),
            sand: Color32::from_rgb(0xE7, 0xD9, 0xB4),
            in_range: Color32::from_rgb(0x8F, 0xB7, 0xA0),
            water_line: Color32::from_rgb(0x3F, 0x6F, 0x9A),
            rule: Color32::from_rgb(0xB4, 0xAB, 0x98),
            good: Color32::from_rgb(0x3B, 0x7D, 0x56),
            coral: Color32::from_rgb(0xE3, 0xB7, 0xAE),
            glow: Color32::from_rgb(0xC9, 0xA2, 0x3A),
            is_night: false,
        }
    }

    /// Chalk on slate.
    pub fn night() -> Self {
        Self {
            paper: Color32::from_rgb(0x1C, 0x23, 0x29),
            sheet: Color32::from_rgb(0x22, 0x2A, 0x31),
            strip: Color32::from_rgb(0x16, 0x1C, 0x21),
            ink: Color32::from_rgb(0xE8, 0xE4, 0xD8),
            aside: Color32::from_rgb(0xA9, 0xA7, 0x9C),
            accent: Color32::from_rgb(0xEE, 0x8A, 0x6C),
            rock: Color32::from_rgb(0x5F, 0x5A, 0x50),
            sand: Color32::from_rgb(0x6F, 0x66, 0x50),
            in_range: Color32::from_rgb(0x4F, 0x7A, 0x66),
            water_line: Color32::from_rgb(0x86, 0xB2, 0xD8),
            rule: Color32::from_rgb(0x4A, 0x54, 0x5C),
            good: Color32::from_rgb(0x7C, 0xC0, 0x96),
            coral: Color32::from_rgb(0x9A, 0x6C, 0x66),
            glow: Color32::from_rgb(0xD9, 0xBC, 0x6A),
            is_night: true,
        }
    }

    /// Gives the context these colors, the fonts and the spacing.
    pub fn install(&self, ctx: &Context) {
        ctx.set_fonts(fonts());
        let style = self.style();
        ctx.all_styles_mut(|each| *each = style.clone());
    }

    /// Accent that is thin enough to lie behind text.
    pub fn accent_faint(&self) -> Color32 {
        self.accent.gamma_multiply(0.14)
    }

    fn style(&self) -> Style {
        let mut style = Style {
            visuals: self.visuals(),
            ..Style::default()
        };
        let body = FontId::proportional(TEXT_SIZE);
        style.text_styles = [
            (TextStyle::Body, body.clone()),
            (TextStyle::Button, body.clone()),
            (TextStyle::Monospace, body),
            (TextStyle::Small, FontId::proportional(SMALL_SIZE)),
            (TextStyle::Heading, bold(HEADING_SIZE)),
        ]
        .into();
        let spacing = &mut style.spacing;
        spacing.item_spacing = Vec2::new(8.0, 5.0);
        spacing.button_padding = Vec2::new(8.0, 3.0);
        spacing.interact_size = Vec2::new(28.0, 22.0);
        spacing.menu_margin = Margin::same(8);
        spacing.window_margin = Margin::same(16);
        spacing.slider_rail_height = 1.5;
        spacing.slider_width = 150.0;
        spacing.combo_width = 90.0;
        spacing.scroll.bar_width = 6.0;
        style.animation_time = 0.08;
        style
    }

    fn visuals(&self) -> Visuals {
        let mut visuals = if self.is_night {
            Visuals::dark()
        } else {
            Visuals::light()
        };
        visuals.widgets = self.widgets();
        visuals.selection = Selection {
            bg_fill: self.accent.gamma_multiply(0.25),
            stroke: Stroke::new(1.0, self.ink),
        };
        visuals.weak_text_color = Some(self.aside);
        visuals.hyperlink_color = self.accent;
        visuals.faint_bg_color = self.strip;
        visuals.extreme_bg_color = self.sheet;
        visuals.text_edit_bg_color = Some(self.sheet);
        visuals.code_bg_color = self.strip;
        visuals.warn_fg_color = self.accent;
        visuals.error_fg_color = self.accent;
        visuals.window_fill = self.paper;
        visuals.panel_fill = self.paper;
        visuals.window_stroke = Stroke::new(1.0, self.ink);
        visuals.window_corner_radius = CornerRadius::same(3);
        visuals.menu_corner_radius = CornerRadius::same(3);
        visuals.window_shadow = soft_shadow(self.is_night);
        visuals.popup_shadow = soft_shadow(self.is_night);
        visuals.handle_shape = HandleShape::Circle;
        visuals.slider_trailing_fill = false;
        visuals.interact_cursor = Some(egui::CursorIcon::PointingHand);
        visuals
    }

    fn widgets(&self) -> Widgets {
        let with = |fill: Color32, line: Color32, text: Color32| WidgetVisuals {
            bg_fill: fill,
            weak_bg_fill: fill,
            bg_stroke: Stroke::new(1.0, line),
            corner_radius: CornerRadius::same(3),
            fg_stroke: Stroke::new(1.0, text),
            expansion: 0.0,
        };
        let faint = self.accent_faint();
        Widgets {
            noninteractive: with(self.paper, self.rule, self.ink),
            inactive: with(self.sheet, self.rule, self.ink),
            hovered: with(faint, self.accent, self.ink),
            active: with(faint, self.accent, self.accent),
            open: with(self.strip, self.ink, self.ink),
        }
    }
}

/// Bold text of this height.
pub fn bold(size: f32) -> FontId {
    FontId::new(size, FontFamily::Name(BOLD.into()))
}

/// Italic text of this height: captions of drawings, and what is by the way.
pub fn italic(size: f32) -> FontId {
    FontId::new(size, FontFamily::Name(ITALIC.into()))
}

fn soft_shadow(is_night: bool) -> Shadow {
    Shadow {
        offset: [0, 4],
        blur: 18,
        spread: 0,
        color: Color32::from_black_alpha(if is_night { 120 } else { 40 }),
    }
}

/// Own faces first, the defaults behind them for what they lack.
fn fonts() -> FontDefinitions {
    let mut fonts = FontDefinitions::default();
    let faces: [(&str, &'static [u8], FontFamily); 3] = [
        (
            "sheet-regular",
            include_bytes!("../../assets/fonts/AlegreyaSans-Regular.ttf"),
            FontFamily::Proportional,
        ),
        (
            "sheet-bold",
            include_bytes!("../../assets/fonts/AlegreyaSans-Bold.ttf"),
            FontFamily::Name(BOLD.into()),
        ),
        (
            "sheet-italic",
            include_bytes!("../../assets/fonts/AlegreyaSans-Italic.ttf"),
            FontFamily::Name(ITALIC.into()),
        ),
    ];
    let behind = fonts
        .families
        .get(&FontFamily::Proportional)
        .cloned()
        .unwrap_or_default();
    for (name, bytes, family) in faces {
        fonts
            .font_data
            .insert(name.to_owned(), Arc::new(FontData::from_static(bytes)));
        let mut names = vec![name.to_owned()];
        names.extend(behind.iter().cloned());
        fonts.families.insert(family, names);
    }
    fonts
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance of a color.
    ///
    /// **Source** W3C, Web Content Accessibility Guidelines 2.1, "relative
    /// luminance" (PUBLISHED).
    fn luminance(color: Color32) -> f64 {
        let linear = |byte: u8| {
            let c = f64::from(byte) / 255.0;
            if c <= 0.03928 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * linear(color.r()) + 0.7152 * linear(color.g()) + 0.0722 * linear(color.b())
    }

    fn contrast(a: Color32, b: Color32) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn text_stands_out_from_its_paper_as_the_guidelines_ask() {
        for theme in [Theme::day(), Theme::night()] {
            for paper in [theme.paper, theme.sheet, theme.strip] {
                for (name, ink) in [
                    ("ink", theme.ink),
                    ("aside", theme.aside),
                    ("accent", theme.accent),
                ] {
                    let ratio = contrast(ink, paper);
                    // WCAG 2.1, success criterion 1.4.3: at least 4.5 to 1.
                    assert!(ratio >= 4.5, "{name} on {paper:?}: {ratio:.2}");
                }
            }
        }
    }
}
