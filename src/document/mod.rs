//! A scene with its history and revision.
