//! The file is edited in an editor while the page is open.

use crate::opened::with_page;
use crate::values::PIPE;

#[test]
fn what_an_editor_saves_is_shown_and_what_is_unsaved_stays() {
    with_page(PIPE, async |page| {
        page.type_value("bore", "6 in").await;
        page.shows("power", "714.3 W").await;
        // Also where the focus is, as long as nothing is typed there.
        page.click("#field-head").await;
        page.served.write(&PIPE.replace("head: 4 m", "head: 5 m"));
        page.shows("power", "949.6 W").await;
        assert_eq!(page.field("bore").await, "6 in");
        assert_eq!(page.field("head").await, "5 m");
        page.until(
            "document.querySelector('#status').innerText.startsWith('The file was changed')",
        )
        .await;
    });
}

#[test]
fn where_both_changed_the_user_is_asked() {
    with_page(PIPE, async |page| {
        page.type_value("bore", "6 in").await;
        page.shows("power", "714.3 W").await;
        let theirs = PIPE.replace("bore: 200 mm", "bore: 180 mm");
        page.served.write(&theirs);
        page.until("document.querySelector('#cell-bore .ask').innerText.includes('meanwhile the file says 180 mm')").await;
        page.click("#save").await;
        page.until("document.querySelector('#status').innerText.startsWith('bore was changed here and in the file')").await;
        assert_eq!(page.served.text(), theirs, "nothing is written before the answer");
        page.click("#cell-bore .ask button:first-of-type").await;
        page.until("document.querySelector('#cell-bore .ask').hidden").await;
        page.click("#save").await;
        page.until("document.querySelector('#status').innerText.startsWith('Saved')").await;
        assert_eq!(page.served.text(), PIPE.replace("bore: 200 mm", "bore: 6 in"));

        page.type_value("bore", "7 in").await;
        page.served.write(&theirs);
        page.until("!document.querySelector('#cell-bore .ask').hidden").await;
        page.click("#cell-bore .ask button:last-of-type").await;
        // By hand: 0.04 / (π/4 · 0.18²).
        page.shows("velocity", "1.572 m/s").await;
        assert_eq!(page.field("bore").await, "180 mm");
    });
}

#[test]
fn a_file_that_is_broken_or_gone_for_a_while_takes_nothing_along() {
    with_page(PIPE, async |page| {
        page.type_value("bore", "6 in").await;
        page.shows("power", "714.3 W").await;
        std::fs::remove_file(&page.served.file).unwrap();
        page.until("document.querySelector('#told').innerText.includes('no such file')").await;
        assert_eq!(page.result("power").await, "714.3 W");
        page.served.write(&PIPE.replace("  bore: 200 mm", "  bohr: 200 mm"));
        page.until("document.querySelector('#told').innerText.includes('Your bore = 6 in waits.')")
            .await;
        page.until("document.querySelector('#told').innerText.includes('in line')").await;
        page.served.write(PIPE);
        page.shows("power", "714.3 W").await;
        assert_eq!(page.field("bore").await, "6 in");
    });
}
