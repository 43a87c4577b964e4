//! Water against exact solutions, published tables and other codes.

mod analytic;
mod flips;
mod free_jet;
mod head_start;
mod kernel;
mod measured;
mod phases;
mod published;
mod slice;
mod space;
mod step;
mod tanks;
mod wall_jet;
