//! Where a unit ends inside a formula.

// Helpers of tests may unwrap as tests do.
#![allow(clippy::unwrap_used)]

use forebay_units::{Dimension, Unit};

/// Of `text`, the beginning `taken` is the unit `symbol`.
#[track_caller]
fn check(text: &str, taken: &str, symbol: &str) {
    let (length, unit) = Unit::scan(text).expect(text);
    assert_eq!(&text[..length], taken);
    assert_eq!(unit.unwrap().symbol(), symbol);
}

#[test]
fn the_longest_known_beginning_is_taken() {
    check("m", "m", "m");
    check("m + x", "m", "m");
    check("m/bore", "m", "m");
    check("m/s/bore", "m/s", "m/s");
    check("m/s^2)", "m/s^2", "m/s^2");
    check("m^n", "m", "m");
    check("m^2*n", "m^2", "m^2");
    check("m^(n)", "m", "m");
    check("m^(1/2)/s", "m^(1/2)/s", "m^(1/2)/s");
    check("m^-1", "m^-1", "m^-1");
    check("m^0.5", "m^0.5", "m^(1/2)");
    check("m^-x", "m", "m");
    check("m**2", "m**2", "m^2");
    check("m ** 2", "m", "m");
    check("m**x", "m", "m");
    check("m2,", "m2", "m^2");
    check("mm2", "mm2", "mm^2");
    check("in2", "in2", "in^2");
    check("kg/m3", "kg/m3", "kg/m^3");
    check("m/s2", "m/s2", "m/s^2");
    check("kg*m/s²", "kg*m/s²", "kg·m/s^2");
    check("N·m", "N·m", "N·m");
    check("m⁻¹", "m⁻¹", "m^-1");
    check("%*x", "%", "%");
    check("% 3", "%", "%");
    check("\u{3bc}m", "\u{3bc}m", "\u{b5}m");
    check("um", "um", "\u{b5}m");
    check("°C", "°C", "degC");
    check("\u{2126}/km", "\u{2126}/km", "ohm/km");
    check("kΩ", "kΩ", "kohm");
    check("1/s", "1/s", "1/s");
    check("l/s", "l/s", "L/s");
    check("EUR/kWh * x", "EUR/kWh", "EUR/kWh");
    check("m/2", "m", "m");
    check("m.max", "m", "m");
    check("m/gal", "m", "m");
    check("ftH2O", "ftH2O", "ftH2O");
}

#[test]
fn a_first_word_that_is_no_unit_is_taken_whole() {
    for (text, word) in [
        ("m_x/s", "m_x"),
        ("gal/min", "gal"),
        ("AWG", "AWG"),
        ("kg2", "kg2"),
        ("mmm2", "mmm2"),
        ("größe*2", "größe"),
    ] {
        let (length, unit) = Unit::scan(text).unwrap();
        assert_eq!(&text[..length], word);
        assert_eq!(unit.unwrap_err().range(), 0..word.len());
    }
}

#[test]
fn a_known_unit_that_cannot_be_is_an_error_over_its_length() {
    let (length, unit) = Unit::scan("degC/m*x").unwrap();
    assert_eq!(length, "degC/m".len());
    assert!(unit.is_err());
}

#[test]
fn no_word_no_unit() {
    for text in ["", " m", "+ 3", "2 m", ")", "1/x", "1/2", "1", "/s", "^2", "²"] {
        assert_eq!(Unit::scan(text), None, "{text}");
    }
}

#[test]
fn words_of_a_tail() {
    let words = |text| Unit::words(text).collect::<Vec<_>>();
    assert_eq!(words("L/s^2"), [("L", 0..1), ("s", 2..3)]);
    assert_eq!(words("1/h"), [("h", 2..3)]);
    assert_eq!(words("m^(1/2)·bore"), [("m", 0..1), ("bore", 9..13)]);
    assert_eq!(words("m2/µm"), [("m2", 0..2), ("µm", 3..6)]);
    assert!(words("").is_empty());
    assert!(words("2e3 ^ 7x").is_empty());
}

#[test]
fn a_stroke_holds_for_the_next_symbol_only() {
    let unit = Unit::parse("kg/m*s^2").unwrap();
    assert_eq!(unit.dimension(), Dimension::of(-1, 1, 2, 0, 0, 0, 0));
    assert_eq!(Unit::parse("N m").unwrap().symbol(), "N·m");
    assert_eq!(Unit::parse(" kg m/s^2 ").unwrap().dimension(), Dimension::FORCE);
    assert_eq!(Unit::parse("1").unwrap(), Unit::ONE);
}
