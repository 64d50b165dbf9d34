//! Lines, priming and operating points at their limits: what they refuse, and in which words.

use forebay_formulas::{Given, Outcome, call, find};
use forebay_units::{Dimension, Quantity};

/// A siphon over a dam: two bores, as a table would give it.
const BORE: Given<'_> = Given::Series(&[0.25, 0.25, 0.20], Dimension::LENGTH);
const LENGTH: Given<'_> = Given::Series(&[5.0, 3.0, 9.0], Dimension::LENGTH);
const RISE: Given<'_> = Given::Series(&[2.5, 0.0, -4.0], Dimension::LENGTH);
const FITTINGS: Given<'_> = Given::Texts(&["bellmouth", "", "2 elbows, gate valve"]);

fn q(text: &str) -> Given<'static> {
    Given::Quantity(Quantity::parse(text).expect("a quantity"))
}

fn of_line<'a>(name: &str, more: &[(&'a str, Given<'a>)]) -> Result<Outcome, String> {
    let mut given = vec![("bore", BORE), ("length", LENGTH)];
    let parameters = find(name).expect("a formula").parameters;
    if parameters.iter().any(|p| p.name == "rise") {
        given.push(("rise", RISE));
    }
    if parameters.iter().any(|p| p.name == "fittings") {
        given.push(("fittings", FITTINGS));
    }
    given.extend(more.iter().map(|(name, given)| (*name, *given)));
    call(name, &given).map_err(|error| error.to_string())
}

fn si(outcome: Result<Outcome, String>) -> f64 {
    outcome.expect("an answer").value.si()
}

#[track_caller]
fn refused(outcome: Result<Outcome, String>, words: &[&str]) {
    let error = outcome.expect_err("a refusal");
    for word in words {
        assert!(error.contains(word), "`{word}` is not in: {error}");
    }
}

#[test]
fn a_line_at_rest_loses_nothing() {
    assert_eq!(si(of_line("line_loss", &[("flow", q("0 L/s"))])), 0.0);
    assert_eq!(si(of_line("line_flow", &[("head", q("0 m"))])), 0.0);
}

#[test]
fn what_is_lost_up_to_each_piece_adds_up() {
    let to = |row| si(of_line("line_loss", &[("flow", q("60 L/s")), ("to", q(row))]));
    let whole = si(of_line("line_loss", &[("flow", q("60 L/s"))]));
    assert!(to("1") < to("2") && to("2") < to("3"));
    assert_eq!(to("3"), whole);
    for row in ["4", "1.5", "1e30"] {
        let outcome = of_line("line_loss", &[("flow", q("60 L/s")), ("to", q(row))]);
        refused(outcome, &["to: there is no piece", "the line has 3 pieces"]);
    }
}

#[test]
fn the_flow_of_a_head_loses_that_head() {
    let flow = si(of_line("line_flow", &[("head", q("2.5 m"))]));
    let text = format!("{flow} m^3/s");
    let loss = si(of_line("line_loss", &[("flow", q(&text))]));
    let velocity = flow / (std::f64::consts::PI * 0.01);
    assert!((loss + velocity * velocity / (2.0 * 9.806_65) - 2.5).abs() < 1e-9);
}

#[test]
fn an_unknown_fitting_names_its_piece_and_the_choices() {
    let given = [
        ("bore", BORE),
        ("length", LENGTH),
        ("fittings", Given::Texts(&["flush", "", "2 elbo + gate_valve"])),
        ("flow", q("60 L/s")),
    ];
    let outcome = call("line_loss", &given).map_err(|error| error.to_string());
    refused(outcome, &["fittings: piece 3", "did you mean elbow?", "butterfly_valve"]);
}

#[test]
fn the_lowest_pressure_is_where_the_narrow_leg_begins_and_its_limit_is_its_flow() {
    let site = [("start_level", q("-0.6 m")), ("pond_level", q("0 m")), ("altitude", q("800 m"))];
    let limit = si(of_line("line_flow_limit", &site));
    let text = format!("{limit} m^3/s");
    let mut at_limit = vec![("flow", q(&text))];
    at_limit.extend(site);
    let lowest = si(of_line("lowest_pressure", &at_limit));
    let vapour = call("vapour_pressure", &[("temperature", q("15 degC"))]).unwrap().value.si();
    assert!((lowest - vapour - 25e3).abs() < 1.0, "{lowest}");
    assert_eq!(si(of_line("lowest_pressure_place", &at_limit)), 3.0);
    let high = [("start_level", q("6 m")), ("pond_level", q("0 m")), ("altitude", q("800 m"))];
    refused(of_line("line_flow_limit", &high), &["rises too far above the pond"]);
    let mut fast = vec![("flow", q("900 L/s"))];
    fast.extend(site);
    refused(of_line("lowest_pressure", &fast), &["in piece 3", "the water column breaks"]);
}

#[test]
fn a_plumb_fall_still_needs_a_velocity() {
    let given = [
        ("bore", q("0.2 m")),
        ("length", Given::Series(&[2.0, 3.0], Dimension::LENGTH)),
        ("rise", Given::Series(&[2.0, -3.0], Dimension::LENGTH)),
        ("flow", q("40 L/s")),
    ];
    let (ratios, _) = find("line_air_clearing").unwrap().call_for_series(&given).unwrap();
    assert_eq!(ratios[0], 10.0);
    assert!(ratios[1] > 0.3 && ratios[1] < 1.0, "{ratios:?}");
}

#[test]
fn a_line_of_a_million_pieces_is_refused_at_once() {
    let many = vec![1.0; 1_000_000];
    let series = Given::Series(&many, Dimension::LENGTH);
    let given = [("bore", series), ("length", series), ("flow", q("40 L/s"))];
    let outcome = call("line_loss", &given).map_err(|error| error.to_string());
    refused(outcome, &["a line has at most 10000 pieces"]);
}

#[test]
fn a_siphon_that_breaks_before_its_operating_point_says_how_far_it_holds() {
    let plant = [
        ("gross_head", q("3.4 m")),
        ("design_flow", q("70 L/s")),
        ("design_head", q("2.4 m")),
        ("leaving_bore", q("350 mm")),
        ("start_depth", q("0.6 m")),
    ];
    let at_sea = si(of_line("operating_flow", &plant));
    assert!(at_sea > 0.06 && at_sea < 0.09, "{at_sea}");
    let mut high = plant.to_vec();
    high.extend([("altitude", q("5000 m")), ("margin", q("30 kPa"))]);
    let words = ["the siphon breaks before", "in piece 3", "kPa_abs are needed", "it holds up to"];
    refused(of_line("operating_flow", &high), &words);
    high.pop();
    high.push(("margin", q("45 kPa")));
    refused(of_line("operating_flow", &high), &["it does not even hold at rest"]);
}

#[test]
fn a_curve_that_does_not_meet_the_line_says_on_which_side() {
    let by_curve = |heads: &'static [f64]| {
        let flows = Given::Series(&[0.05, 0.07, 0.09], Dimension::FLOW);
        of_line(
            "operating_flow_by_curve",
            &[
                ("gross_head", q("3.4 m")),
                ("flows", flows),
                ("heads", Given::Series(heads, Dimension::LENGTH)),
                ("leaving_bore", q("350 mm")),
                ("start_depth", q("0.6 m")),
            ],
        )
    };
    let flow = si(by_curve(&[1.2, 2.4, 3.9]));
    assert!(flow > 0.05 && flow < 0.09, "{flow}");
    refused(by_curve(&[3.3, 4.0, 5.0]), &["least flow", "50.0 L/s", "less than the runner takes"]);
    refused(by_curve(&[0.1, 0.2, 0.3]), &["greatest flow", "90.0 L/s", "more than the runner"]);
    refused(by_curve(&[0.1, 0.2]), &["flows: must have two values or more"]);
}

#[test]
fn a_pump_too_weak_for_the_crest_or_the_leak_is_told() {
    let priming = |pump: &'static str, end: &'static str, leak: &'static str| {
        of_line(
            "line_priming_time",
            &[
                ("start_level", q("-0.6 m")),
                ("pond_level", q("0 m")),
                ("pump_flow", q(pump)),
                ("end_pressure", q(end)),
                ("leak", q(leak)),
            ],
        )
    };
    let fine = si(priming("12 m^3/h", "20 kPa_abs", "0 m^3/h"));
    assert!(si(priming("12 m^3/h", "20 kPa_abs", "1 m^3/h")) > fine);
    assert!(si(priming("12 m^3/h", "60 kPa_abs", "0 m^3/h")) > fine);
    refused(priming("12 m^3/h", "90 kPa_abs", "0 m^3/h"), &["comes down to 90.0 kPa_abs only"]);
    refused(priming("12 m^3/h", "20 kPa_abs", "9 m^3/h"), &["the pump, with the leak"]);
    refused(priming("12 m^3/h", "110 kPa_abs", "0 m^3/h"), &["end_pressure"]);
}

#[test]
fn a_siphon_under_the_pond_needs_no_priming() {
    let given = [
        ("start_level", q("-4 m")),
        ("pond_level", q("0 m")),
        ("pump_flow", q("12 m^3/h")),
        ("end_pressure", q("20 kPa_abs")),
    ];
    assert_eq!(si(of_line("line_priming_time", &given)), 0.0);
}

#[test]
fn a_valve_too_small_for_what_the_water_carries_off_is_told() {
    let stops = |bore: &'static str| {
        let given = [
            ("valve_bore", q(bore)),
            ("crest_rise", q("2.2 m")),
            ("crest_volume", q("120 L")),
            ("flow", q("80 L/s")),
            ("falling_volume", q("0.3 m^3")),
        ];
        call("siphon_break_time", &given).map_err(|error| error.to_string())
    };
    assert!(si(stops("50 mm")) < si(stops("30 mm")));
    refused(stops("5 mm"), &["valve_bore: lets in", "it may never stop"]);
}
