//! What leaves the program: paper, files for other programs, the terminal.

mod answers;
mod booklet;
mod files;
mod kept;
mod manners;
mod owned;
mod paper;
mod program;
mod scanned;
mod sheets;
mod terminal;
