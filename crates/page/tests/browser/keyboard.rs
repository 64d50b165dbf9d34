//! The whole page with the keyboard alone.

use fantoccini::key::Key;

use crate::opened::{Opened, with_page};
use crate::values::PIPE;

async fn focused(page: &Opened) -> String {
    page.value("document.activeElement.id || document.activeElement.className").await
}

/// Presses Tab until the focus is on an element; tells where it has been.
async fn tab_to(page: &Opened, id: &str) -> Vec<String> {
    let mut way = Vec::new();
    for _ in 0..60 {
        page.press(&char::from(Key::Tab).to_string()).await;
        way.push(focused(page).await);
        if way.last().is_some_and(|at| at == id) {
            return way;
        }
    }
    panic!("`{id}` is not reached: {way:?}");
}

#[test]
fn everything_is_reached_and_done_with_keys() {
    with_page(PIPE, async |page| {
        let way = tab_to(&page, "field-bore").await;
        assert_eq!(way[0], "skip", "{way:?}");
        for id in ["case", "field-flow", "field-head"] {
            assert!(way.iter().any(|at| at == id), "{id}: {way:?}");
        }
        // The focus is to be seen.
        let outline = page.value("getComputedStyle(document.activeElement).outlineStyle").await;
        assert_eq!(outline, "solid");

        let (up, down, shift) =
            (char::from(Key::Up), char::from(Key::Down), char::from(Key::Shift));
        page.press(&up.to_string()).await;
        assert_eq!(page.field("bore").await, "201 mm");
        page.press(&format!("{shift}{up}{}", char::from(Key::Null))).await;
        assert_eq!(page.field("bore").await, "211 mm");
        page.press(&down.to_string()).await;
        assert_eq!(page.field("bore").await, "210 mm");
        // By hand: 0.04 / (π/4 · 0.21²).
        page.shows("velocity", "1.155 m/s").await;

        page.control('z').await;
        page.shows("velocity", "1.273 m/s").await;
        assert_eq!(page.field("bore").await, "200 mm");

        // Escape gives up what was typed.
        page.type_value("bore", "250 nonsense").await;
        page.press(&char::from(Key::Escape).to_string()).await;
        assert_eq!(page.field("bore").await, "200 mm");
        // Also where half of it was a value.
        page.type_value("bore", "9 m").await;
        page.shows("velocity", "0.0006288 m/s").await;
        page.press("nth").await;
        page.shows("velocity", "1.273 m/s").await;
        page.press(&char::from(Key::Escape).to_string()).await;
        assert_eq!(page.field("bore").await, "200 mm");
        page.type_value("bore", "9 m").await;
        page.shows("velocity", "0.0006288 m/s").await;
        page.press(&char::from(Key::Escape).to_string()).await;
        page.shows("velocity", "1.273 m/s").await;
        assert_eq!(page.field("bore").await, "200 mm");

        // A number opens and closes its working.
        tab_to(&page, "number-cell-velocity").await;
        page.press(&char::from(Key::Enter).to_string()).await;
        page.until("document.querySelector('.working:not([hidden]) .step') !== null").await;
        page.press(&char::from(Key::Enter).to_string()).await;
        page.until("document.querySelector('.working:not([hidden])') === null").await;

        page.client().refresh().await.unwrap();
        page.until("document.querySelector('#sheet .row') !== null").await;
        tab_to(&page, "field-head").await;
        page.press(&up.to_string()).await;
        page.until("!document.querySelector('#save').disabled").await;
        page.control('s').await;
        page.until("document.querySelector('#status').innerText.startsWith('Saved')").await;
        assert_eq!(page.served.text(), PIPE.replace("head: 4 m", "head: 5 m"));
    });
}
