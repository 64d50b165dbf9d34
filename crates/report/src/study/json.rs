//! Studies for other programs: one JSON document with a schema number.

use forebay_sheet::worksheet::Distribution;
use forebay_sheet::{Tied, Value};
use forebay_study::{
    Budget, Column, Compared, Each, EachRow, Entry, Judged, Row, Samples, Seen, Solved, Uncertain,
    Varied,
};
use serde_json::{Map, Value as Json, json};

use super::csv::{column_of_axis, verdict};
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
            json!({ "at": at, "cells": cells, "fails": fails, "doubt": row.row.doubt })
        })
        .collect();
    pretty(&json!({
        "schema": SCHEMA,
        "over": axes.iter().map(|axis| &axis.name).collect::<Vec<_>>(),
        "complete": varied.rows.len() as u64 == varied.total,
        "rows": rows,
    }))
}

/// One row of a table as one line: its number in the table from 1, what came in, what came out.
#[must_use]
pub fn each_json(each: &Each<'_>, number: u64, fields: &[&str], row: &EachRow) -> String {
    let given: Map<String, Json> =
        each.heads().iter().zip(fields).map(|(head, field)| (head.clone(), json!(field))).collect();
    let beyond: Vec<&&str> = fields.iter().skip(each.heads().len()).collect();
    let (cells, fails) = match &row.row {
        Some(row) => row_json(row, each.columns(), each.checks()),
        None => (Json::Null, Json::Null),
    };
    let mut line = json!({
        "row": number,
        "given": given,
        "cells": cells,
        "fails": fails,
        "doubt": row.row.as_ref().and_then(|row| row.doubt.as_ref()),
        "trouble": row.trouble,
    });
    if !beyond.is_empty() {
        line["beyond_the_head"] = json!(beyond);
    }
    line.to_string() + "\n"
}

/// Every solution, and where the equation has no value.
#[must_use]
pub fn solve_json(solved: &Solved) -> String {
    let value = |si: f64| {
        let money = solved.known.ty.scalar().is_money();
        let amount = forebay_units::money::from_number(si).filter(|_| money).map(Value::Money);
        value_in(&amount.unwrap_or(Value::Number(si)), &solved.known)
    };
    let found: Vec<Json> = solved
        .found
        .iter()
        .map(|found| {
            let fails = found.failing.iter().filter_map(|at| solved.checks.get(*at));
            let mut one = value(found.si);
            one["fails"] = json!(fails.map(|check| &check.name).collect::<Vec<_>>());
            one
        })
        .collect();
    let stretches = solved.without_value.iter();
    pretty(&json!({
        "schema": SCHEMA,
        "for": solved.known.name,
        "so": solved.so,
        "between": [value(solved.between.0), value(solved.between.1)],
        "complete": solved.complete,
        "found": found,
        "jumps": solved.jumps.iter().map(|si| value(*si)).collect::<Vec<_>>(),
        "without_value": stretches.map(|(from, to)| json!([value(*from), value(*to)])).collect::<Vec<_>>(),
        "why": solved.why,
    }))
}

/// Budgets, samples and chances; uncertainties and changes in SI.
#[must_use]
pub fn spread_json(
    knowns: &[Uncertain],
    ties: &[Tied],
    budgets: &[Budget],
    samples: &Samples,
) -> String {
    let symbol = |unit: &Option<forebay_units::Unit>| json!(unit.as_ref().map(|u| u.symbol()));
    let known = |known: &Uncertain| {
        json!({
            "known": known.known,
            "si": number(known.si),
            "plus_minus": known.written,
            "distribution": match known.spread.distribution {
                Distribution::Normal => "normal",
                Distribution::Rectangular => "rectangular",
                Distribution::Triangular => "triangular",
            },
            "standard_uncertainty_si": number(known.spread.standard_uncertainty_si()),
            "degrees_of_freedom": known.spread.degrees_of_freedom.map_or(Json::Null, number),
        })
    };
    let tie = |tie: &Tied| json!({ "tie": tie.name, "knowns": tie.knowns, "correlation": number(tie.correlation) });
    let first_order = budgets.iter().map(|budget| {
        let shares: Vec<Json> = budget
            .shares
            .iter()
            .map(|share| {
                json!({
                    "known": share.known,
                    "change_si": share.change.map_or(Json::Null, number),
                    "share": share.share.map_or(Json::Null, number),
                })
            })
            .collect();
        let tied = budget
            .ties
            .iter()
            .map(|tie| json!({ "tie": tie.tie, "share": tie.share.map_or(Json::Null, number) }));
        let expanded = budget.expanded(samples.coverage).map(|expanded| {
            json!({
                "half_width_si": number(expanded.half_width),
                "factor": number(expanded.factor),
                "distribution": match expanded.degrees_of_freedom {
                    Some(_) => "t",
                    None => "normal",
                },
                "degrees_of_freedom": expanded.degrees_of_freedom,
            })
        });
        let one = json!({
            "si": budget.value.as_ref().map_or(Json::Null, |si| number(*si)),
            "why": budget.value.as_ref().err(),
            "unit": symbol(&budget.cell.unit),
            "standard_uncertainty_si": budget.uncertainty.map_or(Json::Null, number),
            "shares": shares,
            "ties": tied.collect::<Vec<_>>(),
            "effective_degrees_of_freedom":
                budget.degrees_of_freedom.map_or(Json::Null, number),
            "expanded": expanded,
        });
        (budget.cell.name.clone(), one)
    });
    let sampled = samples.results.iter().map(|sampled| {
        let figures = sampled.figures.map(|figures| {
            json!({
                "mean_si": number(figures.mean),
                "standard_deviation_si": number(figures.deviation),
                "low_si": number(figures.low),
                "median_si": number(figures.median),
                "high_si": number(figures.high),
            })
        });
        let mut one = figures.unwrap_or_else(|| json!({}));
        one["unit"] = symbol(&sampled.cell.unit);
        one["without_value"] = json!(sampled.without);
        (sampled.cell.name.clone(), one)
    });
    let chances = samples.chances.iter().map(|chance| {
        let one = json!({
            "level": chance.level.word(),
            "fails": chance.fails,
            "unknown": chance.unknown,
            "chance": number(chance.fails as f64 / samples.drawn as f64),
        });
        (chance.name.clone(), one)
    });
    pretty(&json!({
        "schema": SCHEMA,
        "knowns": knowns.iter().map(known).collect::<Vec<_>>(),
        "ties": ties.iter().map(tie).collect::<Vec<_>>(),
        "coverage": number(samples.coverage),
        "first_order": Json::Object(first_order.collect()),
        "samples": samples.drawn,
        "seed": samples.seed,
        "complete": samples.drawn == samples.wanted,
        "sampled": Json::Object(sampled.collect()),
        "checks": Json::Object(chances.collect()),
    }))
}

/// What differs, by name.
#[must_use]
pub fn compare_json(compared: &Compared) -> String {
    let cells: Map<String, Json> = compared
        .lines
        .iter()
        .map(|line| {
            let column =
                Column { name: line.name.clone(), ty: line.ty, unit: line.value_unit.clone() };
            let one = |entry: &Option<Entry>| {
                let Some(entry) = entry else { return Json::Null };
                let mut one = match &entry.value {
                    Some(value) => value_in(value, &column),
                    None => json!({ "value": null }),
                };
                one["shown"] = json!(entry.shown);
                one["difference_si"] = entry.difference.map_or(Json::Null, number);
                one["share"] = entry.share.map_or(Json::Null, number);
                one
            };
            (line.name.clone(), labelled(&compared.labels, line.entries.iter().map(one)))
        })
        .collect();
    let checks: Map<String, Json> = compared
        .checks
        .iter()
        .map(|check| {
            let verdicts = check.verdicts.iter().map(|v| json!(v.map(verdict)));
            (check.name.clone(), labelled(&compared.labels, verdicts))
        })
        .collect();
    pretty(&json!({
        "schema": SCHEMA,
        "labels": compared.labels,
        "cells": cells,
        "checks": checks,
        "same": compared.same,
        "same_checks": compared.same_checks,
    }))
}

fn labelled(labels: &[String], values: impl Iterator<Item = Json>) -> Json {
    Json::Object(labels.iter().cloned().zip(values).collect())
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
