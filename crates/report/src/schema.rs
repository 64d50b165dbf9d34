//! The JSON Schema of a worksheet (draft 2020-12), for editors that check YAML as it is typed: made
//! of the rows of the reader's own table of keys.

use std::ops::Bound;

use forebay_sheet::keys::{self, Place, Shape};
use forebay_sheet::{DRAWING_KINDS, DrawingKind, Wants};
use forebay_units::Currency;
use serde_json::{Map, Value, json};

/// A schema of worksheets of this program's format version. It sees the keys of a sheet, which of
/// them are needed, and the shape of what stands behind them; formulas and units it does not read.
///
/// The sheet is taken as YAML 1.2 reads it, so that `yes` and `2026-05-01` are texts.
///
/// ```
/// let schema: serde_json::Value = serde_json::from_str(&forebay_report::schema_json()).unwrap();
/// assert_eq!(schema["properties"]["forebay"]["const"], 1);
/// ```
#[must_use]
pub fn schema_json() -> String {
    let mut schema = Map::new();
    schema.insert("$schema".to_owned(), "https://json-schema.org/draft/2020-12/schema".into());
    schema.insert("title".to_owned(), "A worksheet of forebay".into());
    let Value::Object(sheet) = keys_of(keys::SHEET) else { return String::new() };
    schema.extend(sheet);
    let mut definitions = Map::new();
    for place in keys::PLACES.iter().chain([&keys::CONDITION]) {
        if !std::ptr::eq(*place, keys::SHEET) {
            definitions.insert(definition(place), entry(place));
        }
    }
    definitions.insert("name".to_owned(), name());
    definitions.insert("scalar".to_owned(), json!({ "type": SCALAR }));
    definitions.insert(
        "formula".to_owned(),
        json!({ "anyOf": [{ "type": SCALAR }, { "type": "array" }] }),
    );
    schema.insert("$defs".to_owned(), Value::Object(definitions));
    let mut text = format!("{:#}", Value::Object(schema));
    text.push('\n');
    text
}

const SCALAR: [&str; 3] = ["string", "number", "boolean"];

/// A name as the reader takes it.
fn name() -> Value {
    json!({ "pattern": "^[A-Za-z][A-Za-z0-9_]*$", "not": { "enum": keys::RESERVED } })
}

/// What a place is called among the definitions.
fn definition(place: &Place) -> String {
    let words = place.name.trim_matches('`').replace("an entry of `", "").replace(['`', ' '], "_");
    words.trim_start_matches("a_").trim_start_matches("an_").trim_end_matches('_').to_owned()
}

fn reference(place: &Place) -> Value {
    json!({ "$ref": format!("#/$defs/{}", definition(place)) })
}

/// A place, or what may stand there instead.
fn entry(place: &Place) -> Value {
    let set = if std::ptr::eq(place, keys::DRAWING) { drawing() } else { keys_of(place) };
    match place.instead {
        Some(shape) if place.keys.is_empty() => of_shape(shape),
        Some(shape) => json!({ "anyOf": [set, of_shape(shape)] }),
        None => set,
    }
}

/// The keys of a place and no others.
fn keys_of(place: &Place) -> Value {
    let mut properties = Map::new();
    for key in place.keys {
        properties.insert(key.name.to_owned(), described(of_shape(key.shape), key.about));
    }
    let needed: Vec<&str> =
        place.keys.iter().filter(|key| key.needed).map(|key| key.name).collect();
    let mut set = json!({
        "type": "object",
        "properties": properties,
        "additionalProperties": false,
        "required": needed,
    });
    if std::ptr::eq(place, keys::TABLE) {
        set["oneOf"] = json!([{ "required": ["rows"] }, { "required": ["csv"] }]);
    }
    set
}

fn described(mut schema: Value, about: &str) -> Value {
    schema["description"] = about.into();
    schema
}

fn of_shape(shape: Shape) -> Value {
    match shape {
        Shape::Version => json!({ "const": keys::VERSION }),
        Shape::Currency => {
            json!({ "enum": Currency::all().map(Currency::code).collect::<Vec<_>>() })
        }
        Shape::Text => json!({ "type": ["string", "number", "boolean", "null"] }),
        Shape::Word => json!({ "$ref": "#/$defs/scalar" }),
        Shape::Formula => json!({ "$ref": "#/$defs/formula" }),
        Shape::OneOf(words) => json!({ "enum": words }),
        Shape::Number(low, high) => number(low, high),
        Shape::Whole(most) => json!({ "type": "integer", "minimum": 1, "maximum": most }),
        Shape::Range => json!({
            "type": "array", "items": { "$ref": "#/$defs/scalar" }, "minItems": 2, "maxItems": 2,
        }),
        Shape::Names(least) => {
            json!({ "type": "array", "items": { "type": "string" }, "minItems": least })
        }
        Shape::NameOrNames => json!({ "anyOf": [{ "type": "string" }, of_shape(Shape::Names(0))] }),
        Shape::Values => json!({
            "type": ["object", "null"], "additionalProperties": { "$ref": "#/$defs/formula" },
        }),
        Shape::Cases => named(of_shape(Shape::Values)),
        Shape::Columns => {
            let mut columns = named(json!({ "$ref": "#/$defs/formula" }));
            columns["type"] = "object".into();
            columns["minProperties"] = 1.into();
            columns
        }
        Shape::Rows => json!({
            "type": "array",
            "items": { "type": "array", "items": of_shape(Shape::Text) },
        }),
        Shape::Named(place) => named(reference(place)),
        Shape::List(place) => json!({ "type": ["array", "null"], "items": reference(place) }),
        Shape::Keys(place) => reference(place),
        Shape::Drawings => named(reference(keys::DRAWING)),
    }
}

fn number(low: Bound<f64>, high: Bound<f64>) -> Value {
    let mut schema = json!({ "type": "number" });
    match low {
        Bound::Included(low) => schema["minimum"] = low.into(),
        Bound::Excluded(low) => schema["exclusiveMinimum"] = low.into(),
        Bound::Unbounded => {}
    }
    match high {
        Bound::Included(high) => schema["maximum"] = high.into(),
        Bound::Excluded(high) => schema["exclusiveMaximum"] = high.into(),
        Bound::Unbounded => {}
    }
    schema
}

/// Entries with names of their own.
fn named(each: Value) -> Value {
    json!({
        "type": ["object", "null"],
        "propertyNames": { "$ref": "#/$defs/name" },
        "additionalProperties": each,
    })
}

/// A drawing: which keys it takes depends on its kind.
fn drawing() -> Value {
    let words: Vec<&str> = DRAWING_KINDS.iter().map(|kind| kind.name).collect();
    let kinds: Vec<Value> = DRAWING_KINDS.iter().map(of_kind).collect();
    json!({
        "type": "object",
        "properties": { "kind": { "enum": words, "description": "what kind of drawing" } },
        "required": ["kind"],
        "allOf": kinds,
    })
}

fn of_kind(kind: &DrawingKind) -> Value {
    let Value::Object(mut set) = keys_of(keys::DRAWING) else { return Value::Null };
    let mut needed = vec!["kind"];
    for key in kind.keys {
        if let Some(Value::Object(properties)) = set.get_mut("properties") {
            properties.insert(key.name.to_owned(), described(data(key.wants), key.about));
        }
        if key.needed {
            needed.push(key.name);
        }
    }
    set.insert("required".to_owned(), json!(needed));
    set.insert("description".to_owned(), kind.about.into());
    let both = |wants| kind.keys.iter().find(|key| key.wants == wants).map(|key| key.name);
    if let (Some(places), Some(range)) = (both(Wants::Places), both(Wants::Range)) {
        set.insert("not".to_owned(), json!({ "required": [places, range] }));
    }
    json!({
        "if": { "properties": { "kind": { "const": kind.name } }, "required": ["kind"] },
        "then": set,
    })
}

/// What a drawing takes under one of its own keys.
fn data(wants: Wants) -> Value {
    match wants {
        Wants::Curves | Wants::Amounts(_) => json!({ "anyOf": [
            { "$ref": "#/$defs/formula" },
            {
                "type": "object",
                "additionalProperties": { "$ref": "#/$defs/formula" },
                "minProperties": 1,
            },
        ] }),
        Wants::Range => {
            json!({ "type": "string", "pattern": r"^[^=]*=[^\n]*\.\.[^\n]*$" })
        }
        Wants::Places | Wants::One(_) | Wants::Series(_) | Wants::Table(_) | Wants::Cell => {
            json!({ "$ref": "#/$defs/formula" })
        }
    }
}
