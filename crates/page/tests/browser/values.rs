//! Values are typed in any unit that fits, and what is broken is told at its field.

use fantoccini::key::Key;

use crate::opened::with_page;

/// A pipe from a pond; the figures are ours.
pub(crate) const PIPE: &str = "forebay: 1
title: Foxglove Sluice
show: [power]
known:
  flow: 40 L/s
  head: 4 m
  bore: 200 mm # measured with a calliper
work:
  velocity: flow / circle_area(bore)
  loss: 0.02 * 30 m / bore * velocity^2 / (2 * standard_gravity)
  power: 0.6 * 1000 kg/m^3 * standard_gravity * flow * (head - loss)
check:
  not_too_fast:
    that: velocity < 2 m/s
    else: Take a wider pipe.
    level: care
cases:
  dry: { flow: 15 L/s }
";

#[test]
fn a_new_bore_in_inches_gives_the_new_power() {
    with_page(PIPE, async |page| {
        // By hand, with standard gravity 9.80665 m/s²: 200 mm lose 0.2480 m to friction ...
        page.shows("power", "883.1 W").await;
        page.type_value("bore", "6 in").await;
        // ... and 0.1524 m lose 0.9652 m: 0.6 · 1000 · 9.80665 · 0.04 · 3.0348 = 714.3.
        page.shows("power", "714.3 W").await;
        page.until(
            "document.querySelector('#status').innerText.includes('power: 883.1 W → 714.3 W')",
        )
        .await;
        page.until("document.querySelector('#cell-power .by').innerText === 'was 883.1 W, -169 W, -19.1 %'").await;
        page.until("document.querySelector('#glance-power .n').innerText === '714.3'").await;
        page.press("\t").await;
        // Letter by letter: 180 m is a bore too, but nobody's.
        page.type_value("bore", "180 m").await;
        page.shows("velocity", "1.572e-6 m/s").await;
        page.press("m").await;
        page.until(
            "document.querySelector('#cell-velocity .by').innerText.startsWith('was 2.193 m/s')",
        )
        .await;
        page.type_value("bore", "6 in").await;
        page.shows("power", "714.3 W").await;
        // The check says in words that it fails, by how much, and what to do.
        page.until("document.querySelector('.check').innerText.includes('FAILS')").await;
        page.until("document.querySelector('.check').innerText.includes('short by 0.1928 m/s')")
            .await;
        page.until("document.querySelector('.check').innerText.includes('Take a wider pipe.')")
            .await;
        assert_eq!(page.served.text(), PIPE, "nothing is written before it is saved");
    });
}

#[test]
fn a_broken_field_is_explained_and_the_rest_lives_on() {
    with_page(PIPE, async |page| {
        page.type_value("bore", "3 L\t").await;
        page.until("document.querySelector('#field-bore-error').innerText.startsWith('bore is a length and cannot become a volume')").await;
        page.until("document.querySelector('#field-bore').getAttribute('aria-invalid') === 'true'")
            .await;
        page.type_value("flow", "20 L/s").await;
        // Half the flow through the old bore: 0.6366 m/s.
        page.shows("velocity", "0.6366 m/s").await;
        assert_eq!(page.field("bore").await, "3 L", "what was typed stays");
        // Saving would not save what stands there.
        page.click("#save").await;
        page.until("document.activeElement.id === 'field-bore'").await;
        assert_eq!(page.served.text(), PIPE);
        page.type_value("bore", "180").await;
        page.until("document.querySelector('#field-bore-error').innerText.includes('180 mm')")
            .await;
        page.type_value("bore", "0.18 m").await;
        page.until("document.querySelector('#field-bore-error').hidden").await;
        page.shows("velocity", "0.7860 m/s").await;
    });
}

#[test]
fn movement_is_told_from_the_value_before_the_edit() {
    with_page(PIPE, async |page| {
        // `180 m` is a length too, and is computed on the way.
        page.type_slowly("bore", "180 mm").await;
        // By hand: 180 mm lose 0.4200 m, so 0.6 · 1000 · 9.80665 · 0.04 · 3.5800 = 842.6.
        page.shows("power", "842.6 W").await;
        page.until("document.querySelector('#cell-bore .by').innerText.startsWith('was 200 mm')")
            .await;
        page.until(
            "document.querySelector('#status').innerText.includes('power: 883.1 W → 842.6 W')",
        )
        .await;
        // Confirmed, it is what the next edit begins from.
        page.press(&char::from(Key::Enter).to_string()).await;
        page.type_slowly("bore", "200 mm").await;
        page.until(
            "document.querySelector('#status').innerText.includes('power: 842.6 W → 883.1 W')",
        )
        .await;
    });
}

#[test]
fn a_text_that_breaks_while_typed_leaves_the_value_before_the_edit() {
    let sheet = "forebay: 1
known:
  share: 75 %
work:
  rest: 1 - share
";
    with_page(sheet, async |page| {
        page.shows("rest", "0.2500").await;
        // `82` is a number of its own, and is computed on the way.
        page.type_slowly("share", "82 percnt").await;
        page.until("document.querySelector('#field-share-error').innerText.includes('Until then the sheet computes with 75 %.')").await;
        page.shows("rest", "0.2500").await;
        assert_eq!(page.field("share").await, "82 percnt", "what was typed stays");
        page.press(&char::from(Key::Escape).to_string()).await;
        page.until("document.querySelector('#field-share-error').hidden").await;
        assert_eq!(page.field("share").await, "75 %");
        page.shows("rest", "0.2500").await;
        // Escape goes back behind a half-typed text that parses, too.
        page.type_slowly("share", "82").await;
        page.until("document.querySelector('#cell-rest .number').innerText.startsWith('-81')")
            .await;
        page.press(&char::from(Key::Escape).to_string()).await;
        page.shows("rest", "0.2500").await;
        assert_eq!(page.field("share").await, "75 %");
        page.until("document.querySelector('#save').disabled").await;
    });
}

#[test]
fn a_reference_is_held_beside_later_values() {
    with_page(PIPE, async |page| {
        page.click("#hold").await;
        page.until("document.querySelector('#hold').innerText === 'Let reference go'").await;
        page.type_value("bore", "6 in").await;
        page.shows("power", "714.3 W").await;
        page.type_value("head", "5 m").await;
        // 0.6 · 1000 · 9.80665 · 0.04 · 4.0348 = 949.6, against 883.1 at the reference.
        page.shows("power", "949.6 W").await;
        page.until("document.querySelector('#cell-power .by').innerText.startsWith('was 883.1 W, +66.6 W')").await;
        page.click("#hold").await;
        page.until("document.querySelector('#cell-power .by').innerText === ''").await;
    });
}

#[test]
fn a_number_opens_its_working() {
    with_page(PIPE, async |page| {
        page.click("#cell-velocity .number").await;
        page.until("document.querySelector('#cell-velocity .working').innerText.includes('40 L/s / circle_area(200 mm)')").await;
        page.type_value("flow", "50 L/s").await;
        page.until("document.querySelector('#cell-velocity .working').innerText.includes('50 L/s / circle_area(200 mm)')").await;
    });
}
