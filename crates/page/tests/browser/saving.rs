//! Saving changes just those values in the file, and never over somebody else's work.

use crate::opened::with_page;
use crate::values::PIPE;

#[test]
fn saving_changes_just_the_value_and_a_reload_shows_it() {
    with_page(PIPE, async |page| {
        page.type_value("bore", "6 in").await;
        page.shows("power", "714.3 W").await;
        page.click("#save").await;
        page.until("document.querySelector('#status').innerText === 'Saved to brook.yaml.'").await;
        let expected = PIPE.replace("bore: 200 mm # measured", "bore: 6 in # measured");
        assert_eq!(page.served.text(), expected);
        let beside = std::fs::read_dir(page.served.folder.path()).unwrap().count();
        assert_eq!(beside, 1, "nothing is left beside the file");
        page.client().refresh().await.unwrap();
        page.shows("power", "714.3 W").await;
        assert_eq!(page.field("bore").await, "6 in");
        assert_eq!(page.value("document.querySelector('#save').disabled").await, "true");
    });
}

#[test]
fn a_case_is_switched_changed_and_a_new_one_saved() {
    with_page(PIPE, async |page| {
        page.client()
            .find(fantoccini::Locator::Css("#case"))
            .await
            .unwrap()
            .select_by_value("dry")
            .await
            .unwrap();
        // By hand: 0.015 / (π/4 · 0.2²).
        page.shows("velocity", "0.4775 m/s").await;
        page.type_value("flow", "10 L/s").await;
        page.shows("velocity", "0.3183 m/s").await;
        page.click("#new-case").await;
        page.value("document.querySelector('#case-name').focus()").await;
        page.press("dry").await;
        page.click("#case-form button").await;
        page.until("document.querySelector('#case-error').innerText.startsWith('There is a case dry already')").await;
        page.press("est\n").await;
        page.until(
            "document.querySelector('#status').innerText.startsWith('Saved as case dryest')",
        )
        .await;
        assert_eq!(page.served.text(), format!("{PIPE}  dryest:\n    flow: 10 L/s\n"));
        page.until("document.querySelector('#case').value === 'dryest'").await;
        page.shows("velocity", "0.3183 m/s").await;
    });
}

#[test]
fn two_pages_do_not_write_over_one_another() {
    with_page(PIPE, async |page| {
        let first = page.client().window().await.unwrap();
        page.type_value("bore", "6 in").await;
        page.shows("power", "714.3 W").await;
        let second = page.client().new_window(true).await.unwrap().handle;
        page.client().switch_to_window(second.clone()).await.unwrap();
        page.client().goto(&page.served.address).await.unwrap();
        page.shows("power", "883.1 W").await;
        page.type_value("head", "5 m").await;
        page.until("!document.querySelector('#save').disabled").await;
        page.click("#save").await;
        page.until("document.querySelector('#status').innerText.startsWith('Saved')").await;

        page.client().switch_to_window(first).await.unwrap();
        // The other page's head is there, and the bore that is not saved yet.
        page.shows("power", "949.6 W").await;
        assert_eq!(page.field("bore").await, "6 in");
        assert_eq!(page.field("head").await, "5 m");
        page.click("#save").await;
        page.until("document.querySelector('#status').innerText.startsWith('Saved')").await;
        let expected = PIPE.replace("bore: 200 mm", "bore: 6 in").replace("head: 4 m", "head: 5 m");
        assert_eq!(page.served.text(), expected);
        page.client().switch_to_window(second).await.unwrap();
        page.shows("power", "949.6 W").await;
    });
}
