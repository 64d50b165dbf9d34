//! What is refused, where, and with which way out.

// Helpers of tests may unwrap as tests do.
#![allow(clippy::unwrap_used)]

use forebay_units::{
    Dimension, DimensionError, Quantity, QuantityError, Unit, UnitError, ambiguous_words,
    refused_words,
};

/// The error of a text: its message, help and the words it points at.
#[track_caller]
fn check(text: &str, message: &str, help: &str, at: &str) {
    let error = Unit::parse(text).expect_err(text);
    assert_eq!(error.to_string(), message);
    assert_eq!(error.help(), help);
    assert_eq!(&text[error.range()], at);
}

#[test]
fn every_ambiguous_word_names_its_choices() {
    for row in ambiguous_words() {
        assert!(row.choices.len() > 1, "{:?}", row.words);
        for word in row.words {
            let error = Unit::parse(word).unwrap_err();
            assert!(matches!(&error, UnitError::Ambiguous { .. }), "{word}: {error:?}");
            for choice in row.choices {
                assert!(error.help().contains(choice), "{word} does not name {choice}");
                Unit::parse(choice).unwrap();
            }
            let (length, scanned) = Unit::scan(&format!("{word}/min")).unwrap();
            assert_eq!(length, word.len());
            assert_eq!(scanned, Err(error));
        }
    }
    for word in ["gal", "gallon", "hp", "oz", "ton", "tons", "Btu", "BTU", "cal", "pint", "quart"] {
        assert!(matches!(Unit::parse(word), Err(UnitError::Ambiguous { .. })), "{word}");
    }
}

#[test]
fn refused_words_say_why() {
    for row in refused_words() {
        for word in row.words {
            let error = Unit::parse(word).unwrap_err();
            assert!(matches!(&error, UnitError::Refused { .. }), "{word}: {error:?}");
            assert_eq!(error.help(), row.why);
        }
    }
    let error = Quantity::parse("12 AWG").unwrap_err();
    assert!(error.help().contains("awg_diameter"), "{}", error.help());
    assert_eq!(error.range(), 3..6);
}

#[test]
fn messages_and_places() {
    check("gal/min", "`gal` is the name of several units", "write gal_US or gal_UK", "gal");
    check("L/KWH", "unknown unit `KWH`", "did you mean kWh?", "KWH");
    check(
        "W/degC",
        "`degC` is a reading and cannot be combined with other units: use W/K",
        "a unit that is combined with others counts differences: use W/K",
        "degC",
    );
    check(
        "degF/ft",
        "`degF` is a reading and cannot be combined with other units: use delta_degF/ft",
        "a unit that is combined with others counts differences: use delta_degF/ft",
        "degF",
    );
    check(
        "EUR/USD",
        "two currencies in one unit, EUR and USD",
        "keep a sheet in one currency, and make a rate of exchange a plain number",
        "USD",
    );
    check(
        "ct/kWh",
        "`ct` is no unit",
        "write the part of the currency, such as 0.31 EUR/kWh",
        "ct",
    );
    check(
        "m^n",
        "a power is a whole number or a fraction such as ^(1/2)",
        "write symbols with / and * and whole powers, such as kg/m^3 or kW*h",
        "^n",
    );
}

#[test]
fn readings_do_not_combine() {
    for (text, instead) in [
        ("degC/m", "K/m"),
        ("degC^2", "K^2"),
        ("1/degC", "1/K"),
        ("kPa_abs*m", "kPa·m"),
        ("psia/ft", "psi/ft"),
        ("kPa_vacuum/s", "kPa/s"),
    ] {
        match Unit::parse(text) {
            Err(UnitError::Combined { instead: found, .. }) => assert_eq!(found, instead),
            other => panic!("{text}: {other:?}"),
        }
        Unit::parse(instead).unwrap();
    }
}

#[test]
fn texts_that_are_no_unit() {
    for text in [
        "",
        " ",
        "/",
        "m/",
        "m//s",
        "m/ s",
        "m / s",
        "m^",
        "m^^2",
        "m^0",
        "m^(1/7)",
        "m(",
        "m)s",
        "m^-",
        "m^99",
        "2",
        "1/",
        "1/1",
        "m/2",
        "m^(1/0)",
        "nm^12*nm^12*nm^12",
        "m^(",
        "m_x",
        "mm_",
        "\u{0}",
        "m,s",
    ] {
        let error = Unit::parse(text).expect_err(text);
        assert!(error.range().end <= text.len(), "{text}: {error:?}");
        assert!(!error.to_string().starts_with(char::is_uppercase));
        assert!(!error.help().is_empty());
    }
    assert!(Unit::parse(&["m"; 10_000].join("*")).is_err());
}

#[test]
fn texts_that_are_no_quantity() {
    for (text, at) in [
        ("", ""),
        ("m", "m"),
        ("1,000 m", "1,000 m"),
        ("1 000 m", "000 m"),
        ("5 ft 3 in", "3 in"),
        ("1e999 m", "1e999"),
        ("  5 gal ", "gal"),
        ("-5 kPa_abs", "-5 kPa_abs"),
        ("-300 degC", "-300 degC"),
        ("- 5 m", "- 5 m"),
        ("nan", "nan"),
        ("inf m", "inf m"),
        ("1.7e308 km", "1.7e308"),
    ] {
        let error = Quantity::parse(text).expect_err(text);
        assert_eq!(&text[error.range()], at, "{error:?}");
        assert!(!error.help().is_empty());
    }
    let below = Quantity::parse("-300 degC").unwrap_err();
    assert!(matches!(below, QuantityError::BelowZero { .. }));
    assert_eq!(below.to_string(), "absolute temperature cannot be below zero");
}

#[test]
fn the_two_zeros_are_kept_apart() {
    let q = |text| Quantity::parse(text).unwrap();
    assert_eq!(
        q("20 degC").plus(q("20 degC")),
        Err(DimensionError::TwoAbsolutes(Dimension::TEMPERATURE))
    );
    assert!(q("90 kPa_abs").compare(q("20 kPa")).is_err());
    assert!(q("20 K").minus(q("8 degC")).is_err());
    assert!(q("8 degC").negated().is_err());
    assert!(q("8 degC").times(Quantity::plain(2.0)).is_err());
    assert_eq!(q("20 degC").minus(q("8 degC")).unwrap(), q("12 K"));
    assert_eq!(q("101 kPa_abs").plus(q("30 kPa_vacuum")).unwrap(), q("71 kPa_abs"));
    // Angle keeps these three apart.
    assert!(q("50 Hz").compare(q("50 rpm")).is_err());
    assert!(q("1 kW").over(q("750 rpm")).unwrap().compare(q("10 N·m")).is_err());
}
