//! Work longer than a frame.
