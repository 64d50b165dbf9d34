//! Logarithms without branches, so that a loop over many rows runs them side by side, and without a
//! function of the platform, so that every machine finds the same digits.
//!
//! The method is that of the freely available mathematics library of Sun Microsystems (K. C. Ng,
//! 1993): x = 2^k m with m from √½ to √2, ln m by a minimax polynomial in s = (m − 1)/(m + 1), and
//! the parts added from small to large. Within one unit in the last place.

const LN2_HIGH: f64 = 6.931_471_803_691_238e-1;
const LN2_LOW: f64 = 1.908_214_929_270_587_7e-10;
const LOG10_2_HIGH: f64 = 3.010_299_956_636_117_7e-1;
const LOG10_2_LOW: f64 = 3.694_239_077_158_931e-13;
const ONE_OVER_LN10_HIGH: f64 = 4.342_944_818_781_689e-1;
const ONE_OVER_LN10_LOW: f64 = 2.508_294_671_164_527_5e-11;
/// The coefficients of the polynomial.
const L: [f64; 7] = [
    6.666_666_666_666_735e-1,
    3.999_999_999_940_942e-1,
    2.857_142_874_366_239e-1,
    2.222_219_843_214_978_4e-1,
    1.818_357_216_161_805e-1,
    1.531_383_769_920_937_3e-1,
    1.479_819_860_511_658_6e-1,
];

/// x = 2^k (1 + f), and what the series gives for ln(1 + f) beyond f − f²/2.
struct Parts {
    k: f64,
    f: f64,
    half_square: f64,
    s: f64,
    series: f64,
}

/// The natural logarithm; −∞ at zero, NaN below.
///
/// ```
/// assert_eq!(forebay_formulas::ln(1.0), 0.0);
/// assert_eq!(forebay_formulas::ln(std::f64::consts::E), 1.0);
/// ```
#[inline(always)]
#[must_use]
pub fn ln(x: f64) -> f64 {
    let Parts { k, f, half_square, s, series } = parts(x);
    let inside = half_square - (s * (half_square + series) + k * LN2_LOW) - f;
    at_the_ends(x, k * LN2_HIGH - inside)
}

/// The natural logarithm of a number that is known to be a normal one above zero.
#[inline(always)]
pub(crate) fn ln_of_normal(x: f64) -> f64 {
    let Parts { k, f, half_square, s, series } = parts_of_normal(x);
    k * LN2_HIGH - (half_square - (s * (half_square + series) + k * LN2_LOW) - f)
}

/// The natural logarithm of a normal number above zero to within 0.008, to begin a search with.
#[inline(always)]
pub(crate) fn rough_ln(x: f64) -> f64 {
    let bits = x.to_bits();
    let exponent = f64::from_bits((bits >> 52) | 0x4330_0000_0000_0000) - 4_503_599_627_371_519.0;
    let m = f64::from_bits((bits & 0x000f_ffff_ffff_ffff) | 0x3ff0_0000_0000_0000);
    // A parabola through log2 at both ends and near the middle of an octave.
    std::f64::consts::LN_2 * (exponent + (m - 1.0) * (5.0 - m) / 3.0)
}

/// The decimal logarithm; exact for whole powers of ten.
///
/// ```
/// assert_eq!(forebay_formulas::log10(1000.0), 3.0);
/// ```
#[inline(always)]
#[must_use]
pub fn log10(x: f64) -> f64 {
    let Parts { k, f, half_square, s, series } = parts(x);
    // f − f²/2 in two parts, the upper one short enough for exact products.
    let high = f64::from_bits((f - half_square).to_bits() & 0xffff_ffff_0000_0000);
    let low = (f - high) - half_square + s * (half_square + series);
    let upper = high * ONE_OVER_LN10_HIGH;
    let of_k = k * LOG10_2_HIGH;
    let lower = k * LOG10_2_LOW + (low + high) * ONE_OVER_LN10_LOW + low * ONE_OVER_LN10_HIGH;
    let sum = of_k + upper;
    at_the_ends(x, (lower + ((of_k - sum) + upper)) + sum)
}

#[inline(always)]
fn parts(x: f64) -> Parts {
    // Numbers below the normal ones are brought among them first.
    let tiny = x < f64::MIN_POSITIVE;
    let scaled = if tiny { x * 18_014_398_509_481_984.0 } else { x };
    let offset = if tiny { 54.0 } else { 0.0 };
    let Parts { k, f, half_square, s, series } = parts_of_normal(scaled);
    Parts { k: k - offset, f, half_square, s, series }
}

#[inline(always)]
fn parts_of_normal(scaled: f64) -> Parts {
    // Moves the boundary between exponents to √½.
    let bits = scaled.to_bits().wrapping_add(0x3ff0_0000_0000_0000 - 0x3fe6_a09e_667f_3bcd);
    // The exponent as a number: placed into the low digits of 2^52.
    let exponent = f64::from_bits((bits >> 52) | 0x4330_0000_0000_0000) - 4_503_599_627_370_496.0;
    let mantissa = (bits & 0x000f_ffff_ffff_ffff).wrapping_add(0x3fe6_a09e_667f_3bcd);
    let k = exponent - 1023.0;
    let f = f64::from_bits(mantissa) - 1.0;
    let half_square = 0.5 * f * f;
    let s = f / (2.0 + f);
    let z = s * s;
    let w = z * z;
    let even = w * (L[1] + w * (L[3] + w * L[5]));
    let odd = z * (L[0] + w * (L[2] + w * (L[4] + w * L[6])));
    Parts { k, f, half_square, s, series: even + odd }
}

#[inline(always)]
fn at_the_ends(x: f64, usual: f64) -> f64 {
    let usual = if x > 0.0 { usual } else { f64::NAN };
    let usual = if x == 0.0 { f64::NEG_INFINITY } else { usual };
    if x == f64::INFINITY { f64::INFINITY } else { usual }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Steps of the last place between two numbers.
    fn apart(a: f64, b: f64) -> u64 {
        a.to_bits().abs_diff(b.to_bits())
    }

    #[test]
    fn as_the_platform_has_it_within_a_unit_in_the_last_place() {
        // A sequence that visits every exponent.
        let mut x = f64::MIN_POSITIVE / 1e10;
        while x < 1e308 {
            assert!(apart(ln(x), x.ln()) <= 1, "ln {x}: {} {}", ln(x), x.ln());
            assert!(apart(log10(x), x.log10()) <= 2, "lg {x}: {} {}", log10(x), x.log10());
            x *= 1.000_7 + x.fract() * 0.01;
        }
        for near_one in [1.0 - f64::EPSILON, 1.0 + f64::EPSILON, 0.999_9, 1.000_1] {
            assert!(apart(ln(near_one), near_one.ln()) <= 1, "{near_one}");
        }
    }

    #[test]
    fn the_rough_one_is_near_and_the_one_of_normal_numbers_the_same() {
        let mut x = 1e-9;
        while x < 1e3 {
            assert!((rough_ln(x) - x.ln()).abs() < 8e-3, "{x}");
            assert_eq!(ln_of_normal(x), ln(x));
            x *= 1.003;
        }
    }

    #[test]
    fn powers_of_ten_are_whole_and_ends_are_what_they_are() {
        let mut power = 1.0;
        for exponent in 0..=22 {
            assert_eq!(log10(power), f64::from(exponent));
            power *= 10.0;
        }
        assert_eq!(ln(0.0), f64::NEG_INFINITY);
        assert_eq!(log10(f64::INFINITY), f64::INFINITY);
        assert!(ln(-1.0).is_nan() && log10(f64::NAN).is_nan());
        assert_eq!(ln(5e-324), 5e-324_f64.ln());
    }
}
