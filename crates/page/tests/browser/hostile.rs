//! A stranger's sheet cannot run anything in the page, and the page asks nobody but its server.

use crate::opened::with_page;

const HOSTILE: &str = r#"forebay: 1
title: "<script>window.struck = 1</script><img src=https://elsewhere.example/x onerror='window.struck = 1'>"
known:
  bore:
    is: 200 mm
    plus_minus: 1 mm
    about: "<b id=bold>bold</b><style>@import 'https://elsewhere.example/y'</style>"
  kind: '"<svg onload=window.struck=1>"'
tables:
  rows_of_text:
    about: "</details><script>window.struck = 1</script>"
    columns: { words: text }
    rows:
      - ["<iframe src=https://elsewhere.example/z></iframe>"]
work:
  area: circle_area(bore)
check:
  small:
    that: area < 1 m^2
    else: "<script>window.struck = 1</script>"
    caution: "<a href=javascript:window.struck=1 id=link>go</a>"
cases:
  one: { bore: 100 mm }
"#;

#[test]
fn nothing_of_a_sheet_is_read_as_html() {
    with_page(HOSTILE, async |page| {
        let title = page.value("document.querySelector('h1').textContent").await;
        assert!(title.starts_with("<script>window.struck"), "{title}");
        page.click("#cell-area .number").await;
        page.until(
            "document.querySelector('#cell-area .working').innerText.includes('circle_area')",
        )
        .await;
        page.type_value("kind", "<img src=x onerror=window.struck=1>\t").await;
        page.until("!document.querySelector('#field-kind-error').hidden || document.querySelector('#save').disabled === false").await;
        assert_eq!(page.value("window.struck").await, "undefined");
        assert_eq!(
            page.value(
                "document.querySelectorAll('img, iframe, svg[onload], #bold, #link').length"
            )
            .await,
            "0"
        );
        let foreign: Vec<String> = page.chromium.requests();
        assert!(!foreign.is_empty());
        let home = page.served.address.split('?').next().unwrap().to_owned();
        for address in foreign {
            let own = address.starts_with(&home) || address.starts_with("data:");
            assert!(own, "asked elsewhere: {address}");
        }
        let entries = page
            .value("performance.getEntriesByType('resource').map((e) => e.name).filter((n) => !n.startsWith(location.origin) && !n.startsWith('data:'))")
            .await;
        assert_eq!(entries, "");
    });
}

#[test]
fn the_policy_holds_even_where_a_script_gets_in() {
    with_page(HOSTILE, async |page| {
        // What an injected element could try: the policy stops each.
        page.client()
            .execute_async(
                "const done = arguments[arguments.length - 1];
                 window.breaches = [];
                 document.addEventListener('securitypolicyviolation', (e) => window.breaches.push(e.effectiveDirective));
                 const script = document.createElement('script');
                 try { script.src = 'https://elsewhere.example/a.js'; } catch { window.breaches.push('trusted types'); }
                 document.body.append(script);
                 const image = document.createElement('img'); image.src = 'https://elsewhere.example/a.png'; document.body.append(image);
                 fetch('https://elsewhere.example/').catch(() => {});
                 setTimeout(() => done(true), 500);",
                vec![],
            )
            .await
            .unwrap();
        let breaches = page.value("window.breaches.sort()").await;
        for directive in ["connect-src", "img-src", "trusted types"] {
            assert!(breaches.contains(directive), "{directive}: {breaches}");
        }
        let elsewhere: Vec<String> =
            page.chromium.requests().into_iter().filter(|a| a.contains("elsewhere")).collect();
        assert!(elsewhere.is_empty(), "{elsewhere:?}");
    });
}
