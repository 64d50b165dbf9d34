//! A page that is open in the browser, and what a test does with it.

use std::future::Future;
use std::time::{Duration, Instant};

use fantoccini::key::Key;
use fantoccini::{Client, Locator};

use crate::chromium::{self, Chromium};
use crate::files::Served;

/// How long something may take to appear; generous, since machines are busy.
const PATIENCE: Duration = Duration::from_secs(20);

/// A page in the browser.
pub(crate) struct Opened {
    pub(crate) chromium: Chromium,
    pub(crate) served: Served,
}

/// Opens a sheet and does something with it; where there is no browser, the test is skipped.
pub(crate) fn with_page<F: Future<Output = ()>>(text: &str, test: impl FnOnce(Opened) -> F) {
    if !chromium::is_there() {
        return;
    }
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    runtime.block_on(async {
        let served = Served::new(text);
        let chromium = Chromium::start().await;
        let opened = Opened { chromium, served };
        opened.client().goto(&opened.served.address).await.unwrap();
        opened.until("document.querySelector('#sheet .row') !== null").await;
        test(opened).await;
    });
}

impl Opened {
    pub(crate) fn client(&self) -> &Client {
        &self.chromium.client
    }

    /// What an expression gives, as text.
    pub(crate) async fn value(&self, expression: &str) -> String {
        let script = format!("return String({expression})");
        self.client().execute(&script, vec![]).await.unwrap().as_str().unwrap().to_owned()
    }

    /// Waits until an expression holds.
    #[track_caller]
    pub(crate) fn until(&self, expression: &str) -> impl Future<Output = ()> {
        self.until_at(expression.to_owned(), std::panic::Location::caller())
    }

    async fn until_at(&self, expression: String, place: &'static std::panic::Location<'static>) {
        let end = Instant::now() + PATIENCE;
        // What it asks of may not be there yet.
        let tried =
            format!("(() => {{ try {{ return {expression} }} catch {{ return false }} }})()");
        while self.value(&tried).await != "true" {
            if Instant::now() >= end {
                let page = self.value("document.body.innerText").await;
                panic!("{place}: never came true: {expression}\nThe page:\n{page}");
            }
            tokio::time::sleep(Duration::from_millis(30)).await;
        }
    }

    /// The shown value of a result.
    pub(crate) async fn result(&self, name: &str) -> String {
        self.value(&format!(
            "document.querySelector('#cell-{name} .number').innerText.replace(/\\s+/g, ' ').trim()"
        ))
        .await
    }

    /// Waits until a result is shown as this.
    #[track_caller]
    pub(crate) fn shows(&self, name: &str, shown: &str) -> impl Future<Output = ()> {
        let place = std::panic::Location::caller();
        let now = format!("document.querySelector('#cell-{name} .number').innerText");
        self.until_at(format!("{now}.replace(/\\s+/g, ' ').trim() === '{shown}'"), place)
    }

    /// Types a value over what stands in a field.
    pub(crate) async fn type_value(&self, name: &str, value: &str) {
        let field = self.client().find(Locator::Css(&format!("#field-{name}"))).await.unwrap();
        field.click().await.unwrap();
        self.value(&format!("document.querySelector('#field-{name}').select()")).await;
        field.send_keys(value).await.unwrap();
    }

    /// The same, letter by letter at the speed of a hand, so that what is half-typed is computed.
    pub(crate) async fn type_slowly(&self, name: &str, value: &str) {
        self.type_value(name, "").await;
        for letter in value.chars() {
            self.press(&letter.to_string()).await;
            tokio::time::sleep(Duration::from_millis(150)).await;
        }
    }

    /// What a field holds.
    pub(crate) async fn field(&self, name: &str) -> String {
        self.value(&format!("document.querySelector('#field-{name}').value")).await
    }

    /// Presses keys wherever the focus is.
    pub(crate) async fn press(&self, keys: &str) {
        self.client().active_element().await.unwrap().send_keys(keys).await.unwrap();
    }

    /// Presses a letter with the control key.
    pub(crate) async fn control(&self, letter: char) {
        let keys = format!("{}{letter}{}", char::from(Key::Control), char::from(Key::Null));
        self.press(&keys).await;
    }

    /// Clicks on what a selector finds.
    pub(crate) async fn click(&self, selector: &str) {
        self.client().find(Locator::Css(selector)).await.unwrap().click().await.unwrap();
    }
}
