//! Corals, clams and anemones by planning type, each value with its source.
