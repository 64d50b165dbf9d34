//! What the page shows of a sheet, as texts: its parts, cells, checks, tables and what is wrong.

use forebay_report::{
    Reading, by_how_much, margins_in_words, reading_name, state_word, verdict_word,
};
use forebay_sheet::worksheet::{Known, Table};
use forebay_sheet::{Cell, CellKind, Items, Scalar, Severity, Sheet, Value, Verdict};
use serde_json::{Map, Value as Json, json};

/// A series of at most as many values is written out.
const LONGEST_LIST: usize = 24;
/// So many rows of a table are shown.
const MOST_ROWS: usize = 100;
/// So many diagnostics; nobody reads more.
const MOST_DIAGNOSTICS: usize = 40;

/// What tells a cell from every other, also from a check of the same name.
pub(crate) fn key(cell: Cell<'_>) -> String {
    reading_name(cell)
}

/// The parts of a sheet from top to bottom, each cell made by `cell`.
pub(crate) fn parts(sheet: &Sheet, cell: &dyn Fn(Cell<'_>) -> Json) -> Json {
    let mut parts: Vec<Json> = Vec::new();
    for (at, part) in sheet.parts().iter().enumerate() {
        let mut json = section(sheet, Some(at), cell);
        json.insert("number".into(), at.into());
        json.insert("title".into(), part.title.as_str().into());
        json.insert("about".into(), json!(part.about));
        parts.push(Json::Object(json));
    }
    let mut besides = section(sheet, None, cell);
    let empty = besides.values().all(|list| list.as_array().is_some_and(Vec::is_empty));
    if !empty {
        let title = (!parts.is_empty()).then_some("Besides");
        besides.insert("title".into(), json!(title));
        parts.push(Json::Object(besides));
    }
    for name in components(sheet) {
        let of = |check: bool| -> Json {
            sheet
                .cells()
                .filter(|one| component_of(*one) == Some(name))
                .filter(|one| (one.kind() == CellKind::Check) == check)
                .map(cell)
                .collect()
        };
        parts.push(json!({
            "title": format!("Of {name}"),
            "known": [],
            "tables": [],
            "work": of(false),
            "check": of(true),
        }));
    }
    Json::Array(parts)
}

/// The worksheets that this one uses, by the names that it gives them.
fn components(sheet: &Sheet) -> Vec<&str> {
    let mut names: Vec<&str> = Vec::new();
    for name in sheet.cells().filter_map(component_of) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

/// The used worksheet that a cell or a check belongs to; its name stands before a dot.
fn component_of(cell: Cell<'_>) -> Option<&str> {
    cell.name().split_once('.').map(|(component, _)| component)
}

fn section(
    sheet: &Sheet,
    part: Option<usize>,
    cell: &dyn Fn(Cell<'_>) -> Json,
) -> Map<String, Json> {
    let own = || sheet.cells().filter(|cell| component_of(*cell).is_none());
    let of = |kind| -> Json {
        own().filter(|c| c.kind() == kind && c.part() == part).map(cell).collect()
    };
    let tables = sheet.worksheet().tables.iter().filter(|table| table.part == part).map(table);
    let mut out = Map::new();
    out.insert("known".into(), of(CellKind::Known));
    out.insert("tables".into(), tables.collect());
    out.insert("work".into(), of(CellKind::Work));
    out.insert("check".into(), of(CellKind::Check));
    out
}

/// What does not change with the values: sent once, when the sheet is laid out.
pub(crate) fn fixed(sheet: &Sheet, cell: Cell<'_>, out: &mut Map<String, Json>) {
    out.insert("name".into(), cell.name().into());
    out.insert("about".into(), json!(cell.about()));
    if let Some(check) = cell.check() {
        out.insert("formula".into(), cell.formula().into());
        out.insert("level".into(), check.level.word().into());
        out.insert("caution".into(), json!(check.caution));
    }
    if let Some(known) = cell.known() {
        out.insert("from".into(), json!(known.from.map(|from| from.word())));
        out.insert("plus_minus".into(), json!(known.plus_minus.as_ref().map(|text| &text.text)));
        let between = known.between.as_ref();
        out.insert("between".into(), json!(between.map(|(low, high)| [&low.text, &high.text])));
        let truth = cell.ty().is_some_and(|ty| ty.scalar() == Scalar::Truth);
        out.insert("truth".into(), truth.into());
        out.insert("choices".into(), json!(choices(sheet, known)));
    }
}

/// How a cell stands; `now` is its reading. Kept short: after a change it is sent for each cell
/// that moved.
pub(crate) fn standing(cell: Cell<'_>, now: &Reading) -> Map<String, Json> {
    let mut out = Map::new();
    out.insert("key".into(), key(cell).into());
    if !cell.warnings().is_empty() {
        let warnings = cell.warnings().iter();
        let warnings = warnings.map(|w| json!({ "message": w.message, "help": w.way_out() }));
        out.insert("warnings".into(), warnings.collect());
    }
    if let Some(check) = cell.check() {
        let verdict = cell.verdict();
        out.insert("verdict".into(), verdict_key(verdict).into());
        out.insert("word".into(), verdict_word(verdict).into());
        out.insert("margins".into(), json!(margins_in_words(cell)));
        // What cannot be told does not hold either.
        if verdict != Verdict::Holds {
            out.insert("else".into(), json!(check.otherwise));
        }
        if verdict == Verdict::Unknown {
            out.insert("why".into(), now.shown().into());
        }
        return out;
    }
    out.insert("state".into(), state_word(&cell).into());
    match number_and_unit(now.shown()).filter(|_| cell.trouble().is_none()) {
        Some((number, unit)) => {
            out.insert("number".into(), number.into());
            out.insert("unit".into(), unit.into());
        }
        None => {
            out.insert("text".into(), now.shown().into());
        }
    }
    if let Some(list) = list(cell) {
        out.insert("list".into(), list.into());
    }
    if cell.known().is_some() {
        out.insert("field".into(), cell.formula().into());
    }
    out
}

/// What a cell was and how far it is from there; nothing where it is the same.
pub(crate) fn moved(
    before: Option<&Reading>,
    now: &Reading,
    cell: Cell<'_>,
    sheet: &Sheet,
) -> Option<Json> {
    let before = before.filter(|before| *before != now)?;
    Some(json!({ "was": before.shown(), "by": by_how_much(before, now, cell, sheet) }))
}

/// The checks that do not hold.
pub(crate) fn failing(sheet: &Sheet) -> Json {
    sheet
        .checks()
        .filter(|check| check.verdict() != Verdict::Holds)
        .map(|cell| {
            let level = cell.check().map(|check| check.level.word());
            json!({ "key": key(cell), "word": verdict_word(cell.verdict()), "level": level })
        })
        .collect()
}

/// The cases with what they set.
pub(crate) fn cases(sheet: &Sheet) -> Json {
    sheet
        .cases()
        .map(|case| {
            let sets: Vec<String> = case
                .set
                .iter()
                .map(|(name, value)| format!("{} {}", name.text, value.text))
                .collect();
            json!({ "name": case.name.text, "sets": sets })
        })
        .collect()
}

/// What the sheet wants drawn: pictures, and the data behind them.
pub(crate) fn drawings(sheet: &mut Sheet) -> Json {
    forebay_report::drawings(sheet)
        .into_iter()
        .map(|drawing| {
            let mut out = json!({
                "name": drawing.name,
                "title": drawing.title,
                "about": drawing.about,
                "part": drawing.part,
            });
            match drawing.picture {
                Ok(picture) => {
                    let more = picture.table.rows.len().saturating_sub(MOST_ROWS);
                    let rows: Vec<_> = picture.table.rows.into_iter().take(MOST_ROWS).collect();
                    out["svg"] = picture.svg.into();
                    out["heads"] = json!(picture.table.heads);
                    out["rows"] = json!(rows);
                    out["more"] = more.into();
                }
                Err(why) => out["why"] = why.into(),
            }
            out
        })
        .collect()
}

/// What is wrong or doubtful, with the line of the file.
pub(crate) fn diagnostics(sheet: &Sheet) -> Json {
    let all = sheet.diagnostics();
    let shown: Vec<Json> = all
        .iter()
        .take(MOST_DIAGNOSTICS)
        .map(|diagnostic| {
            let place = diagnostic.span().filter(|span| span.source == 0);
            let line = place.map(|span| sheet.sources().line_and_column(span).0);
            json!({
                "severity": match diagnostic.code.severity {
                    Severity::Note => "note",
                    Severity::Warning => "doubt",
                    Severity::Error => "error",
                },
                "message": diagnostic.message,
                "help": diagnostic.way_out(),
                "line": line,
                "piece": place.map(|span| sheet.sources().piece(span)),
            })
        })
        .collect();
    json!({ "shown": shown, "count": all.len() })
}

fn verdict_key(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Holds => "holds",
        Verdict::Fails => "fails",
        Verdict::Unknown => "unknown",
    }
}

/// A quantity in two pieces, so that numbers stand under one another: `2.719 m`.
fn number_and_unit(shown: &str) -> Option<(&str, &str)> {
    let (number, unit) = shown.split_once(' ').unwrap_or((shown, ""));
    let is_number = number.parse::<f64>().is_ok_and(f64::is_finite);
    // `12 values, …` is no quantity.
    (is_number && !unit.starts_with("values")).then_some((number, unit))
}

/// A short series of numbers, gaps as a sheet writes them.
fn list(cell: Cell<'_>) -> Option<String> {
    let Value::Series(series) = cell.value()? else { return None };
    let Items::Numbers(numbers) = &series.items else { return None };
    if numbers.len() > LONGEST_LIST {
        return None;
    }
    let unit = cell.unit()?;
    let one = |si: &f64| forebay_sheet::bare_number(*si, &unit).unwrap_or_else(|| "~".to_owned());
    Some(numbers.iter().map(one).collect::<Vec<_>>().join(", "))
}

/// The values that a known may take, as they are written: a list, or a table's column.
fn choices(sheet: &Sheet, known: &Known) -> Vec<String> {
    let Some(choose) = &known.choose else { return Vec::new() };
    let text = choose.text.trim();
    if let Some(list) = text.strip_prefix('[').and_then(|text| text.strip_suffix(']')) {
        return list.split(',').map(|item| item.trim().to_owned()).collect();
    }
    let column = text.split_once('.').and_then(|(table, column)| {
        let table = sheet.worksheet().tables.iter().find(|t| t.name.text == table)?;
        let at = table.columns.iter().position(|c| c.name.text == column)?;
        Some((table, at))
    });
    let Some((table, at)) = column else { return Vec::new() };
    let unit = match table.columns[at].unit.text.as_str() {
        "1" | "text" | "date" | "truth" => String::new(),
        unit => format!(" {unit}"),
    };
    table
        .rows
        .iter()
        .filter_map(|row| row.get(at)?.as_ref())
        .map(|cell| {
            // A value may bring a unit of its own.
            let bare = cell.text.parse::<f64>().is_ok();
            if bare { format!("{}{unit}", cell.text) } else { cell.text.clone() }
        })
        .collect()
}

fn table(table: &Table) -> Json {
    let rows: Vec<Vec<&str>> = table
        .rows
        .iter()
        .take(MOST_ROWS)
        .map(|row| {
            row.iter().map(|cell| cell.as_ref().map_or("~", |text| text.text.as_str())).collect()
        })
        .collect();
    let columns: Vec<Json> = table
        .columns
        .iter()
        .map(|column| json!({ "name": column.name.text, "unit": column.unit.text }))
        .collect();
    json!({
        "name": table.name.text,
        "about": table.about,
        "columns": columns,
        "rows": rows,
        "more": table.rows.len().saturating_sub(MOST_ROWS),
    })
}
