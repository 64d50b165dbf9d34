//! Studies for other programs: one JSON document with a schema number.

use forebay_sheet::Value;
use forebay_study::{Column, Judged, Row, Seen, Varied};
use serde_json::{Map, Value as Json, json};

use super::csv::column_of_axis;
use crate::json::{SCHEMA, in_unit, number, plain, pretty};

/// Every point with every cell seen.
#[must_use]
pub fn vary_json(varied: &Varied) -> String {
    let axes: Vec<Column> = varied.axes.iter().map(column_of_axis).collect();
    let rows: Vec<Json> = varied
        .rows
        .iter()
        .map(|row| {
            let at: Map<String, Json> = row
                .at
                .iter()
                .zip(&axes)
                .map(|(value, column)| (column.name.clone(), value_in(value, column)))
                .collect();
            let (cells, fails) = row_json(&row.row, &varied.columns, &varied.checks);
            json!({ "at": at, "cells": cells, "fails": fails })
        })
        .collect();
    pretty(&json!({
        "schema": SCHEMA,
        "over": axes.iter().map(|axis| &axis.name).collect::<Vec<_>>(),
        "complete": varied.rows.len() as u64 == varied.total,
        "rows": rows,
    }))
}

/// The cells of a row and the names of the checks that fail in it.
pub(crate) fn row_json(row: &Row, columns: &[Column], checks: &[Judged]) -> (Json, Json) {
    let cells: Map<String, Json> = row
        .seen
        .iter()
        .zip(columns)
        .map(|(seen, column)| {
            let json = match seen {
                Seen::Value(value) => value_in(value, column),
                Seen::Missing(why) => json!({ "value": null, "why": why }),
            };
            (column.name.clone(), json)
        })
        .collect();
    let fails: Vec<&str> = row
        .failing
        .iter()
        .filter_map(|at| checks.get(*at))
        .map(|check| check.name.as_str())
        .collect();
    (Json::Object(cells), json!(fails))
}

/// `{"value", "unit", "si"}` of a number, `{"value"}` of anything else.
pub(crate) fn value_in(value: &Value, column: &Column) -> Json {
    match (value, &column.unit) {
        (Value::Number(si), Some(unit)) => json!({
            "value": number(in_unit(*si, unit)),
            "unit": unit.symbol(),
            "si": number(*si),
        }),
        _ => json!({ "value": plain(value) }),
    }
}
