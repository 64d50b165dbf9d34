//! The arithmetic of single steps, as every executor takes it; `None` where there is no result that
//! may go on.

use crate::program::Binary;
use crate::term::{Comparison, Math};

/// A quotient; none by zero.
#[inline(always)]
pub(crate) fn divide(a: f64, b: f64) -> Option<f64> {
    if b == 0.0 { None } else { Some(a / b) }
}

/// A power; those that hydraulics takes most are made of products and a root.
#[inline(always)]
pub(crate) fn power(base: f64, exponent: f64) -> f64 {
    if exponent == 2.0 {
        base * base
    } else if exponent == 0.5 {
        base.sqrt()
    } else if exponent == 1.5 {
        base * base.sqrt()
    } else if exponent == 2.5 {
        base * base * base.sqrt()
    } else if exponent == 3.0 {
        base * base * base
    } else {
        base.powf(exponent)
    }
}

/// A function of one number as such.
#[inline]
pub(crate) fn bare_math(f: Math, x: f64) -> f64 {
    match f {
        Math::Abs => x.abs(),
        Math::Sqrt => x.sqrt(),
        Math::Cbrt => x.cbrt(),
        Math::Exp => x.exp(),
        Math::Ln => forebay_formulas::ln(x),
        Math::Log10 => forebay_formulas::log10(x),
        Math::Sin => x.sin(),
        Math::Cos => x.cos(),
        Math::Tan => x.tan(),
        Math::Asin => x.asin(),
        Math::Acos => x.acos(),
        Math::Atan => x.atan(),
        Math::Floor => x.floor(),
        Math::Ceiling => x.ceil(),
        Math::Round => x.round(),
    }
}

/// A function of one number; none where it has no finite value.
#[inline]
pub(crate) fn math(f: Math, x: f64) -> Option<f64> {
    let result = bare_math(f, x);
    (result.is_finite() || !x.is_finite()).then_some(result)
}

/// A step of two numbers.
#[inline]
pub(crate) fn binary(what: Binary, a: f64, b: f64) -> Option<f64> {
    match what {
        Binary::Remainder => (b != 0.0).then(|| a % b),
        Binary::Power => Some(power(a, b)).filter(|p| p.is_finite()),
        Binary::Atan2 => Some(a.atan2(b)),
        Binary::Least => Some(if b < a { b } else { a }),
        Binary::Greatest => Some(if b > a { b } else { a }),
    }
}

/// Whether a comparison holds; none where one side has no value.
#[inline]
pub(crate) fn compare(how: Comparison, a: f64, b: f64) -> Option<bool> {
    a.partial_cmp(&b).map(|order| how.holds(order))
}
