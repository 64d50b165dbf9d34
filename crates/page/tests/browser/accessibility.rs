//! The accessibility engine axe-core finds no serious or critical fault, whatever stands open.

use std::path::Path;

use serde_json::{Value as Json, json};

use crate::opened::{Opened, with_page};
use crate::values::PIPE;

/// The engine's script; `npm ci` puts it there.
fn engine() -> String {
    let place = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/browser/node_modules/axe-core/axe.min.js");
    std::fs::read_to_string(&place).unwrap_or_default()
}

/// The faults that the engine finds, each with the first place.
async fn faults(page: &Opened) -> Vec<String> {
    let found = page
        .client()
        .execute_async(
            "const done = arguments[arguments.length - 1];
             axe.run(document, { resultTypes: ['violations'] }).then((r) => done(r.violations));",
            vec![],
        )
        .await
        .unwrap();
    let grave = |fault: &&Json| matches!(fault["impact"].as_str(), Some("serious" | "critical"));
    let words = |fault: &Json| {
        format!("{}: {} at {}", fault["id"], fault["help"], fault["nodes"][0]["html"])
    };
    found.as_array().unwrap().iter().filter(grave).map(words).collect()
}

#[test]
fn no_serious_fault_is_found() {
    let engine = engine();
    if engine.is_empty() {
        let words = "axe-core is not there: run `npm ci` in crates/page/tests/browser";
        assert!(std::env::var_os("FOREBAY_BROWSER").is_none_or(|v| v != "required"), "{words}");
        use std::io::Write as _;
        let _ = writeln!(std::io::stderr(), "\nSKIPPED, accessibility is not tested: {words}\n");
        return;
    }
    let sheet = PIPE
        .replace("  head: 4 m", "  head: { is: 4 m, between: [1 m, 3 m], about: Fall }")
        + "tables:\n  gauge:\n    columns: { day: 1, flow: L/s }\n    rows: [[1, 20], [2, ~]]\n";
    let whole = forebay_sheet::template("whole-site").unwrap().text;
    for text in [sheet.as_str(), whole] {
        with_page(text, async |page| {
            page.client().execute(&engine, vec![]).await.unwrap();
            assert_eq!(faults(&page).await, Vec::<String>::new(), "as opened");
            // A label taken away must be noticed, or the engine is not at work.
            let field = page.value("document.querySelector('.known input').id").await;
            page.value(&format!(
                "(window.label = document.querySelector('[for={field}]')).htmlFor = ''"
            ))
            .await;
            assert_ne!(faults(&page).await, Vec::<String>::new(), "the engine sees nothing");
            page.value(&format!("(window.label.htmlFor = '{field}')")).await;

            page.value("document.querySelectorAll('details').forEach((d) => d.open = true)").await;
            page.value("document.querySelectorAll('#sheet .number').forEach((b, at) => at < 4 && b.click())").await;
            page.until("document.querySelectorAll('.working .step').length > 1").await;
            let first = field.trim_start_matches("field-").to_owned();
            page.type_value(&first, "3 bananas\t").await;
            page.until(&format!("!document.querySelector('#{field}-error').hidden")).await;
            for scheme in ["light", "dark"] {
                for width in [360, 1400] {
                    let features = json!([{ "name": "prefers-color-scheme", "value": scheme }]);
                    page.chromium
                        .protocol("Emulation.setEmulatedMedia", json!({ "features": features }));
                    let size = json!({ "width": width, "height": 800, "deviceScaleFactor": 1, "mobile": false });
                    page.chromium.protocol("Emulation.setDeviceMetricsOverride", size);
                    assert_eq!(faults(&page).await, Vec::<String>::new(), "{scheme}, {width} px");
                    // Nothing hangs over the edge.
                    let over =
                        page.value("document.documentElement.scrollWidth <= innerWidth").await;
                    assert_eq!(over, "true", "{width} px");
                }
            }
            let complaints = page.chromium.complaints();
            assert!(complaints.is_empty(), "{complaints:?}");
        });
    }
}
