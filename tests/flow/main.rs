//! Water against exact solutions, published tables and other codes.

mod analytic;
mod kernel;
mod published;
mod slice;
mod space;
mod tanks;
