//! The same engine without a window.
