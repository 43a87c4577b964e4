//! Advice on fields and scenes made by hand, where the right answer is known.

mod fields;
mod hand;
