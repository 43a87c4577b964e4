//! What leaves the program: paper, files for other programs, the terminal.

mod booklet;
mod files;
mod manners;
mod paper;
mod terminal;
