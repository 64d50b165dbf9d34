//! Variants.
