//! `formulas` and `units`: every entry can be found, and no line is wider than the terminal.

use crate::running::{assert_fits, forebay};

#[test]
fn every_formula_and_every_word_of_the_language_is_listed() {
    let ran = forebay(&["formulas"]);
    assert_eq!(ran.code, 0);
    assert_fits(&ran.out, 80);
    let names = forebay_formulas::all().map(|formula| formula.name);
    for name in names.chain(forebay_sheet::language().map(|word| word.name)) {
        assert!(ran.out.contains(&format!("\n  {name}")), "{name}");
    }
}

#[test]
fn a_search_finds_only_what_it_asks_for() {
    let ran = forebay(&["formulas", "--search", "v-notch"]);
    assert!(ran.out.contains("weir_v_notch_flow"));
    assert!(!ran.out.contains("friction_head"));
    assert_eq!(forebay(&["formulas", "--search", "perpetuum"]).code, 2);
}

#[test]
fn a_formula_from_memory_says_so() {
    use forebay_formulas::Standing;
    let from_memory = forebay_formulas::all().find(|f| f.source.standing == Standing::Memory);
    let words = "from memory, not yet confirmed in print";
    if let Some(formula) = from_memory {
        assert!(forebay(&["formulas", formula.name]).out.replace("\n  ", " ").contains(words));
    }
    assert!(!forebay(&["formulas", "friction_head"]).out.contains(words));
}

#[test]
fn a_word_of_the_language_has_a_page() {
    let ran = forebay(&["formulas", "zero_of"]);
    assert_eq!(ran.code, 0);
    assert!(ran.out.starts_with("zero_of("), "{}", ran.out);
}

#[test]
fn units_are_found_by_spelling_name_and_dimension() {
    let check = |word: &str, expected: &str| {
        let ran = forebay(&["units", word]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        assert_fits(&ran.out, 80);
        assert!(ran.out.contains(expected), "{}", ran.out);
    };
    check("horsepower", "hp_metric");
    check("volume flow", "gpm");
    check("kW", "`kW` is read: power; 1 kW is 1000");
    check("gal", "several units; write gal_US, gal_UK");
    check("AWG", "awg_diameter");
    check("CHF", "Swiss franc, 2 decimals");
    assert_fits(&forebay(&["units"]).out, 80);
}

#[test]
fn the_schema_is_json_and_the_format_a_page() {
    let ran = forebay(&["schema"]);
    assert_eq!(ran.code, 0);
    let schema: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
    let ran = forebay(&["schema", "--as", "markdown"]);
    assert!(ran.out.starts_with("# The format of a worksheet\n"), "{}", ran.out);
}
