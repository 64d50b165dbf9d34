//! Which unit suits a value, and how numbers look.

// Helpers of tests may unwrap as tests do.
#![allow(clippy::unwrap_used)]

use forebay_units::{
    Currency, Quantity, System, display_unit, format_in, format_significant, search, shortest,
};

/// What a quantity looks like in SI and in US units, to four digits.
#[track_caller]
fn check(text: &str, si: &str, us: &str) {
    let quantity = Quantity::parse(text).unwrap();
    for (system, expected) in [(System::Si, si), (System::Us, us)] {
        let currency = Currency::by_code("DKK");
        let unit = display_unit(quantity.dimension(), quantity.si(), system, currency);
        assert_eq!(format_in(quantity.si(), &unit, 4).as_deref(), Some(expected));
    }
}

#[test]
fn results_are_shown_in_the_units_of_the_trade() {
    check("12 ft", "3.658 m", "12.00 ft");
    check("54 mm", "54.00 mm", "2.126 in");
    check("31.5 L/s", "31.50 L/s", "1.112 cfs");
    check("20 L/s", "20.00 L/s", "317.0 gpm");
    check("2 m^3/s", "2.000 m^3/s", "70.63 cfs");
    check("1.84 kW", "1.840 kW", "1.840 kW");
    check("11.2 MWh", "11200 kWh", "11200 kWh");
    check("71 kPa_abs", "71.00 kPa_abs", "10.30 psia");
    check("9 inHg_vacuum", "-30.48 kPa", "-4.420 psi");
    check("8 degC", "8.000 degC", "46.40 degF");
    check("9 K", "9.000 K", "16.20 delta_degF");
    check("750 rpm", "750.0 rpm", "750.0 rpm");
    check("0.31 DKK/kWh", "0.3100 DKK/kWh", "0.3100 DKK/kWh");
    check("2.5 DKK", "2.500 DKK", "2.500 DKK");
    check("3 DKK*m", "3.000 m·DKK", "3.000 m·DKK");
    check("72 %", "0.7200", "0.7200");
    check("3 yr", "3.000 yr", "3.000 yr");
    check("0 m", "0 m", "0 ft");
    check("1.3 mPa*s", "1.300 mPa·s", "1.300 cP");
}

#[test]
fn significant_digits() {
    for (value, digits, shown) in [
        (2.718_91, 4, "2.719"),
        (310.0, 4, "310.0"),
        (12_345.0, 4, "12345"),
        (12_345.6, 4, "12346"),
        (0.000_5, 3, "0.000500"),
        (1.234e-6, 4, "1.234e-6"),
        (-1.5e15, 3, "-1.50e15"),
        (9.999_9, 3, "10.0"),
        (0.0, 4, "0"),
        (-0.0, 4, "0"),
        (7.0, 0, "7"),
    ] {
        assert_eq!(format_significant(value, digits).as_deref(), Some(shown));
    }
    for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        assert_eq!(format_significant(value, 4), None);
        assert_eq!(shortest(value), None);
    }
    assert_eq!(shortest(0.1).as_deref(), Some("0.1"));
    assert_eq!(shortest(1e300).as_deref(), Some("1e300"));
    assert_eq!(shortest(-0.0).as_deref(), Some("0"));
}

#[test]
fn the_catalogue_is_searched_by_symbol_and_name() {
    let found: Vec<_> = search("horsepower").map(|row| row.symbol).collect();
    assert_eq!(found, ["hp_mechanical", "hp_metric", "hp_electric"]);
    assert!(search("RPM").any(|row| row.symbol == "rpm"));
    assert_eq!(search("no such thing").count(), 0);
}
