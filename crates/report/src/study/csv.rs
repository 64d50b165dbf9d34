//! Studies as comma-separated values (RFC 4180): a head with units in brackets, full digits below.

use std::borrow::Cow;

use forebay_sheet::{Value, Verdict};
use forebay_study::{Axis, Column, Compared, Each, EachRow, Varied, gravest};
use forebay_units::{Unit, shortest};

use super::head;
use crate::json::in_unit;

/// One record with its line end; fields are quoted where they must be.
pub fn csv_fields<'a>(fields: impl IntoIterator<Item = &'a str>) -> String {
    let mut out = String::new();
    for (at, field) in fields.into_iter().enumerate() {
        if at > 0 {
            out.push(',');
        }
        if field.contains([',', '"', '\n', '\r']) || field.trim() != field {
            out.push('"');
            out.push_str(&field.replace('"', "\"\""));
            out.push('"');
        } else {
            out.push_str(field);
        }
    }
    out.push('\n');
    out
}

/// Every point with every cell seen, the checks that fail, and why a cell has no value.
#[must_use]
pub fn vary_csv(varied: &Varied) -> String {
    let axes: Vec<Column> = varied.axes.iter().map(column_of_axis).collect();
    let mut heads: Vec<String> = axes.iter().chain(&varied.columns).map(head).collect();
    heads.extend(["fails".to_owned(), "doubt".to_owned(), "trouble".to_owned()]);
    let mut out = csv_fields(heads.iter().map(String::as_str));
    for row in &varied.rows {
        let mut fields: Vec<String> =
            row.at.iter().zip(&axes).map(|(value, column)| plain(value, column)).collect();
        let mut trouble = Vec::new();
        for (seen, column) in row.row.seen.iter().zip(&varied.columns) {
            fields.push(seen.value().map_or_else(String::new, |value| plain(value, column)));
            if let forebay_study::Seen::Missing(why) = seen {
                trouble.push(format!("{}: {why}", column.name));
            }
        }
        let fails: Vec<&str> = row
            .row
            .failing
            .iter()
            .filter_map(|at| varied.checks.get(*at))
            .map(|check| check.name.as_str())
            .collect();
        fields.push(fails.join(" "));
        fields.push(row.row.doubt.clone().unwrap_or_default());
        fields.push(trouble.join("; "));
        out.push_str(&csv_fields(fields.iter().map(String::as_str)));
    }
    out
}

/// The head of the table that [`each_csv`] gives the rows of.
#[must_use]
pub fn each_csv_head(each: &Each<'_>) -> String {
    let mut heads: Vec<String> = each.heads().to_vec();
    heads.extend(each.columns().iter().map(head));
    heads.extend(["fails".to_owned(), "doubt".to_owned(), "trouble".to_owned()]);
    csv_fields(heads.iter().map(String::as_str))
}

/// One row of a table: what came in as it came, what came out, the gravest check that fails, and
/// why the row is kept apart. Fields beyond the head stand in the last column.
#[must_use]
pub fn each_csv(each: &Each<'_>, fields: &[&str], row: &EachRow) -> String {
    let wide = each.heads().len();
    let mut out: Vec<Cow<'_, str>> =
        (0..wide).map(|at| Cow::Borrowed(fields.get(at).copied().unwrap_or_default())).collect();
    for (at, column) in each.columns().iter().enumerate() {
        let seen = row.row.as_ref().and_then(|row| row.seen.get(at)?.value());
        out.push(seen.map_or(Cow::Borrowed(""), |value| Cow::Owned(plain(value, column))));
    }
    let failing = row.row.as_ref().map_or(&[][..], |row| &row.failing);
    let gravest = gravest(each.checks(), failing);
    out.push(Cow::Borrowed(gravest.map_or("", |check| check.name.as_str())));
    let doubt = row.row.as_ref().and_then(|row| row.doubt.as_deref());
    out.push(Cow::Borrowed(doubt.unwrap_or_default()));
    let mut trouble = row.trouble.clone().unwrap_or_default();
    if fields.len() > wide {
        trouble.push_str(&format!("; beyond the head: {}", fields[wide..].join(" | ")));
    }
    out.push(Cow::Owned(trouble));
    csv_fields(out.iter().map(AsRef::as_ref))
}

/// Every cell that differs, and then every check, a row each: the values as shown in the unit of
/// the row, differences to the first sheet, and shares of its value.
#[must_use]
pub fn compare_csv(compared: &Compared) -> String {
    let mut heads = vec!["name".to_owned(), "unit".to_owned()];
    heads.extend(compared.labels.iter().cloned());
    for label in compared.labels.iter().skip(1) {
        heads.push(format!("{label} difference"));
        heads.push(format!("{label} share"));
    }
    let mut out = csv_fields(heads.iter().map(String::as_str));
    for line in &compared.lines {
        let column = Column { name: line.name.clone(), ty: line.ty, unit: line.value_unit.clone() };
        let symbol = line.value_unit.as_ref().map_or("", Unit::symbol).to_owned();
        let mut fields = vec![line.name.clone(), symbol];
        for entry in &line.entries {
            let value = entry.as_ref().and_then(|entry| entry.value.as_ref());
            fields.push(value.map_or_else(String::new, |value| plain(value, &column)));
        }
        for entry in line.entries.iter().skip(1) {
            let difference = entry.as_ref().and_then(|entry| entry.difference);
            // A difference has no zero of its own: the factor alone.
            let factor = line.value_unit.as_ref().map_or(1.0, Unit::factor);
            let shown = |number: Option<f64>| {
                number.and_then(|n| shortest(in_unit(n, &Unit::ONE))).unwrap_or_default()
            };
            fields.push(shown(difference.map(|difference| difference / factor)));
            fields.push(shown(entry.as_ref().and_then(|entry| entry.share)));
        }
        out.push_str(&csv_fields(fields.iter().map(String::as_str)));
    }
    for check in &compared.checks {
        let mut fields = vec![check.name.clone(), "check".to_owned()];
        fields.extend(check.verdicts.iter().map(|v| v.map_or("", verdict).to_owned()));
        fields.extend(vec![String::new(); 2 * compared.labels.len().saturating_sub(1)]);
        out.push_str(&csv_fields(fields.iter().map(String::as_str)));
    }
    out
}

/// How a check stands, in the word that JSON uses too.
pub(crate) fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Holds => "holds",
        Verdict::Fails => "fails",
        Verdict::Unknown => "unknown",
    }
}

/// A value as other programs read it, in the unit of its column; a series as its values with spaces
/// between, `~` for a gap, and the date in front where it is dated.
pub(crate) fn plain(value: &Value, column: &Column) -> String {
    match value {
        Value::Number(si) => {
            let unit = column.unit.as_ref().unwrap_or(&Unit::ONE);
            shortest(in_unit(*si, unit)).unwrap_or_default()
        }
        Value::Money(amount) => amount.to_string(),
        Value::Truth(truth) => (if *truth { "yes" } else { "no" }).to_owned(),
        Value::Text(text) => text.to_string(),
        Value::Date(date) => date.to_string(),
        Value::Series(series) => {
            let one = |at: usize| series.get(at).map_or("~".to_owned(), |v| plain(&v, column));
            let items = (0..series.len()).map(|at| match &series.dates {
                Some(dates) => format!("{}={}", dates[at], one(at)),
                None => one(at),
            });
            items.collect::<Vec<_>>().join(" ")
        }
    }
}

/// The column of a known that is varied.
pub(crate) fn column_of_axis(axis: &Axis) -> Column {
    let unit = axis.unit.clone().filter(|_| !axis.ty.scalar().is_money());
    Column { name: axis.known.clone(), ty: axis.ty, unit }
}

#[cfg(test)]
mod tests {
    use super::csv_fields;

    #[test]
    fn fields_are_quoted_where_they_must_be() {
        // RFC 4180, section 2, rules 5 to 7.
        assert_eq!(
            csv_fields(["a", "b,c", "say \"so\"", "two\nlines", ""]),
            "a,\"b,c\",\"say \"\"so\"\"\",\"two\nlines\",\n"
        );
    }
}
