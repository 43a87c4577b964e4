//! Advice on fields and scenes made by hand, where the right answer is known,
//! and on the demo with the real engines.
#![expect(
    clippy::expect_used,
    reason = "a helper that cannot build its input must stop the test"
)]

mod berths;
mod causes;
mod corals;
mod example;
mod fields;
mod growth;
mod hand;
mod layouts;
mod metamorphic;
mod moments;
mod plausible;
mod propose;
mod statics;
