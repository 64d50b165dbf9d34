//! What holds for every unit, dimension and amount, tried on drawn ones.

// Helpers of tests may unwrap as tests do.
#![allow(clippy::unwrap_used)]

use forebay_units::{
    Currency, Decimal, Dimension, Quantity, Rounding, System, Unit, catalogue, display_unit,
    format_in, format_significant, money, shortest,
};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

/// Every spelling of the table, with every prefix of its row.
fn spellings() -> Vec<String> {
    let mut all = Vec::new();
    for row in catalogue() {
        for word in std::iter::once(&row.symbol).chain(row.spellings) {
            all.push((*word).to_owned());
            all.extend(row.prefixes.chars().map(|prefix| format!("{prefix}{word}")));
        }
    }
    all
}

/// The spellings that go together with others: no readings, no second currency.
fn combinable() -> Vec<String> {
    let fits = |text: &String| {
        let unit = Unit::parse(text).unwrap();
        Unit::parse(&format!("{text}/s")).is_ok() && unit.currency().is_none()
    };
    spellings().into_iter().filter(fits).collect()
}

#[test]
fn every_spelling_reads_and_its_symbol_reads_the_same() {
    let all = spellings();
    assert!(all.len() > 400, "only {}", all.len());
    for text in all {
        let unit = Unit::parse(&text).unwrap_or_else(|e| panic!("{text}: {e}"));
        assert_eq!(Unit::parse(unit.symbol()).as_ref(), Ok(&unit));
        assert_eq!(Unit::scan(&text), Some((text.len(), Ok(unit))));
    }
}

#[test]
fn prefixes_are_powers_of_ten() {
    for (text, si) in [
        ("mm", 1e-3),
        ("mg", 1e-6),
        ("kg", 1.0),
        ("µg", 1e-9),
        ("MPa", 1e6),
        ("hPa", 100.0),
        ("cm", 0.01),
    ] {
        assert_eq!(Unit::parse(text).unwrap().factor(), si, "{text}");
    }
}

prop_compose! {
    fn drawn_unit()(
        parts in prop::collection::vec(
            (prop::sample::select(combinable()), prop::sample::select(vec!["", "^2", "^-1", "^(1/2)", "^(-1/3)", "²"]),
                prop::sample::select(vec!["/", "*", "·"])), 1..5),
        inverse in any::<bool>(),
    ) -> String {
        let mut text = String::new();
        for (i, (word, power, operator)) in parts.iter().enumerate() {
            match (i, inverse) {
                (0, true) => text += "1/",
                (0, false) => {}
                _ => text += operator,
            }
            text += word;
            text += power;
        }
        text
    }
}

prop_compose! {
    fn drawn_dimension()(e in prop::array::uniform7(-6_i16..=6)) -> Dimension {
        Dimension::of(e[0], e[1], e[2], e[3], e[4], e[5], e[6])
    }
}

prop_compose! {
    fn drawn_amount()(minor in -10_000_000_i64..10_000_000, scale in 0_u32..6) -> Decimal {
        Decimal::new(minor, scale)
    }
}

/// The same draws on every machine.
fn seeded() -> ProptestConfig {
    ProptestConfig {
        rng_seed: RngSeed::Fixed(811),
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

proptest! {
    #![proptest_config(seeded())]

    #[test]
    fn a_composed_unit_reads_its_own_symbol(text in drawn_unit()) {
        // A vacuum reading is no part; a unit beyond all size may be refused.
        if let Ok(unit) = Unit::parse(&text) {
            prop_assert_eq!(Unit::parse(unit.symbol()), Ok(unit.clone()));
            prop_assert_eq!(Unit::scan(&text), Some((text.len(), Ok(unit))));
        }
    }

    #[test]
    fn a_product_of_units_is_the_product_of_their_factors(
        a in prop::sample::select(combinable()), b in prop::sample::select(combinable()),
    ) {
        let (one, two) = (Unit::parse(&a).unwrap(), Unit::parse(&b).unwrap());
        let both = Unit::parse(&format!("{a}*{b}")).unwrap();
        let over = Unit::parse(&format!("{a}/{b}")).unwrap();
        prop_assert_eq!(both.dimension(), one.dimension().times(two.dimension()).unwrap());
        prop_assert_eq!(over.dimension(), one.dimension().over(two.dimension()).unwrap());
        prop_assert!((both.factor() / (one.factor() * two.factor()) - 1.0).abs() < 1e-14);
        prop_assert!((over.factor() / (one.factor() / two.factor()) - 1.0).abs() < 1e-14);
    }

    #[test]
    fn a_shown_quantity_reads_the_same(
        text in prop::sample::select(spellings()), value in -1e6_f64..1e6, us in any::<bool>(),
    ) {
        let unit = Unit::parse(&text).unwrap();
        let value = if unit.dimension().is_absolute() { value.abs() } else { value };
        let quantity = Quantity::of(value, &unit);
        let system = if us { System::Us } else { System::Si };
        let shown_in = display_unit(quantity.dimension(), quantity.si(), system, unit.currency());
        prop_assert_eq!(shown_in.dimension(), quantity.dimension());
        let shown = format_in(quantity.si(), &shown_in, 17).unwrap();
        let again = Quantity::parse(&shown).unwrap();
        prop_assert_eq!(again.dimension(), quantity.dimension());
        // Of a temperature the noise is that of its zero.
        let noise = 1e-14 * quantity.si().abs().max(shown_in.offset());
        prop_assert!((again.si() - quantity.si()).abs() <= noise, "{} {}", shown, again.si());
    }

    #[test]
    fn numbers_print_and_read(value in any::<f64>(), digits in 1_usize..18) {
        if value.is_finite() {
            prop_assert_eq!(shortest(value).unwrap().parse::<f64>(), Ok(value));
            let shown: f64 = format_significant(value, digits).unwrap().parse().unwrap();
            let off = (shown - value).abs();
            // Half a unit of the last digit, and the last bit of the number read back.
            let digits = i32::try_from(digits).unwrap();
            prop_assert!(off <= 5.01 * value.abs() * 10_f64.powi(-digits) + value.abs() * f64::EPSILON + f64::MIN_POSITIVE);
        } else {
            prop_assert_eq!(shortest(value), None);
            prop_assert_eq!(format_significant(value, digits), None);
        }
    }

    #[test]
    fn any_text_is_read_or_refused_in_its_range(text in "\\PC{0,24}") {
        if let Err(error) = Unit::parse(&text) {
            prop_assert!(text.get(error.range()).is_some());
        }
        if let Err(error) = Quantity::parse(&text) {
            prop_assert!(text.get(error.range()).is_some());
        }
        if let Some((length, _)) = Unit::scan(&text) {
            prop_assert!(length > 0 && text.is_char_boundary(length));
        }
        for (word, range) in Unit::words(&text) {
            prop_assert_eq!(&text[range], word);
        }
    }

    #[test]
    fn near_units_are_read_or_refused_in_their_range(text in "[mskgPaEUR1/*^()·²_ 0-9-]{0,16}") {
        if let Err(error) = Unit::parse(&text) {
            prop_assert!(text.get(error.range()).is_some());
        }
        if let Some((length, Ok(unit))) = Unit::scan(&text) {
            prop_assert_eq!(Unit::parse(&text[..length]), Ok(unit));
        }
    }

    #[test]
    fn dimensions_multiply_as_a_group(
        a in drawn_dimension(), b in drawn_dimension(), c in drawn_dimension(),
    ) {
        let times = |x: Dimension, y| x.times(y).unwrap();
        prop_assert_eq!(times(a, b), times(b, a));
        prop_assert_eq!(times(times(a, b), c), times(a, times(b, c)));
        prop_assert_eq!(times(a, Dimension::NONE), a);
        prop_assert_eq!(a.over(a), Ok(Dimension::NONE));
        prop_assert_eq!(times(a, b).over(b), Ok(a));
        prop_assert_eq!(a.to_power(-1.0), Dimension::NONE.over(a));
    }

    #[test]
    fn powers_undo_one_another(a in drawn_dimension(), b in drawn_dimension(), n in 1_i32..=6) {
        let n = f64::from(n);
        prop_assert_eq!(a.to_power(1.0 / n).unwrap().to_power(n), Ok(a));
        prop_assert_eq!(a.to_power(n).unwrap().to_power(1.0 / n), Ok(a));
        let both = a.times(b).unwrap().to_power(n);
        prop_assert_eq!(both, a.to_power(n).unwrap().times(b.to_power(n).unwrap()));
        prop_assert_eq!(a.to_power(2.0), a.times(a));
    }

    #[test]
    fn base_units_read_as_their_dimension(a in drawn_dimension(), root in 1_i32..=4) {
        let a = a.to_power(1.0 / f64::from(root)).unwrap();
        let unit = Unit::coherent(a, Currency::by_code("NOK"));
        let again = Unit::parse(unit.symbol()).unwrap();
        prop_assert_eq!(again.dimension(), a);
        prop_assert_eq!(again.factor(), 1.0);
        prop_assert_eq!(again.currency(), unit.currency());
    }

    #[test]
    fn unlike_dimensions_do_not_add(a in drawn_dimension(), b in drawn_dimension()) {
        prop_assert_eq!(a.plus(b).is_ok(), a == b);
        prop_assert_eq!(a.minus(b).is_ok(), a == b);
        prop_assert_eq!(a.alike(b).is_ok(), a == b);
    }

    #[test]
    fn readings_and_differences(level in 0.0_f64..90.0, step in -40.0_f64..40.0) {
        let degree = Unit::parse("degC").unwrap();
        let (kelvin, fahrenheit) = (Unit::parse("K").unwrap(), Unit::parse("degF").unwrap());
        let start = Quantity::of(level, &degree);
        let moved = start.plus(Quantity::of(step, &kelvin)).unwrap();
        prop_assert!((moved.in_unit(&degree).unwrap() - (level + step)).abs() < 1e-9);
        let back = moved.minus(start).unwrap();
        prop_assert_eq!(back.dimension(), Dimension::TEMPERATURE_DIFFERENCE);
        prop_assert!((back.in_unit(&kelvin).unwrap() - step).abs() < 1e-9);
        // t/°F = 1.8 t/°C + 32, NIST SP 811 (2008), section B.4.
        prop_assert!((start.in_unit(&fahrenheit).unwrap() - (1.8 * level + 32.0)).abs() < 1e-9);
    }

    #[test]
    fn sums_of_money_do_not_depend_on_their_order(
        (amounts, shuffled) in prop::collection::vec(drawn_amount(), 0..40)
            .prop_flat_map(|v| (Just(v.clone()), Just(v).prop_shuffle())),
    ) {
        prop_assert_eq!(amounts.iter().sum::<Decimal>(), shuffled.iter().sum::<Decimal>());
    }

    #[test]
    fn amounts_print_read_and_pass_through_numbers(amount in drawn_amount()) {
        prop_assert_eq!(money::parse_amount(&amount.to_string()), Ok(amount));
        prop_assert_eq!(money::from_number(money::to_number(amount)), Some(amount));
    }

    #[test]
    fn rounding_is_by_half_a_minor_unit_at_most(amount in drawn_amount()) {
        for currency in Currency::all() {
            let places = u32::from(currency.minor_units());
            for rounding in [Rounding::HalfEven, Rounding::HalfUp] {
                let rounded = money::round_to_minor(amount, currency, rounding);
                prop_assert!(rounded.normalize().scale() <= places);
                prop_assert!((rounded - amount).abs() * Decimal::TWO <= Decimal::new(1, places));
            }
        }
    }
}
