//! The checked call by name: what it refuses, in which words, and what it warns of.

use forebay_formulas::{Given, Kind, all, call, find, search};
use forebay_units::Quantity;

/// Calls with arguments as text; a value that does not start with a digit is a word of a choice.
fn check(name: &str, arguments: &[(&str, &str)], expected: &str) {
    let given: Vec<(&str, Given<'_>)> = arguments
        .iter()
        .map(|(parameter, text)| {
            let given = if text.starts_with(|c: char| c.is_ascii_digit() || c == '-') {
                Given::Quantity(Quantity::parse(text).expect("a quantity"))
            } else {
                Given::Word(text)
            };
            (*parameter, given)
        })
        .collect();
    let found = match call(name, &given) {
        Ok(outcome) if outcome.warnings.is_empty() => "fine".to_owned(),
        Ok(outcome) => {
            outcome.warnings.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
        }
        Err(error) => error.to_string(),
    };
    assert_eq!(found, expected);
}

#[test]
fn names_are_held() {
    check(
        "circle_aera",
        &[("bore", "20 mm")],
        "unknown formula circle_aera; did you mean circle_area?",
    );
    check("zzz", &[("bore", "20 mm")], "unknown formula zzz");
    check(
        "circle_area",
        &[("bor", "20 mm")],
        "circle_area: unknown parameter bor; did you mean bore?",
    );
    check("reynolds_number", &[("bore", "20 mm")], "reynolds_number: velocity is missing");
    check(
        "circle_area",
        &[("bore", "20 mm"), ("bore", "30 mm")],
        "circle_area: bore is given twice",
    );
}

#[test]
fn dimensions_are_held() {
    check("circle_area", &[("bore", "20 L")], "circle_area: bore: expected length, found volume");
    check(
        "pressure_head",
        &[("pressure", "20 kPa_abs")],
        "pressure_head: pressure: expected pressure difference, found absolute pressure",
    );
    check(
        "water_density",
        &[("temperature", "5 K")],
        "water_density: temperature: expected absolute temperature, found temperature difference",
    );
    check(
        "entrance_loss_coefficient",
        &[("shape", "bent")],
        "entrance_loss_coefficient: shape: expected one of \"projecting\", \"flush\", \
         \"flush_rennels\", \"flush_miller\", \"rounded\", \"bellmouth\", found \"bent\"",
    );
    check("circle_area", &[("bore", "wide")], "circle_area: bore: expected length, found \"wide\"");
}

#[test]
fn ranges_refuse_and_warn() {
    check("circle_area", &[("bore", "0 m")], "circle_area: bore: must be more than 0 m, found 0 m");
    check(
        "weir_v_notch_flow",
        &[("head", "0.15 m"), ("angle", "120 deg")],
        "weir_v_notch_flow: angle is 120 deg; the source covers from 25 deg to 100 deg",
    );
    check(
        "friction_factor",
        &[("reynolds", "3000"), ("relative_roughness", "0.001")],
        "friction_factor: outside its limit a Reynolds number below 2000 or above 4000: in between \
         the flow is neither laminar nor turbulent and no factor is certain",
    );
    check("friction_factor", &[("reynolds", "5000"), ("relative_roughness", "0.001")], "fine");
    check(
        "flume_parshall_flow",
        &[("throat", "4 in"), ("head", "0.2 m")],
        "flume_parshall_flow: no answer: it needs a throat of 1, 2, 3, 6 or 9 in, or from 1 to 8 ft",
    );
    check(
        "crest_pressure",
        &[("crest_rise", "12 m"), ("velocity", "1 m/s"), ("head_loss", "0.2 m")],
        "crest_pressure: no answer: it needs a pressure above that of vapour: below it the water \
         column breaks",
    );
}

#[test]
fn a_closure_within_the_wave_time_is_instant() {
    // 2L/c is 0.5 s: Michaud would double the rise at half of it, which no wave can give.
    let rise = |time: &str| {
        let arguments = [
            ("velocity_change", "1 m/s"),
            ("wave_speed", "400 m/s"),
            ("length", "100 m"),
            ("closing_time", time),
        ]
        .map(|(name, text)| (name, Quantity::parse(text).unwrap()));
        call("surge_head", &arguments).unwrap().value.si()
    };
    assert!((rise("0.25 s") - 400.0 / 9.806_65).abs() < 1e-9);
    assert!((rise("0 s") - rise("0.25 s")).abs() < 1e-9);
    assert!((rise("1 s") - 0.5 * rise("0.25 s")).abs() < 1e-9);
}

#[test]
fn bare_numbers_give_what_the_call_gives() {
    let formula = find("friction_head").unwrap();
    let arguments = [0.02, 100.0, 0.15, 2.0, 9.806_65];
    assert_eq!(formula.refusal(&arguments), None);
    assert!(formula.warnings(&arguments).is_empty());
    // 0.02 · 100/0.15 · 4/(2 · 9.80665), by hand.
    assert!((formula.body.number(&arguments) - 2.719_243).abs() < 1e-6);
    assert!(formula.body.number(&arguments[..4]).is_nan());
    assert_eq!(formula.refusal(&arguments[..4]).unwrap(), "takes 5 arguments, found 4");
}

#[test]
fn the_table_is_well_formed() {
    for formula in all() {
        let name = formula.name;
        assert!(formula.summary.ends_with('.'), "{name}: summary without its full stop");
        assert!(!formula.equation.is_empty(), "{name}: no equation");
        // Columns stand together, whether the table must have them or not.
        let others = formula.parameters.iter().filter(|p| !p.column);
        let defaults = others.skip_while(|p| p.default.is_none());
        assert!(defaults.clone().all(|p| p.default.is_some()), "{name}: a default stands early");
        for (at, parameter) in formula.parameters.iter().enumerate() {
            let double = formula.parameters[..at].iter().any(|p| p.name == parameter.name);
            assert!(!double, "{name}: {} stands twice", parameter.name);
            assert!(!parameter.about.is_empty(), "{name}: {} says nothing", parameter.name);
            if let (Some(default), Kind::Quantity(_)) = (parameter.default, parameter.kind) {
                assert_eq!(parameter.refusal(default), None, "{name}: {}", parameter.name);
                assert!(parameter.valid.holds(default), "{name}: {}", parameter.name);
            }
        }
    }
}

#[test]
fn a_search_puts_names_first() {
    let found: Vec<_> = search("siphon").iter().map(|f| f.name).collect();
    assert_eq!(found.first(), Some(&"siphon_lift_limit"));
    assert!(found.contains(&"crest_pressure"));
}
