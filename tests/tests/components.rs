//! A worksheet used as a component of another one, through a loader that the caller passes.

use forebay_report::Options;
use forebay_sheet::worksheet::Level;
use forebay_sheet::{CellKind, Loader, Sheet, Verdict};
use forebay_tests::names;

/// Texts by name; nothing else can be read.
struct Texts(&'static [(&'static str, &'static str)]);

impl Loader for Texts {
    fn load(&self, name: &str) -> Result<String, String> {
        let found = self.0.iter().find(|(own, _)| *own == name);
        found.map(|(_, text)| (*text).to_owned()).ok_or_else(|| "no such file".to_owned())
    }
}

const PIPE: &str = "forebay: 1
known:
  flow: 10 L/s
  bore: 100 mm
work:
  velocity: flow / circle_area(bore)
  unused: 2 * bore
check:
  slow: velocity < 2 m/s
";

const SITE: &str = "forebay: 1
known:
  stream: 40 L/s
  length: 12 m
use:
  pipe:
    sheet: pipe.yaml
    set:
      flow: stream / 2
      bore: 200 mm
work:
  speed: pipe.velocity
  time: length / pipe.velocity
";

/// 20 L/s through 200 mm, by hand: 0.02 / (π/4 · 0.04) = 2/π m/s.
const VELOCITY: f64 = std::f64::consts::FRAC_2_PI;

fn site() -> Sheet {
    Sheet::open_with("site.yaml", SITE, &Texts(&[("pipe.yaml", PIPE)]))
}

fn number(sheet: &Sheet, name: &str) -> f64 {
    let value = sheet.cell(name).and_then(|cell| cell.value());
    value.and_then(|value| value.as_number()).expect("a number")
}

#[test]
fn its_knowns_are_set_from_outside_and_its_results_are_read() {
    let sheet = site();
    assert!(sheet.diagnostics().is_empty(), "{:?}", sheet.diagnostics());
    assert!((number(&sheet, "speed") - VELOCITY).abs() < 1e-9);
    assert!((number(&sheet, "pipe.velocity") - VELOCITY).abs() < 1e-9);
    assert_eq!(sheet.cell("pipe.velocity").unwrap().kind(), CellKind::Component);
}

#[test]
fn a_change_outside_runs_through_the_component_and_no_further_than_it_reaches() {
    let mut sheet = site();
    let wave = sheet.set("stream", "80 L/s").unwrap();
    let ran = names(wave.ran(&sheet));
    assert!(!ran.contains(&"pipe.unused".to_owned()));
    for name in ["pipe.flow", "pipe.velocity", "speed", "time"] {
        assert!(ran.iter().any(|ran| ran == name), "{name} is not in {ran:?}");
    }
    let wave = sheet.set("length", "24 m").unwrap();
    assert_eq!(names(wave.ran(&sheet)), ["time"]);
}

#[test]
fn what_is_wrong_about_a_component_is_said_and_the_rest_computes() {
    let none = Texts(&[]);
    let sheet = Sheet::open_with("site.yaml", SITE, &none);
    let found = sheet.diagnostics();
    assert_eq!(found.iter().map(|d| d.code.name).collect::<Vec<_>>(), ["not-found"]);
    assert!(sheet.cell("speed").unwrap().value().is_none());
    assert_eq!(number(&sheet, "length"), 12.0);

    let wrong = SITE
        .replace("bore: 200 mm", "bore: 3 L")
        .replace("pipe.velocity\n  time", "pipe.velocty\n  time");
    let sheet = Sheet::open_with("site.yaml", &wrong, &Texts(&[("pipe.yaml", PIPE)]));
    let mut codes: Vec<&str> = sheet.diagnostics().iter().map(|d| d.code.name).collect();
    codes.sort_unstable();
    assert_eq!(codes, ["unknown-name", "wrong-dimension"]);
}

#[test]
fn a_ring_of_files_ends() {
    let ring = Texts(&[
        ("a.yaml", "forebay: 1\nuse:\n  b: { sheet: b.yaml }\n"),
        ("b.yaml", "forebay: 1\nuse:\n  a: { sheet: a.yaml }\n"),
    ]);
    let sheet = Sheet::open_with(
        "a.yaml",
        "forebay: 1\nuse:\n  b: { sheet: b.yaml }\nwork:\n  sound: 1 m\n",
        &ring,
    );
    assert!(!sheet.diagnostics().is_empty());
    assert_eq!(number(&sheet, "sound"), 1.0);
}

#[test]
fn a_component_with_a_ring_through_its_user_is_a_cycle() {
    let ring = SITE.replace("flow: stream / 2", "flow: time * 1 (L/s^2)");
    let sheet = Sheet::open_with("site.yaml", &ring, &Texts(&[("pipe.yaml", PIPE)]));
    assert_eq!(sheet.diagnostics().first().map(|d| d.code.name), Some("cycle"));
}

#[test]
fn checks_of_a_component_are_told() {
    let mut sheet = site();
    let told = |sheet: &Sheet| sheet.cell("pipe.slow").map(|check| check.verdict());
    assert_eq!(told(&sheet), Some(Verdict::Holds));
    sheet.set("stream", "400 L/s").unwrap();
    assert_eq!(told(&sheet), Some(Verdict::Fails));
}

const FALL: &str = "forebay: 1
tables:
  line:
    columns: { length: m, rise: m }
    rows: [[1, 1]]
work:
  longest: greatest(line.length)
  risen: sum(line.rise)
";

fn fall(set: &str, columns: &str) -> Sheet {
    let text = format!(
        "forebay: 1
tables:
  mine:
    columns: {{ {columns} }}
    rows: [[12, 3, 1], [30, 4, 1]]
use:
  pipe: {{ sheet: fall.yaml, set: {{ line: {set} }} }}
work:
  longest: pipe.longest
  risen: pipe.risen
"
    );
    Sheet::open_with("site.yaml", &text, &Texts(&[("fall.yaml", FALL)]))
}

#[test]
fn its_tables_are_set_from_tables_outside() {
    let sheet = fall("mine", "length: ft, rise: m, more: 1");
    assert!(sheet.diagnostics().is_empty(), "{:?}", sheet.diagnostics());
    assert!((number(&sheet, "longest") - 30.0 * 0.3048).abs() < 1e-12);
    assert!((number(&sheet, "risen") - 7.0).abs() < 1e-12);
}

#[test]
fn a_table_that_does_not_fit_is_refused_with_the_column_that_is_to_blame() {
    for (set, columns, why) in [
        ("mine", "length: m, raise: m, more: 1", "no column `rise`"),
        ("mine", "length: m, rise: kg, more: 1", "column `rise` of `mine` is a series of mass"),
        ("yours", "length: m, rise: m, more: 1", "no table `yours`"),
        ("30 m", "length: m, rise: m, more: 1", "no table `30 m`"),
    ] {
        let sheet = fall(set, columns);
        let found = sheet.diagnostics();
        assert_eq!(found.len(), 1, "{set}: {found:?}");
        assert!(found[0].message.contains(why), "{}", found[0].message);
        assert!(sheet.cell("longest").unwrap().value().is_none());
    }
}

#[test]
fn a_shipped_template_is_a_component_without_any_loader() {
    let sheet = Sheet::open("forebay: 1\ncurrency: EUR\nuse: { site: { sheet: whole-site } }\n");
    assert!(sheet.diagnostics().is_empty(), "{:?}", sheet.diagnostics());
    assert!(sheet.cell("site.flow").unwrap().value().is_some());
}

#[test]
fn a_check_of_a_component_weighs_as_much_as_its_own() {
    let pipe = "forebay: 1
title: A pipe
show: [velocity]
known:
  flow: { is: 10 L/s, from: assumed }
  bore: { is: 100 mm, from: assumed }
  vented: { is: no, from: assumed }
work:
  velocity: flow / circle_area(bore)
  twice: 2 * velocity
check:
  slow: { that: velocity < 2 m/s, else: Take a wider pipe., level: stop }
  breathes: { that: vented, else: Fit a vent., caution: Air kills the flow., level: care }
";
    let site = "forebay: 1
known:
  flow: 40 L/s
  bore: 200 mm
use:
  pipe: { sheet: pipe.yaml, same: [flow, bore], set: { vented: yes } }
";
    // Texts wants them for ever.
    let texts: &'static [(&'static str, &'static str)] = Box::leak(Box::new([("pipe.yaml", pipe)]));
    let mut sheet = Sheet::open_with("site.yaml", site, &Texts(texts));
    assert!(sheet.diagnostics().is_empty(), "{:?}", sheet.diagnostics());
    let names: Vec<&str> = sheet.checks().map(|check| check.name()).collect();
    assert_eq!(names, ["pipe.slow", "pipe.breathes"]);
    assert_eq!(sheet.gravest_failure(), None);
    sheet.set("flow", "80 L/s").unwrap();
    assert_eq!(sheet.gravest_failure(), Some(Level::Stop));
    let text = (forebay_report::format("text").unwrap().write)(&mut sheet, &Options::default());
    for part in ["pipe.slow (stop)", "Take a wider pipe.", "Air kills the flow.", "1 fails (stop)"]
    {
        assert!(text.contains(part), "{part} is not in\n{text}");
    }
    // What the pipe shows stands there, and how much more there is.
    assert!(text.contains("pipe.velocity") && text.contains("and 4 more"), "{text}");
    assert!(!text.contains("pipe.twice"), "{text}");

    let twice = site.replace("vented: yes", "vented: yes, bore: 1 m");
    let sheet = Sheet::open_with("site.yaml", &twice, &Texts(texts));
    let found = sheet.diagnostics();
    assert_eq!(found[0].message, "`bore` is set twice");
}

#[test]
fn a_component_in_feet_is_read_in_metres_where_its_user_counts_in_metres() {
    let depth = "forebay: 1
units: us
known: { above: 3 ft, below: 1 ft }
work: { depth: { is: above - below, in: in } }
";
    let texts: &'static [(&'static str, &'static str)] =
        Box::leak(Box::new([("depth.yaml", depth)]));
    let shown = |units: &str| {
        let site = format!("forebay: 1\nunits: {units}\nuse: {{ pond: depth.yaml }}\n");
        let sheet = Sheet::open_with("site.yaml", &site, &Texts(texts));
        sheet.cell("pond.depth").map(|cell| cell.shown())
    };
    // 2 ft are 24 in and 0.6096 m.
    assert_eq!(shown("us").as_deref(), Some("24.00 in"));
    assert_eq!(shown("si").as_deref(), Some("0.6096 m"));
}
