//! Scenes that come with the program, of our own invention.

/// A scene inside the program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Demo {
    /// What a keeper reads in a list.
    pub name: &'static str,
    /// Its file in `scenes/`.
    pub file: &'static str,
    /// Its text.
    pub text: &'static str,
}

/// The demos; the first one opens at the first start.
pub fn demos() -> &'static [Demo] {
    &[
        Demo {
            name: "Harbor office reef (120 x 60 cm, two islands)",
            file: "harbour-office.ron",
            text: include_str!("../../scenes/harbour-office.ron"),
        },
        Demo {
            name: "Window-seat cube (60 x 60 cm, one island)",
            file: "window-seat.ron",
            text: include_str!("../../scenes/window-seat.ron"),
        },
        Demo {
            name: "Long wall (180 x 70 cm, one rock wall)",
            file: "long-wall.ron",
            text: include_str!("../../scenes/long-wall.ron"),
        },
    ]
}
