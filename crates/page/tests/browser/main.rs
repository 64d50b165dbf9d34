//! The page in a real browser, as its users meet it: typing, keys, saving, two pages, hostile
//! sheets, accessibility.
//!
//! The tests need Chromium and its driver (Debian: `chromium`, `chromium-driver`) and `npm ci` in
//! this folder. Without them they are skipped with a loud line, unless `FOREBAY_BROWSER=required`.

#![allow(clippy::unwrap_used, reason = "a panic here is a failing test")]

mod accessibility;
mod chromium;
mod files;
mod hostile;
mod keyboard;
mod opened;
mod outside;
mod saving;
mod values;
