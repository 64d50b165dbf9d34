//! Studies as comma-separated values (RFC 4180): a head with units in brackets, full digits below.

use forebay_sheet::Value;
use forebay_study::{Axis, Column, Varied};
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
    heads.extend(["fails".to_owned(), "trouble".to_owned()]);
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
        fields.push(trouble.join("; "));
        out.push_str(&csv_fields(fields.iter().map(String::as_str)));
    }
    out
}

/// A value as other programs read it, in the unit of its column.
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
        // A row has no series; see `forebay_study`.
        Value::Series(_) => String::new(),
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
