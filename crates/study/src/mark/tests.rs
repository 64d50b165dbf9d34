//! Marking.
