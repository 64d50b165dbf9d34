//! Every kind of drawing: what must be in each picture, and a small one as it is written.

use forebay_report::{Picture, drawings};
use forebay_sheet::{DRAWING_KINDS, Sheet};

/// A made-up site with one drawing of every kind.
const SHEET: &str = "forebay: 1
title: Marl Beck
known:
  flow: { is: 62 L/s, plus_minus: 3 % }
  head: { is: 4.6 m, plus_minus: 5 cm }
work:
  water: water_power(flow, head)
  shaft: 0.68 * water
tables:
  months:
    columns: { month: text, stream: L/s }
    rows: [[May, 410], [June, 175], [July, ~], [August, 68]]
  gauge:
    columns: { day: date, level: m }
    rows: [[2025-02-03, 104.31], [2025-05-20, 104.11], [2025-11-02, 104.42]]
  line:
    columns: { piece: text, bore: mm, length: m, rise: m, fittings: text }
    rows:
      - [rising leg, 226.2, 5.2, 2.9, bellmouth + bend]
      - [over the bank, 226.2, 7.0, 0.1, bend]
      - [down the slope, 188.2, 14.5, -6.8, bend]
draw:
  lines: { kind: lines, over: flow = 10 L/s..80 L/s/8, y: [water, shaft] }
  bars: { kind: bars, x: months.month, y: { brook: months.stream, permit: 100 L/s } }
  scatter: { kind: scatter, x: gauge.level, y: gauge.level }
  pipe:
    kind: pipe_profile
    line: line
    flow: flow
    start_level: 102.9 m
    pond_level: 103.8 m
    tail_level: 98.9 m
    altitude: 320 m
    temperature: 9 degC
  chain: { kind: power_chain, from: water, losses: { set: water - shaft }, to: shaft }
  duration: { kind: flow_duration, flows: months.stream, design_flow: flow, residual_flow: 45 L/s }
  pond: { kind: pond_level, time: gauge.day, level: gauge.level, full_level: 104.6 m }
  blame: { kind: ranking, of: shaft }
";

fn picture(sheet: &mut Sheet, name: &str) -> Picture {
    let drawn = drawings(sheet).into_iter().find(|drawing| drawing.name == name);
    drawn.expect("it is in the sheet").picture.expect("it can be drawn")
}

#[test]
fn every_kind_has_title_description_units_and_its_data() {
    let mut sheet = Sheet::open(SHEET);
    assert!(sheet.diagnostics().is_empty(), "{:?}", sheet.diagnostics());
    let kinds: Vec<&str> = sheet.drawings().iter().map(|drawing| drawing.kind.name).collect();
    for kind in DRAWING_KINDS {
        assert!(kinds.contains(&kind.name), "{} is not tried", kind.name);
    }
    for drawing in drawings(&mut sheet) {
        let name = &drawing.name;
        let picture = drawing.picture.unwrap_or_else(|why| panic!("{name}: {why}"));
        let svg = &picture.svg;
        for part in [
            "role=\"img\"",
            &format!("aria-labelledby=\"drawing-{name}-title drawing-{name}-desc\""),
            &format!("<title id=\"drawing-{name}-title\">{}</title>", drawing.title),
            &format!("<desc id=\"drawing-{name}-desc\">"),
            "viewBox=\"0 0 ",
            "currentColor",
        ] {
            assert!(svg.contains(part), "{name} has no {part}: {svg}");
        }
        // A unit in brackets at an axis.
        let texts: Vec<&str> = svg
            .split("<text")
            .skip(1)
            .filter_map(|t| t.split('>').nth(1)?.split('<').next())
            .collect();
        assert!(texts.iter().any(|text| text.ends_with(')') && text.contains(" (")), "{texts:?}");
        // Nothing that a page with a strict policy forbids, and nothing from elsewhere.
        for part in ["style=", "<style", "<script", "href", "url(", "NaN", "inf"] {
            assert!(!svg.contains(part), "{name} holds {part}: {svg}");
        }
        let table = &picture.table;
        assert!(table.rows.len() > 1, "{name}");
        assert!(table.rows.iter().all(|row| row.len() == table.heads.len()), "{name}");
        let html = table.html();
        assert_eq!(html.matches("<th scope=\"col\">").count(), table.heads.len(), "{name}");
        assert_eq!(table.csv().lines().count(), table.rows.len() + 1, "{name}");
    }
}

#[test]
fn the_critical_place_of_a_pipe_is_that_of_the_formulas() {
    // Two ways to one number: the drawing measures levels, the formula sums pressures.
    let mut sheet = Sheet::open(SHEET);
    let arguments = "line, flow, 102.9 m, 103.8 m, 320 m, 9 degC";
    let lowest = sheet.eval(&format!("lowest_pressure({arguments})")).unwrap();
    let place = sheet.eval(&format!("lowest_pressure_place({arguments})")).unwrap();
    let lowest = lowest.value.as_number().unwrap() / 1000.0;
    let picture = picture(&mut sheet, "pipe");
    assert!(picture.svg.contains(&format!("lowest: {lowest:.1} kPa_abs")), "{lowest}");
    let pressures: Vec<f64> =
        picture.table.rows.iter().map(|row| row.last().unwrap().parse().unwrap()).collect();
    let least = pressures.iter().copied().fold(f64::INFINITY, f64::min);
    assert!((least - lowest).abs() < 0.01, "{least} against {lowest}");
    // Each piece has two rows.
    let at = pressures.iter().position(|pressure| *pressure == least).unwrap();
    assert_eq!((at / 2 + 1) as f64, place.value.as_number().unwrap());
    // The ends are those of the profiles.
    let energy = sheet
        .eval("last(line_energy_profile(line, flow, 103.8 m, 9 degC))")
        .unwrap()
        .value
        .as_number()
        .unwrap();
    assert_eq!(picture.table.rows.last().unwrap()[3], format!("{energy:.2}"));
}

#[test]
fn a_gap_is_no_bar_and_no_point() {
    let mut sheet = Sheet::open(SHEET);
    let picture = picture(&mut sheet, "bars");
    // Three of four months.
    assert_eq!(picture.svg.matches("<rect").count(), 3);
    assert_eq!(picture.table.rows[2], ["July", "", "100"]);
}

#[test]
fn a_long_record_stays_a_small_drawing() {
    let rows: Vec<String> = (0..30_000).map(|at| format!("[{at}, {}]", at * 7 % 13)).collect();
    let mut sheet = Sheet::open(&format!(
        "forebay: 1
tables:
  t: {{ columns: {{ a: 1, b: m }}, rows: [{}] }}
draw:
  curve: {{ kind: lines, x: t.a, y: t.b }}
  cloud: {{ kind: scatter, x: t.a, y: t.b }}
  bars: {{ kind: bars, y: t.b }}
",
        rows.join(", ")
    ));
    for name in ["curve", "cloud"] {
        let picture = picture(&mut sheet, name);
        assert!(picture.svg.len() < 200_000, "{name}: {}", picture.svg.len());
        assert_eq!(picture.table.rows.len(), 30_000);
        assert!(picture.table.html().contains("The first 200 of 30000 rows."));
    }
    let bars = drawings(&mut sheet).pop().unwrap().picture.unwrap_err();
    assert!(bars.contains("30000 groups of bars cannot be told apart"), "{bars}");
}

#[test]
fn what_breaks_is_said_in_the_drawing() {
    // 12 m above the pond no water column stands, at any flow.
    let high = SHEET.replace("5.2, 2.9", "15.2, 12.9").replace("-6.8", "-14");
    let mut sheet = Sheet::open(&high);
    let picture = picture(&mut sheet, "pipe");
    assert!(picture.svg.contains("the column breaks"), "{}", picture.svg);
}

#[test]
fn a_curve_over_a_known_leaves_the_sheet_as_it_was() {
    let mut sheet = Sheet::open(SHEET);
    let before = sheet.cell("shaft").unwrap().shown();
    let picture = picture(&mut sheet, "lines");
    assert_eq!(picture.table.rows.len(), 8);
    assert_eq!(picture.table.rows[0][0], "10");
    // ρ g Q H with 1000 kg/m³ at 80 L/s: 1000 · 9.80665 · 0.08 · 4.6 = 3608.8 W, by hand.
    let water: f64 = picture.table.rows[7][1].parse().unwrap();
    assert!((water - 3.6088).abs() < 0.0005, "{water}");
    assert_eq!(sheet.cell("shaft").unwrap().shown(), before);
    assert!(!sheet.cell("flow").unwrap().is_given());
}

#[test]
fn a_small_drawing_as_it_is_written() {
    let mut sheet = Sheet::open(
        "forebay: 1
work:
  heads: [1 m, 2 m, 3 m]
draw:
  reach: { kind: lines, x: heads, y: heads, title: A < B }
",
    );
    let svg = picture(&mut sheet, "reach").svg;
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/golden/reach.svg");
    if std::env::var_os("UPDATE").is_some() {
        std::fs::write(path, &svg).expect("the golden file can be written");
    }
    assert_eq!(svg, std::fs::read_to_string(path).unwrap_or_default());
}
