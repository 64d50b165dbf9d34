//! A sheet for other programs: one JSON document with a schema number.

use forebay_sheet::{
    Answer, Cell, CellKind, Diagnostic, Items, Series, Severity, Sheet, Sources, Trouble, Type,
    Value, Verdict,
};
use forebay_units::{Dimension, System, Unit};
use serde_json::{Map, Value as Json, json};

use crate::drawings::{Drawing, drawings};
use crate::formats::Options;

/// The number of the document's form; it changes when a reader of the old form would go wrong.
pub const SCHEMA: u32 = 1;

/// The whole sheet.
pub(crate) fn write(sheet: &mut Sheet, _options: &Options) -> String {
    let mut cells = Map::new();
    for cell in sheet.cells().filter(|cell| cell.kind() != CellKind::Check) {
        cells.insert(cell.name().to_owned(), cell_json(sheet, cell));
    }
    let checks: Map<String, Json> =
        sheet.checks().map(|check| (check.name().to_owned(), check_json(sheet, check))).collect();
    let style = sheet.style();
    let units = match style.system {
        System::Si => "si",
        System::Us => "us",
    };
    let drawn: Vec<Json> = drawings(sheet).iter().map(drawing_json).collect();
    let mut document = json!({
        "schema": SCHEMA,
        "title": sheet.title(),
        "units": units,
        "currency": style.currency.map(|currency| currency.code()),
        "show": sheet.headlines().map(|cell| cell.name()).collect::<Vec<_>>(),
        "cells": cells,
        "checks": checks,
        "diagnostics": diagnostics_json(&sheet.diagnostics(), sheet.sources()),
    });
    if !drawn.is_empty() {
        document["drawings"] = Json::Array(drawn);
    }
    pretty(&document)
}

/// The data of a drawing as its table has them: texts in shown units, empty for a gap.
fn drawing_json(drawing: &Drawing) -> Json {
    let table = drawing.picture.as_ref().ok().map(|picture| &picture.table);
    json!({
        "name": drawing.name,
        "title": drawing.title,
        "about": drawing.about,
        "heads": table.map(|table| &table.heads),
        "rows": table.map(|table| &table.rows),
        "why": drawing.picture.as_ref().err(),
    })
}

/// The answer of a single formula: `{"value", "unit", "si", "dimension"}`, in the unit asked for
/// or else in the one it is shown in.
#[must_use]
pub fn answer_json(answer: &Answer, unit: Option<&Unit>) -> String {
    let unit = unit.cloned().or_else(|| answer.unit());
    let mut out = Map::new();
    value_json(&mut out, Some(&answer.value), Some(answer.ty), unit.as_ref());
    let fields = ["value", "unit", "si", "dimension"];
    let document: Map<String, Json> = fields
        .into_iter()
        .map(|name| (name.to_owned(), out.get(name).cloned().unwrap_or(Json::Null)))
        .collect();
    // One line: answers are read by scripts line by line.
    Json::Object(document).to_string() + "\n"
}

/// A document in its written form, ending with a line end.
pub(crate) fn pretty(document: &Json) -> String {
    // A document of our own making has text keys only, which is all that this can fail for.
    serde_json::to_string_pretty(document).unwrap_or_default() + "\n"
}

/// A number; null where it is not finite, which no value of a sheet is.
pub(crate) fn number(value: f64) -> Json {
    serde_json::Number::from_f64(value).map_or(Json::Null, Json::Number)
}

/// Diagnostics with their places.
pub(crate) fn diagnostics_json(diagnostics: &[&Diagnostic], sources: &Sources) -> Json {
    let one = |diagnostic: &&Diagnostic| {
        let labels: Vec<Json> = diagnostic
            .labels
            .iter()
            .map(|label| {
                let (line, column) = sources.line_and_column(label.span);
                json!({
                    "file": sources.source(label.span).map(|source| source.name.to_string()),
                    "line": line,
                    "column": column,
                    "piece": sources.piece(label.span),
                    "text": label.text,
                })
            })
            .collect();
        json!({
            "code": diagnostic.code.name,
            "severity": severity(diagnostic.code.severity),
            "message": diagnostic.message,
            "help": diagnostic.way_out(),
            "labels": labels,
        })
    };
    Json::Array(diagnostics.iter().map(one).collect())
}

/// How a cell stands, as programs read it: `value`, `waiting`, `failed` or `broken`.
#[must_use]
pub fn state_word(cell: &Cell<'_>) -> &'static str {
    match cell.trouble() {
        None => "value",
        Some(Trouble::Waiting(_)) => "waiting",
        Some(Trouble::Failed(_)) => "failed",
        Some(Trouble::Broken) => "broken",
    }
}

fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::Note => "note",
        Severity::Warning => "warning",
        Severity::Error => "error",
    }
}

fn cell_json(sheet: &Sheet, cell: Cell<'_>) -> Json {
    let mut out = Map::new();
    let kind = match cell.kind() {
        CellKind::Known => "known",
        CellKind::Work => "work",
        CellKind::Component => "component",
        CellKind::Check => "check",
    };
    out.insert("kind".into(), kind.into());
    out.insert("state".into(), state_word(&cell).into());
    value_json(&mut out, cell.value(), cell.ty(), cell.unit().as_ref());
    out.insert("shown".into(), cell.shown().into());
    match cell.trouble() {
        Some(Trouble::Waiting(on)) => {
            out.insert("waits_for".into(), json!(on));
        }
        Some(Trouble::Failed(why)) => {
            out.insert("why".into(), why.message.clone().into());
        }
        Some(Trouble::Broken) => {
            out.insert("why".into(), "its formula is broken: see the diagnostics".into());
        }
        None => {}
    }
    if let Some(known) = cell.known() {
        out.insert("from".into(), json!(known.from.map(|from| from.word())));
        out.insert("plus_minus".into(), json!(known.plus_minus.as_ref().map(|text| &text.text)));
    }
    out.insert("about".into(), json!(cell.about()));
    out.insert("formula".into(), cell.formula().into());
    let part = cell.part().and_then(|at| sheet.parts().get(at));
    out.insert("part".into(), json!(part.map(|part| &part.title)));
    Json::Object(out)
}

fn check_json(sheet: &Sheet, cell: Cell<'_>) -> Json {
    let state = match cell.verdict() {
        Verdict::Holds => "holds",
        Verdict::Fails => "fails",
        Verdict::Unknown => "unknown",
    };
    let style = sheet.style();
    let sides: Vec<Json> = cell
        .margins()
        .iter()
        .map(|margin| {
            let larger =
                if margin.left.abs() > margin.right.abs() { margin.left } else { margin.right };
            let unit = style.unit(margin.dimension, larger);
            let difference = style.unit(margin.dimension.as_difference(), margin.margin_si);
            let side = |text: &str, si: f64, shown: &str| {
                json!({
                    "text": text,
                    "value": number(in_unit(si, &unit)),
                    "unit": unit.symbol(),
                    "si": number(si),
                    "shown": shown,
                })
            };
            json!({
                "left": side(margin.left_text, margin.left, &margin.shown.0),
                "comparison": margin.comparison,
                "right": side(margin.right_text, margin.right, &margin.shown.1),
                "margin": {
                    "value": number(in_unit(margin.margin_si, &difference)),
                    "unit": difference.symbol(),
                    "si": number(margin.margin_si),
                    "shown": margin.margin,
                },
            })
        })
        .collect();
    let check = cell.check();
    let mut out = Map::new();
    out.insert("state".into(), state.into());
    out.insert("level".into(), json!(check.map(|check| check.level.word())));
    out.insert("formula".into(), cell.formula().into());
    // A condition that is one comparison, as most are, has its sides at hand.
    if let [only] = sides.as_slice() {
        for name in ["left", "comparison", "right", "margin"] {
            out.insert(name.into(), only[name].clone());
        }
    }
    out.insert("comparisons".into(), Json::Array(sides));
    if let Some(Trouble::Waiting(on)) = cell.trouble() {
        out.insert("waits_for".into(), json!(on));
    } else if cell.trouble().is_some() {
        out.insert("why".into(), cell.shown().into());
    }
    out.insert("else".into(), json!(check.and_then(|check| check.otherwise.as_ref())));
    out.insert("caution".into(), json!(check.and_then(|check| check.caution.as_ref())));
    out.insert("about".into(), json!(cell.about()));
    Json::Object(out)
}

/// Puts in value, unit, SI value and dimension; null where they do not apply.
fn value_json(
    out: &mut Map<String, Json>,
    value: Option<&Value>,
    ty: Option<Type>,
    unit: Option<&Unit>,
) {
    let unit = unit.filter(|_| ty.and_then(Type::dimension).is_some());
    let money = ty.is_some_and(|ty| ty.scalar().is_money());
    let (shown, si) = match value {
        Some(Value::Number(si)) => (json_in(*si, unit), number(*si)),
        Some(Value::Series(series)) => series_json(series, unit),
        Some(other) => (plain(other), Json::Null),
        None => (Json::Null, Json::Null),
    };
    out.insert("type".into(), json!(ty.map(|ty| ty.to_string())));
    out.insert("value".into(), shown);
    out.insert("unit".into(), json!(unit.map(Unit::symbol)));
    out.insert("si".into(), if money { Json::Null } else { si });
    let dimension = ty.and_then(Type::dimension).map(|dimension: Dimension| dimension.to_string());
    out.insert("dimension".into(), json!(dimension));
    if let Some(dates) = value.and_then(Value::as_series).and_then(|series| series.dates.as_ref()) {
        let dates: Vec<String> = dates.iter().map(ToString::to_string).collect();
        out.insert("dates".into(), json!(dates));
    }
}

fn series_json(series: &Series, unit: Option<&Unit>) -> (Json, Json) {
    match &series.items {
        // A gap is NaN, which becomes null.
        Items::Numbers(numbers) => (
            numbers.iter().map(|si| json_in(*si, unit)).collect(),
            numbers.iter().map(|si| number(*si)).collect(),
        ),
        Items::Values(values) => {
            let one = |value: &Option<Value>| value.as_ref().map_or(Json::Null, plain);
            (values.iter().map(one).collect(), Json::Null)
        }
    }
}

pub(crate) fn plain(value: &Value) -> Json {
    match value {
        Value::Number(si) => number(*si),
        // Exact: a text, because readers take JSON numbers for floating point.
        Value::Money(amount) => amount.to_string().into(),
        Value::Truth(truth) => (*truth).into(),
        Value::Text(text) => text.to_string().into(),
        Value::Date(date) => date.to_string().into(),
        Value::Series(series) => series_json(series, None).0,
    }
}

fn json_in(si: f64, unit: Option<&Unit>) -> Json {
    number(unit.map_or(si, |unit| in_unit(si, unit)))
}

/// In the unit, to fifteen digits: the way to SI and back leaves a trace in the last one.
pub(crate) fn in_unit(si: f64, unit: &Unit) -> f64 {
    let value = unit.from_si(si);
    format!("{value:.14e}").parse().unwrap_or(value)
}
