//! What leaves the program: paper, files for other programs, the terminal.

mod files;
mod paper;
mod terminal;
