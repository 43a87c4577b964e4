//! Benches, in a package of their own: whoever builds or tests the program
//! builds no tools for measuring.
