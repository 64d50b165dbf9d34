//! A table of a study for reading: heads in two lines, columns under one another, split into
//! several where the terminal is too narrow.

use crate::page::{Page, width, wrap};

/// A table of texts.
#[derive(Debug, Default)]
pub(crate) struct Table {
    /// Name and unit of each column.
    pub(crate) heads: Vec<(String, String)>,
    /// The fields of each row.
    pub(crate) rows: Vec<Vec<String>>,
    /// What is said behind each row; may be empty.
    pub(crate) remarks: Vec<String>,
    /// So many columns at the front are repeated where the table is split, and are texts or
    /// numbers by which a row is found.
    pub(crate) fixed: usize,
}

const INDENT: usize = 2;
const SPACE: usize = 2;
/// A head wider than this takes several lines.
const WIDEST_HEAD: usize = 24;
/// A text by which a row is found that is wider than this stands above its row.
const WIDEST_LABEL: usize = 32;

impl Table {
    /// Puts the table on a page.
    pub(crate) fn put(&self, page: &mut Page) {
        let wide: Vec<usize> = (0..self.heads.len()).map(|at| self.width_of(at)).collect();
        let fixed: usize = wide.iter().take(self.fixed).map(|w| w + SPACE).sum();
        let mut next = self.fixed;
        let mut first = true;
        loop {
            let mut columns: Vec<usize> = (0..self.fixed.min(self.heads.len())).collect();
            let mut at = INDENT + fixed;
            while next < self.heads.len()
                && (columns.len() == self.fixed || at + wide[next] <= page.width())
            {
                at += wide[next] + SPACE;
                columns.push(next);
                next += 1;
            }
            if !first {
                page.gap();
            }
            self.piece(page, &columns, &wide, next >= self.heads.len());
            first = false;
            if next >= self.heads.len() {
                break;
            }
        }
    }

    fn piece(&self, page: &mut Page, columns: &[usize], wide: &[usize], last: bool) {
        let names: Vec<Vec<String>> = columns.iter().map(|at| self.head(*at)).collect();
        let most = names.iter().map(Vec::len).max().unwrap_or(0);
        for line in 0..most {
            let fields = columns.iter().zip(&names).map(|(at, lines)| {
                // Their last lines stand side by side, above the unit.
                let text = (line + lines.len()).checked_sub(most).and_then(|at| lines.get(at));
                self.field(*at, text.map_or("", String::as_str), wide)
            });
            page.aligned(INDENT, &fields.collect::<Vec<_>>().join("  "), "");
        }
        let units: Vec<String> =
            columns.iter().map(|at| self.field(*at, &self.heads[*at].1, wide)).collect();
        if units.iter().any(|unit| !unit.trim().is_empty()) {
            page.aligned(INDENT, &units.join("  "), "");
        }
        for (row, remark) in self.rows.iter().zip(&self.remarks) {
            let mut fields = Vec::with_capacity(columns.len());
            for at in columns {
                let mut text = row.get(*at).map_or("", String::as_str);
                if width(text) > wide[*at] {
                    page.line(INDENT, text);
                    text = "";
                }
                fields.push(self.field(*at, text, wide));
            }
            page.aligned(INDENT, &fields.join("  "), if last { remark } else { "" });
        }
    }

    /// A field in its column: numbers to the right, the texts of a first column to the left.
    fn field(&self, at: usize, text: &str, wide: &[usize]) -> String {
        let missing = " ".repeat(wide[at].saturating_sub(width(text)));
        if at < self.fixed && !self.holds_numbers(at) {
            format!("{text}{missing}")
        } else {
            format!("{missing}{text}")
        }
    }

    fn holds_numbers(&self, at: usize) -> bool {
        let mut fields = self.rows.iter().filter_map(|row| row.get(at));
        fields.all(|field| field.split(' ').next().is_some_and(|w| w.parse::<f64>().is_ok()))
    }

    /// The lines of a head.
    fn head(&self, at: usize) -> Vec<String> {
        wrap(&self.heads[at].0, WIDEST_HEAD)
    }

    fn width_of(&self, at: usize) -> usize {
        let label = at < self.fixed && !self.holds_numbers(at);
        let most = if label { WIDEST_LABEL } else { usize::MAX };
        let rows = self.rows.iter().filter_map(|row| row.get(at)).map(|field| width(field));
        let rows = rows.filter(|wide| *wide <= most);
        let head = self.head(at);
        let heads = head.iter().map(|line| width(line));
        rows.chain(heads).chain([width(&self.heads[at].1)]).max().unwrap_or(0)
    }
}
