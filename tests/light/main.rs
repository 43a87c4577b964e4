//! Light against closed forms, measured lamps and photons.

mod analytic;
mod ies;
mod monte_carlo;
mod scenes;
mod tank;
