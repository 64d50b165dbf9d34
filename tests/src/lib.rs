//! Whole worksheets held against what they must give.
