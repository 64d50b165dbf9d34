//! Our tree against `serde_yaml`, which has its own parser: the same structure and the same texts
//! on documents written by hand and generated ones. And each scalar's place against its text.

use std::collections::HashSet;

use proptest::prelude::*;
use serde_yaml::Value;

use super::tree::{self, Kind, Node, Style};

/// Whether a node is what `serde_yaml` read. Typed scalars are held against the type's own
/// reading of our text; quoted ones and those that YAML takes for text against the text itself.
fn same(node: &Node, value: &Value) -> Result<(), String> {
    let differ = || Err(format!("{node:?}\nis not\n{value:?}"));
    match (&node.kind, value) {
        (Kind::Sequence { items, .. }, Value::Sequence(values)) if items.len() == values.len() => {
            items.iter().zip(values).try_for_each(|(item, value)| same(item, value))
        }
        (Kind::Mapping { entries, doubled, .. }, Value::Mapping(values))
            if entries.len() == values.len() && doubled.is_empty() =>
        {
            entries.iter().zip(values).try_for_each(|(entry, (key, value))| {
                let key_node = Node {
                    span: entry.key.span,
                    kind: Kind::Scalar { text: entry.key.text.clone(), style: Style::Plain },
                };
                same(&key_node, key)?;
                same(&entry.value, value)
            })
        }
        (Kind::Scalar { text, .. }, Value::String(string)) if text == string => Ok(()),
        (Kind::Scalar { text, style: Style::Plain }, typed) => {
            // The scalar alone must be read as it was in the document.
            match serde_yaml::from_str::<Value>(text) {
                Ok(alone) if alone == *typed || (typed.is_null() && text.is_empty()) => Ok(()),
                // NaN is unlike itself.
                Ok(Value::Number(number)) if number.is_nan() => Ok(()),
                _ => differ(),
            }
        }
        _ => differ(),
    }
}

/// Whether the source under each scalar's span reads as its text, apart from layout.
fn in_place(node: &Node, text: &str) -> Result<(), String> {
    let piece = &text[node.span.start as usize..node.span.end as usize];
    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    match &node.kind {
        Kind::Scalar { text: value, style }
            if *style != Style::Escaped && words(value) != words(piece) =>
        {
            Err(format!("{value:?} stands at {piece:?}"))
        }
        Kind::Scalar { .. } => Ok(()),
        Kind::Sequence { items, flow } => {
            if *flow && !(piece.starts_with('[') && piece.ends_with(']')) {
                return Err(format!("a list at {piece:?}"));
            }
            items.iter().try_for_each(|item| in_place(item, text))
        }
        Kind::Mapping { entries, .. } => {
            if piece.starts_with('{') && !piece.ends_with('}') {
                return Err(format!("a set of keys at {piece:?}"));
            }
            entries.iter().try_for_each(|entry| {
                let key = &text[entry.key.span.start as usize..entry.key.span.end as usize];
                if words(key) != words(&entry.key.text) {
                    return Err(format!("the key {:?} at {key:?}", entry.key.text));
                }
                in_place(&entry.value, text)
            })
        }
        Kind::Broken => Err("something broken".to_owned()),
    }
}

fn compare(text: &str) -> Result<(), String> {
    let value: Value = serde_yaml::from_str(text).map_err(|error| format!("{error}\n{text}"))?;
    let pass = tree::pass(text, 0, &HashSet::new());
    if let Some(error) = pass.error {
        return Err(format!("{error:?}\n{text}"));
    }
    let root = pass.root.ok_or("nothing was read")?;
    same(&root, &value)
        .and_then(|()| in_place(&root, text))
        .map_err(|error| format!("{error}\n{text}"))
}

#[test]
fn documents_written_by_hand() {
    for text in [
        "a: 1 m # c\nb: 'x' # c\nc: \"y\"   # c\nd: [1, 'two', \"three\" , {x: y}] # c\n",
        "a:\n  b: |\n    one\n      two\n\n    three\n  # comment\n  c: |-\n    x\n  d: |+\n    y\n\n  e: >\n    f\n    g\n\n    h\n",
        "a: x\n  y\n\n  z\nb: 'x\n  y'\nc: \"p\n\n  q\"\n",
        "a: ~\nb:\nc: ''\nd: null\ne: yes\nf: 010\ng: 1_000\nh: 0x1F\ni: 1e3\nj: .nan\nk: true\n",
        "- - 1\n  - 2\n- a: b\n  c: d\n-\n  - x\n",
        "# Grüße\nµ: 5 µm # ä\nb: \"ö\" # ü\nc:\n- é\n",
        "a: {}\nb: []\nc: {x: {y: [z]}}\n\"d e\": 'it''s'\n? f\n: g\n",
        "a:   x   \nb: |  # head\n   deep\n  \nc: http://x.example/y#z\n",
        "a: 1\r\nb: |\r\n  x\r\n  y\r\nc: 'z' # c\r\n",
        "a: [1 m,\n  2 m, # c\n  3 m]\nb: { x: 1,\n  y: 2 } # c\n",
    ] {
        compare(text).unwrap_or_else(|error| panic!("{error}"));
    }
}

/// A document to be written down: scalars with the style they get.
#[derive(Clone, Debug)]
enum Piece {
    Plain(String),
    Single(String),
    Double(String),
    Block(Vec<String>),
    List(Vec<Piece>),
    Keys(Vec<Piece>),
}

fn word() -> impl Strategy<Value = String> {
    prop_oneof![
        "[a-z][a-z0-9_]{0,8}( [+*/] [a-z0-9_]{1,5}){0,3}",
        "[0-9]{1,4}(\\.[0-9]{1,3})?( (m|L/s|µm|°C))?",
        "(yes|no|on|null|true|~|1_000|010|0x1F|2024-05-01|\\.5)",
    ]
}

fn piece() -> impl Strategy<Value = Piece> {
    let leaf = prop_oneof![
        4 => word().prop_map(Piece::Plain),
        1 => "[a-zäµ '\\\\#:,\\[\\]{}|>&*!%@`-]{0,12}".prop_map(Piece::Single),
        1 => "[a-zäµ \"\\\\#:,\\[\\]{}|>&*!%@`-]{0,12}".prop_map(Piece::Double),
        1 => prop::collection::vec("[a-z(\\[{#:'\"-][a-zµ #:,+-]{0,10}[a-z]", 1..4).prop_map(Piece::Block),
    ];
    leaf.prop_recursive(4, 40, 5, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 1..5).prop_map(Piece::List),
            prop::collection::vec(inner, 1..5).prop_map(Piece::Keys),
        ]
    })
}

impl Piece {
    /// Writes the piece behind a key or a dash at this indent; every so often with a comment.
    fn write(&self, out: &mut String, indent: usize, flow: bool, number: &mut usize) {
        *number += 1;
        let comment = if number.is_multiple_of(3) { " # a note: 'x' \"y\" µ" } else { "" };
        let flow_here = flow || number.is_multiple_of(5);
        match self {
            Self::Plain(text) => out.push_str(text),
            Self::Single(text) => *out += &format!("'{}'", text.replace('\'', "''")),
            Self::Double(text) => {
                *out += &format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""));
            }
            Self::Block(lines) if flow => *out += &format!("'{}'", lines[0].replace('\'', "''")),
            Self::Block(lines) => {
                *out += &format!("|{comment}\n");
                for line in lines {
                    *out += &format!("{}{line}\n", " ".repeat(indent));
                }
                return;
            }
            Self::List(pieces) if flow_here => {
                out.push('[');
                for piece in pieces {
                    piece.write(out, indent, true, number);
                    out.push_str(", ");
                }
                out.push(']');
            }
            Self::Keys(pieces) if flow_here => {
                out.push('{');
                for (at, piece) in pieces.iter().enumerate() {
                    *out += &format!("k{at}: ");
                    piece.write(out, indent, true, number);
                    out.push_str(" , ");
                }
                out.push('}');
            }
            Self::List(pieces) => {
                *out += &format!("{comment}\n");
                for piece in pieces {
                    *out += &format!("{}- ", " ".repeat(indent));
                    piece.write(out, indent + 2, false, number);
                }
                return;
            }
            Self::Keys(pieces) => {
                *out += &format!("{comment}\n");
                for (at, piece) in pieces.iter().enumerate() {
                    *out += &format!("{}k{at}: ", " ".repeat(indent));
                    piece.write(out, indent + 2, false, number);
                }
                return;
            }
        }
        if !flow {
            *out += &format!("{comment}\n");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    #[test]
    fn generated_documents(pieces in prop::collection::vec(piece(), 1..6)) {
        let mut text = String::from("# Ü\n");
        let mut number = 0;
        for (at, piece) in pieces.iter().enumerate() {
            text += &format!("n{at}: ");
            piece.write(&mut text, 2, false, &mut number);
        }
        if let Err(error) = compare(&text) {
            return Err(TestCaseError::fail(error));
        }
    }
}
