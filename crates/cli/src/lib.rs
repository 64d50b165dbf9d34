//! (stub)
