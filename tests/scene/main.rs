//! What a keeper drew: its shape, its faults, its files, the demos.

mod catalog;
mod check;
mod crash;
mod demos;
mod files;
mod kill;
mod save;
mod solid;
