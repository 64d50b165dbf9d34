//! The Rust that the book shows for library users, compiled and run as tests. A piece of the book
//! stands between `// begin NAME` and `// end NAME`.

#![allow(clippy::unwrap_used, reason = "a panic here is a failing test")]

use std::error::Error;

type Done = Result<(), Box<dyn Error>>;

#[test]
fn a_sheet_is_opened_and_changed() -> Done {
    // begin open
    use forebay_sheet::{Sheet, Verdict};

    let mut sheet = Sheet::open(
        "forebay: 1
known:
  head: 4.2 m
  flow: 60 L/s
work:
  power: plant_power(flow, head, 50 %)
check:
  worth_it: power > 1 kW
",
    );
    let power = sheet.cell("power").unwrap();
    assert_eq!(power.shown(), "1.236 kW");

    // Exactly what depends on the flow runs again.
    let wave = sheet.set("flow", "40 L/s").map_err(|refused| refused.message)?;
    assert!(wave.ran(&sheet).map(|cell| cell.name()).eq(["power", "worth_it"]));
    assert_eq!(sheet.cell("worth_it").unwrap().verdict(), Verdict::Fails);
    // end open
    Ok(())
}

#[test]
fn a_broken_sheet_says_where() {
    // begin broken
    use forebay_sheet::Sheet;

    let sheet = Sheet::open(
        "forebay: 1
known:
  head: 4.2 m
  flow: 60 L/s
work:
  nonsense: head + flow
  twice: 2 * head
",
    );
    let found = sheet.diagnostics()[0];
    assert_eq!(found.code.name, "unlike");
    let place = found.span().unwrap();
    assert_eq!(sheet.sources().line_and_column(place), (6, 13));
    // The others live.
    assert_eq!(sheet.cell("twice").unwrap().shown(), "8.400 m");
    // end broken
}

#[test]
fn a_formula_is_called_by_name() -> Done {
    // begin call
    use forebay_formulas::call;
    use forebay_units::Quantity;

    let loss = call(
        "friction_head",
        &[
            ("friction_factor", Quantity::parse("0.02")?),
            ("length", Quantity::parse("100 m")?),
            ("bore", Quantity::parse("150 mm")?),
            ("velocity", Quantity::parse("2 m/s")?),
        ],
    )?;
    assert!((loss.value.si() - 2.719).abs() < 0.001);
    // What the source does not vouch for is said.
    assert!(loss.warnings.is_empty());
    // end call
    Ok(())
}

#[test]
fn a_formula_tells_of_itself() {
    // begin find
    use forebay_formulas::find;

    let formula = find("weir_v_notch_flow").unwrap();
    assert_eq!(formula.parameters[0].name, "head");
    assert!(!formula.source.work.is_empty());
    // end find
}

#[test]
fn a_sheet_is_written_out() -> Done {
    // begin report
    use forebay_report::{Options, format};
    use forebay_sheet::Sheet;

    let mut sheet = Sheet::open("forebay: 1\nknown:\n  head: 4.2 m\n");
    let json = (format("json").ok_or("no such format")?.write)(&mut sheet, &Options::default());
    assert!(json.contains("\"si\""));
    // end report
    Ok(())
}

#[test]
fn a_value_is_changed_in_a_text() -> Done {
    // begin edit
    use forebay_sheet::edit::{Place, with_value};

    let text = "forebay: 1\nknown:\n  head: 4.2 m   # hose level\n";
    let changed = with_value(text, Place::Known("head"), "14 ft").map_err(|why| why.message)?;
    assert_eq!(changed, "forebay: 1\nknown:\n  head: 14 ft   # hose level\n");
    // end edit
    Ok(())
}
