//! Studies for reading, one file each.

pub(crate) mod compare;
pub(crate) mod solve;
pub(crate) mod spread;
pub(crate) mod vary;

use crate::page::Page;

/// Says that work was stopped before its end.
pub(crate) fn partial(page: &mut Page, done: u64, total: u64, what: &str) {
    if done < total {
        page.gap();
        page.line(0, &format!("partial: stopped after {done} of {total} {what}"));
    }
}
