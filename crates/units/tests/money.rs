//! Money, exact to the last place.

// Helpers of tests may unwrap as tests do.
#![allow(clippy::unwrap_used)]

use forebay_units::money::{self, AmountError};
use forebay_units::{Currency, Decimal, Quantity, Rounding};

fn currency(code: &str) -> Currency {
    Currency::by_code(code).unwrap()
}

fn amount(text: &str) -> Decimal {
    money::parse_amount(text).unwrap()
}

#[test]
fn tenths_add_exactly() {
    assert_eq!(amount("0.10") + amount("0.20"), amount("0.30"));
    // Which binary numbers do not.
    assert_ne!(0.1 + 0.2, 0.3);
}

#[test]
fn a_tariff_times_energy_is_exact() {
    let price = Quantity::parse("0.31 EUR/kWh").unwrap();
    let energy = Quantity::parse("9000 kWh").unwrap();
    let bill = price.times(energy).unwrap();
    assert_eq!(money::from_number(bill.si()), Some(amount("2790")));
    let shown = money::format_amount(money::from_number(bill.si()).unwrap(), currency("EUR"));
    assert_eq!(shown, "2790.00 EUR");
}

#[test]
fn amounts_are_shown_with_the_minor_units_of_their_currency() {
    // Minor units: ISO 4217, from memory.
    for (text, code, shown) in [
        ("1234.565", "EUR", "1234.56 EUR"),
        ("1234.575", "EUR", "1234.58 EUR"),
        ("1234.5", "JPY", "1234 JPY"),
        ("1.2345", "KWD", "1.234 KWD"),
        ("-0.001", "USD", "0.00 USD"),
        ("-2.5", "GBP", "-2.50 GBP"),
    ] {
        assert_eq!(money::format_amount(amount(text), currency(code)), shown);
    }
}

#[test]
fn the_rule_of_rounding_is_the_callers() {
    for (text, even, up) in
        [("0.125", "0.12", "0.13"), ("0.135", "0.14", "0.14"), ("-0.125", "-0.12", "-0.13")]
    {
        let round = |rule| money::round_to_minor(amount(text), currency("SEK"), rule);
        assert_eq!(round(Rounding::HalfEven), amount(even));
        assert_eq!(round(Rounding::HalfUp), amount(up));
    }
}

#[test]
fn numbers_become_amounts_without_their_noise() {
    for (number, text) in [
        (0.1 + 0.2, "0.3"),
        (2_790.000_000_000_000_5, "2790"),
        (-0.07, "-0.07"),
        (1e20, "100000000000000000000"),
        (1.234_5e-8, "0.000000012345"),
        (1e-40, "0"),
        (0.0, "0"),
    ] {
        assert_eq!(money::from_number(number), Some(amount(text)), "{number}");
    }
    for number in [f64::NAN, f64::INFINITY, 1e28, -1e300] {
        assert_eq!(money::from_number(number), None, "{number}");
    }
}

#[test]
fn amounts_that_are_refused() {
    for text in ["", "-", ".", "1,000", "1e3", "1.2.3", "EUR", "--1", "1 000"] {
        assert_eq!(money::parse_amount(text), Err(AmountError::Malformed(text.into())), "{text}");
    }
    let long = "0.".to_owned() + &"1".repeat(40);
    assert!(matches!(money::parse_amount(&long), Err(AmountError::TooLong(_))));
}

#[test]
fn codes_are_sorted_and_single() {
    let codes: Vec<_> = Currency::all().map(Currency::code).collect();
    assert!(codes.is_sorted_by(|a, b| a < b));
    assert!(codes.iter().all(|c| c.len() == 3 && c.chars().all(|c| c.is_ascii_uppercase())));
}
