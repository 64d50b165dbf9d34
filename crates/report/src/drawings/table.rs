//! The data behind a drawing as a table: for those who cannot see it, and for those who want digits.

use crate::markup::escaped;
use crate::study::csv_fields;

/// Longer tables are cut in a page; the CSV has every row.
const MOST_ROWS: usize = 200;

/// The data of a drawing: heads with units, and rows.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct DataTable {
    /// What each column holds, with its unit in brackets.
    pub heads: Vec<String>,
    /// The rows; a gap is an empty text.
    pub rows: Vec<Vec<String>>,
}

impl DataTable {
    /// The table as a piece of HTML; everything in it is escaped. Of more than 200 rows the first
    /// are shown, and how many there are.
    #[must_use]
    pub fn html(&self) -> String {
        let mut out = String::from("<table>\n<thead><tr>");
        for head in &self.heads {
            out.push_str(&format!("<th scope=\"col\">{}</th>", escaped(head)));
        }
        out.push_str("</tr></thead>\n<tbody>\n");
        for row in self.rows.iter().take(MOST_ROWS) {
            out.push_str("<tr>");
            for field in row {
                let text = if field.is_empty() { "–" } else { field };
                out.push_str(&format!("<td>{}</td>", escaped(text)));
            }
            out.push_str("</tr>\n");
        }
        out.push_str("</tbody>\n</table>\n");
        if self.rows.len() > MOST_ROWS {
            let all = self.rows.len();
            out.push_str(&format!("<p>The first {MOST_ROWS} of {all} rows.</p>\n"));
        }
        out
    }

    /// The table as comma-separated values (RFC 4180), every row.
    #[must_use]
    pub fn csv(&self) -> String {
        let mut out = csv_fields(self.heads.iter().map(String::as_str));
        for row in &self.rows {
            out.push_str(&csv_fields(row.iter().map(String::as_str)));
        }
        out
    }
}
