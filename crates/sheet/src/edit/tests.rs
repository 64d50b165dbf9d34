//! One value changes, and not one other byte that matters.

use proptest::prelude::*;

use super::{Place, with_case, with_value, with_values};
use crate::{Sheet, templates};

#[track_caller]
fn check(text: &str, place: Place<'_>, value: &str, expected: &str) {
    let changed = with_value(text, place, value);
    assert_eq!(changed.as_deref(), Ok(expected), "{}", changed.as_deref().unwrap_or(""));
}

#[track_caller]
fn refused(text: &str, place: Place<'_>, value: &str, message: &str) {
    let refused = with_value(text, place, value).unwrap_err();
    assert_eq!(refused.message, message);
}

const BORE: Place<'static> = Place::Known("bore");

#[test]
fn each_way_of_writing_a_value_is_kept() {
    for (before, after) in [
        ("known:\n  bore: 188 mm # of the pipe\n", "known:\n  bore: 6 in # of the pipe\n"),
        ("known:\r\n  bore:   188 mm\r\n  b: 1\r\n", "known:\r\n  bore:   6 in\r\n  b: 1\r\n"),
        ("known: { bore: 188 mm, b: 1 }\n", "known: { bore: 6 in, b: 1 }\n"),
        (
            "known:\n  bore: { from: measured, is: 188 mm }",
            "known:\n  bore: { from: measured, is: 6 in }",
        ),
        (
            "known:\n  bore:\n    is: '188 mm' # in quotes\n",
            "known:\n  bore:\n    is: '6 in' # in quotes\n",
        ),
        ("known:\n  bore: |\n    188 mm\n  b: 1\n", "known:\n  bore: |\n    6 in\n  b: 1\n"),
        (
            "parts:\n- title: A\n  known:\n    bore: \"188 mm\"\n",
            "parts:\n- title: A\n  known:\n    bore: \"6 in\"\n",
        ),
        ("known:\n  bore: [1 mm,\n    2 mm]\n  b: 1\n", "known:\n  bore: 6 in\n  b: 1\n"),
        ("title: Größe µm\nknown:\n  bore: 188 µm\n", "title: Größe µm\nknown:\n  bore: 6 in\n"),
    ] {
        check(before, BORE, "6 in", after);
    }
}

#[test]
fn a_value_that_yaml_would_read_otherwise_goes_into_quotes() {
    let text = "known: { bore: 1 }\n";
    check(text, BORE, "1,5 m", "known: { bore: \"1,5 m\" }\n");
    check(text, BORE, "\"a, b\"", "known: { bore: '\"a, b\"' }\n");
    check(text, BORE, "[1 m, 2 m]", "known: { bore: [1 m, 2 m] }\n");
    check("known:\n  bore: 1\n", BORE, "a: b", "known:\n  bore: \"a: b\"\n");
    check("known:\n  bore: 1\n", BORE, "-5 degC", "known:\n  bore: -5 degC\n");
    check("known:\n  bore: 1\n", BORE, "x #y", "known:\n  bore: \"x #y\"\n");
    check("known:\n  bore: \"1\"\n", BORE, "say \"x\"", "known:\n  bore: 'say \"x\"'\n");
    check("known:\n  bore: 1\n", BORE, "*x", "known:\n  bore: \"*x\"\n");
}

#[test]
fn what_a_case_says_is_changed_there() {
    let text = "known:\n  bore: 1 m\ncases:\n  wide: { bore: 2 m } # wide\n";
    let place = Place::InCase { case: "wide", known: "bore" };
    check(text, place, "3 m", "known:\n  bore: 1 m\ncases:\n  wide: { bore: 3 m } # wide\n");
    check(text, BORE, "4 m", "known:\n  bore: 4 m\ncases:\n  wide: { bore: 2 m } # wide\n");
}

#[test]
fn what_cannot_be_changed_in_place_is_refused() {
    refused("known:\n  b: 1\n", BORE, "2", "the file has no known `bore`");
    refused("known: [\n", BORE, "2", "the file has no known `bore`");
    refused("", BORE, "2", "the file has no known `bore`");
    let laid_out = "`2` cannot be written in the place of `bore` as the file is laid out";
    refused("known:\n  bore: >\n    1 m\n", BORE, "2", laid_out);
    refused("known:\n  bore: \"1 \\u006d\"\n", BORE, "2", laid_out);
    refused("known:\n  bore:\n", BORE, "2", laid_out);
    refused("known:\n  bore: 1\n", BORE, "2\nwork: 3", "a value stands on one line, without tabs");
    refused("known:\n  bore: 1\n", BORE, "  ", "a value is missing");
    let both = "`'\"` cannot be written in the place of `bore` as the file is laid out";
    refused("known:\n  bore: 1\n", BORE, "'\"", both);
    let twice = with_values("known:\n  bore: 1\n", &[(BORE, "2"), (BORE, "3")]).unwrap_err();
    assert_eq!(twice.message, "the same value is changed twice");
}

#[test]
fn a_case_is_added_behind_the_others() {
    let set = [("bore", "6 in"), ("kind", "a, b")];
    for (before, after) in [
        ("forebay: 1", "forebay: 1\n\ncases:\n  new:\n    bore: 6 in\n    kind: a, b\n"),
        (
            "cases:\r\n    old: { a: 1 } # old\r\n\r\n# end\r\n",
            "cases:\r\n    old: { a: 1 } # old\r\n    new:\r\n      bore: 6 in\r\n      kind: a, b\r\n\r\n# end\r\n",
        ),
        (
            "cases: # none yet\nwork: {}\n",
            "cases: # none yet\n  new:\n    bore: 6 in\n    kind: a, b\nwork: {}\n",
        ),
        (
            "cases: { old: { a: 1 } }\n",
            "cases: { old: { a: 1 }, new: { bore: 6 in, kind: \"a, b\" } }\n",
        ),
        ("cases: {}\n", "cases: { new: { bore: 6 in, kind: \"a, b\" } }\n"),
    ] {
        let changed = with_case(before, "new", &set);
        assert_eq!(changed.as_deref(), Ok(after), "{}", changed.as_deref().unwrap_or(""));
    }
    let there = "cases:\n  new: { a: 1 }\n";
    let message =
        |text, name, set: &[(&str, &str)]| with_case(text, name, set).unwrap_err().message;
    assert_eq!(message(there, "new", &set), "there is a case `new` already");
    assert_eq!(message(there, "no name", &set), "`no name` cannot be a name");
    assert_eq!(message(there, "other", &[]), "the case would set nothing");
    assert_eq!(
        message("forebay: 1\n...\n", "new", &set),
        "a case cannot be added as the file is laid out"
    );
}

#[test]
fn each_known_of_each_template_can_be_changed() {
    for template in templates() {
        let sheet = Sheet::open(template.text);
        let names: Vec<String> = sheet
            .cells()
            .filter(|cell| cell.known().is_some())
            .map(|cell| cell.name().to_owned())
            .collect();
        assert!(!names.is_empty(), "{}", template.name);
        for name in &names {
            let changed = with_value(template.text, Place::Known(name), "77.7 widgets").unwrap();
            let sheet = Sheet::open(&changed);
            let written: Vec<String> =
                sheet.cells().filter(|c| c.known().is_some()).map(|c| c.formula()).collect();
            assert_eq!(written.iter().filter(|text| *text == "77.7 widgets").count(), 1, "{name}");
            // The other lines are the very same.
            let differ = template.text.lines().zip(changed.lines()).filter(|(a, b)| a != b).count();
            assert!(
                differ == 1 && template.text.lines().count() == changed.lines().count(),
                "{name}"
            );
        }
        let cases: Vec<(String, String)> = sheet
            .cases()
            .flat_map(|case| case.set.iter().map(|(n, _)| (case.name.text.clone(), n.text.clone())))
            .collect();
        for (case, known) in &cases {
            let place = Place::InCase { case, known };
            let changed = with_value(template.text, place, "77.7 widgets").unwrap();
            assert_eq!(changed.matches("77.7 widgets").count(), 1);
        }
        let set: Vec<(&str, &str)> = names.iter().map(|name| (name.as_str(), "1 m")).collect();
        let changed = with_case(template.text, "another_one", &set).unwrap();
        assert_eq!(Sheet::open(&changed).cases().count(), sheet.cases().count() + 1);
    }
}

/// A sheet in a layout drawn at random: the text before and behind the value of `bore`.
fn layouts() -> impl Strategy<Value = (String, String)> {
    let comment = prop_oneof![Just(""), Just(" # a: b, c"), Just("   #'{")];
    let quote = prop_oneof![Just(""), Just("'"), Just("\"")];
    let end = prop_oneof![Just("\n"), Just("\r\n")];
    let form = 0..5_usize;
    (form, comment, quote, end, 0..3_usize, any::<bool>(), any::<bool>()).prop_map(
        |(form, comment, quote, end, blanks, in_part, others)| {
            let indent = if in_part { "      " } else { "  " };
            let space = " ".repeat(blanks + 1);
            let (open, close) = match form {
                0 => (format!("bore:{space}{quote}"), format!("{quote}{comment}")),
                1 => (
                    format!("bore: {{ is:{space}{quote}"),
                    format!("{quote}, from: measured }}{comment}"),
                ),
                2 => (
                    format!("bore:{end}{indent}  about: \"x: y\"{end}{indent}  is:{space}{quote}"),
                    format!("{quote}{comment}"),
                ),
                3 => {
                    (format!("bore: |{end}{indent}  "), format!("{end}{indent}# no value{comment}"))
                }
                _ => (format!("\"bore\":{space}{quote}"), format!("{quote}{comment}{end}")),
            };
            let other = |name| {
                if others {
                    format!("{indent}{name}: [1 m, 2 m]{comment}{end}")
                } else {
                    String::new()
                }
            };
            let head = if in_part {
                format!("parts:{end}  - title: µ {comment}{end}    known:{end}")
            } else {
                format!("known:{end}")
            };
            let before =
                format!("# head{end}forebay: 1{end}{head}{}{indent}{open}", other("first"));
            let behind = format!(
                "{close}{end}{}cases:{end}  one: {{ bore: 5 m }}{comment}{end}",
                other("last")
            );
            (before, behind)
        },
    )
}

proptest! {
    #[test]
    fn only_the_value_changes_in_any_layout(
        (before, behind) in layouts(),
        old in "[1-9][0-9]{0,3}(\\.[0-9]{1,3})? (m|mm|in)",
        new in "-?[1-9][0-9]{0,3}(\\.[0-9]{1,3})? ?(m|mm|in|L/s)",
    ) {
        let text = format!("{before}{old}{behind}");
        let changed = with_value(&text, BORE, &new).unwrap();
        prop_assert_eq!(&changed, &format!("{}{}{}", before, new, behind));
        // And back again.
        prop_assert_eq!(with_value(&changed, BORE, &old).unwrap(), text);
    }

    #[test]
    fn no_value_can_break_out_of_its_place((before, behind) in layouts(), new in "[ -~µ°²\n\t]{0,24}") {
        let text = format!("{before}188 mm{behind}");
        if let Ok(changed) = with_value(&text, BORE, &new) {
            let sheet = Sheet::open(&changed);
            prop_assert_eq!(sheet.cases().count(), 1);
            let known = sheet.cell("bore").unwrap().known().unwrap().is.text.trim().to_owned();
            prop_assert_eq!(known, new.trim());
            let kept = Sheet::open(&text);
            prop_assert_eq!(sheet.cells().count(), kept.cells().count());
        }
    }
}
