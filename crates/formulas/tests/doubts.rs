//! Limits that a computation leaves on its way: they are told with the result, and only then.

use forebay_formulas::{Given, Warning, find};
use forebay_units::{Dimension, Quantity};

const CONCENTRATION: Dimension = Dimension::DENSITY;

fn q(text: &str) -> Given<'static> {
    Given::Quantity(Quantity::parse(text).expect("a quantity"))
}

/// The limits told of a call, whether it gives one value or a series.
fn told(name: &str, given: &[(&str, Given<'_>)]) -> Vec<&'static str> {
    let formula = find(name).expect("a formula");
    let warnings = if formula.result.series {
        formula.call_for_series(given).expect("an answer").1
    } else {
        formula.call(given).expect("an answer").warnings
    };
    warnings
        .iter()
        .filter_map(|w| if let Warning::Limit { says, .. } = w { Some(*says) } else { None })
        .collect()
}

/// A siphon of 200 mm whose crest stands this high over the pond.
fn siphon<'a>(rise: &'a [f64; 2], flow: &str) -> Vec<(&'static str, Given<'a>)> {
    vec![
        ("bore", q("200 mm")),
        ("length", Given::Series(&[11.0, 11.0], Dimension::LENGTH)),
        ("rise", Given::Series(rise, Dimension::LENGTH)),
        ("flow", q(flow)),
        ("start_level", q("0 m")),
        ("pond_level", q("0 m")),
    ]
}

#[test]
fn a_water_column_that_breaks_is_told() {
    // The air holds up 10.34 m of water at 15 °C, its vapour takes 0.17 m of that.
    let (sound, broken) = ([8.0, -9.0], [10.1, -9.0]);
    for name in ["line_pressures", "lowest_pressure", "lowest_pressure_place"] {
        assert_eq!(told(name, &siphon(&sound, "20 L/s")), [""; 0], "{name}");
        let told = told(name, &siphon(&broken, "20 L/s"));
        assert!(told.len() == 1 && told[0].contains("the water column breaks"), "{name}: {told:?}");
    }
}

#[test]
fn suction_below_the_perfect_vacuum_is_told() {
    let under = |height| {
        told(
            "draft_tube_pressure_head",
            &[
                ("height", q(height)),
                ("velocity_in", q("10 m/s")),
                ("velocity_out", q("2 m/s")),
                ("head_loss", q("0.5 m")),
            ],
        )
    };
    assert_eq!(under("3 m"), [""; 0]);
    let told = under("9 m");
    assert!(told.len() == 1 && told[0].contains("perfect vacuum"), "{told:?}");
}

#[test]
fn friction_between_laminar_and_turbulent_is_told() {
    // At 10 °C, 1.307e-6 m²/s: Re 974, 2922 and 9742 in a bore of 100 mm.
    for (flow, doubtful) in [("0.1 L/s", false), ("0.3 L/s", true), ("1 L/s", false)] {
        for name in ["line_loss", "line_losses", "line_profile", "line_energy_profile"] {
            let mut given = vec![
                ("bore", q("100 mm")),
                ("length", q("20 m")),
                ("flow", q(flow)),
                ("temperature", q("10 degC")),
            ];
            if name.ends_with("profile") {
                given.push(("pond_level", q("3 m")));
            }
            let told = told(name, &given);
            assert_eq!(told.iter().any(|t| t.contains("Reynolds")), doubtful, "{name} at {flow}");
        }
    }
    let driven = |head| {
        told("line_flow", &[("bore", q("10 mm")), ("length", q("20 m")), ("head", q(head))]).len()
    };
    // Hagen and Poiseuille: Re 2000 takes 0.17 m here.
    assert_eq!((driven("0.05 m"), driven("0.3 m"), driven("3 m")), (0, 1, 0));
}

#[test]
fn salt_that_has_not_passed_is_told() {
    let of = |readings: &[f64]| {
        told(
            "salt_dilution_flow",
            &[
                ("mass", q("500 g")),
                ("interval", q("20 s")),
                ("concentrations", Given::Series(readings, CONCENTRATION)),
            ],
        )
    };
    assert_eq!(of(&[0.0, 5.0, 20.0, 8.0, 1.0]), [""; 0]);
    assert!(of(&[0.0, 5.0, 20.0, 8.0, 3.0])[0].contains("back to base"));
    // A base that was not taken off comes back as well.
    assert_eq!(of(&[4.0, 9.0, 24.0, 12.0, 4.5]), [""; 0]);
}

#[test]
fn a_sum_that_falls_below_zero_again_is_told() {
    let flows = |flows| ("flows", Given::Series(flows, Dimension::MONEY));
    let steady = flows(&[-1000.0, 600.0, 600.0, 600.0]);
    let replaced = flows(&[-1000.0, 600.0, 600.0, -500.0, 600.0]);
    assert_eq!(told("payback", &[steady]), [""; 0]);
    assert!(told("payback", &[replaced])[0].contains("falls below zero again"));
    let rate = ("rate", q("3 %"));
    assert_eq!(told("discounted_payback", &[rate, steady]), [""; 0]);
    assert!(told("discounted_payback", &[rate, replaced])[0].contains("falls below zero again"));
}
