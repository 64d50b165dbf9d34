//! One open page: its own sheet, the values that were changed and not saved, and the case in force.

use std::collections::{BTreeMap, HashMap, HashSet};

use forebay_report::{Reading, reading};
use forebay_sheet::edit::{self, Place, Refused};
use forebay_sheet::{Cell, CellKind, Code, Diagnostic, Sheet};
use serde_json::{Map, Value as Json, json};

use crate::view;

/// One open page.
pub(crate) struct Session {
    sheet: Sheet,
    /// The text of the file that the sheet was opened from.
    seen: String,
    case: Option<String>,
    /// What the file says of each known, with the case in force.
    file_values: BTreeMap<String, String>,
    /// Changed and not saved.
    edits: BTreeMap<String, String>,
    /// Changed, not saved, and not to be set in the sheet as the file is now: value and reason.
    parked: BTreeMap<String, (String, String)>,
    /// Changed here and in the file: what the file says. The user is asked.
    conflicts: BTreeMap<String, String>,
    /// How everything stood when it was kept as reference.
    held: Option<HashMap<String, Reading>>,
    /// How everything stands.
    now: HashMap<String, Reading>,
    /// The change under way: typing in one field is one change, though each letter is computed.
    change: Change,
}

/// A change under way and how things stood when it began, which is what movements are told against.
#[derive(Default)]
struct Change {
    /// Of the cells that have run in it; the others stand as they did.
    before: HashMap<String, Reading>,
    /// What the knowns said that were set in it.
    values: HashMap<String, String>,
    /// The names of the cells that have run in it.
    ran: HashSet<String>,
}

/// A text to be written to the file.
pub(crate) struct ToWrite {
    pub(crate) seen: String,
    pub(crate) text: String,
}

impl Session {
    /// A page of a sheet, with the case and the unsaved values that it had before.
    pub(crate) fn new(
        sheet: Sheet,
        seen: String,
        case: Option<String>,
        edits: BTreeMap<String, String>,
    ) -> Self {
        let mut session = Self {
            sheet,
            seen,
            case,
            file_values: BTreeMap::new(),
            edits,
            parked: BTreeMap::new(),
            conflicts: BTreeMap::new(),
            held: None,
            now: HashMap::new(),
            change: Change::default(),
        };
        session.take_up(&BTreeMap::new());
        session
    }

    /// Works on with the file as it is now. Unsaved values stay; where the file has another value
    /// than before for one of them, the user is asked.
    pub(crate) fn renew(&mut self, sheet: Sheet, seen: String) -> Json {
        self.sheet = sheet;
        self.seen = seen;
        let before = std::mem::take(&mut self.now);
        let file_before = std::mem::take(&mut self.file_values);
        self.take_up(&file_before);
        self.whole(Some(&before))
    }

    /// Puts case and unsaved values into a fresh sheet.
    fn take_up(&mut self, file_before: &BTreeMap<String, String>) {
        if let Some(case) = &self.case
            && self.sheet.use_case(case).is_err()
        {
            self.case = None;
        }
        self.file_values = self
            .sheet
            .cells()
            .filter(|cell| cell.kind() == CellKind::Known)
            .map(|cell| (cell.name().to_owned(), cell.formula()))
            .collect();
        let mut mine = std::mem::take(&mut self.edits);
        for (name, (value, _)) in std::mem::take(&mut self.parked) {
            mine.entry(name).or_insert(value);
        }
        for (name, value) in mine {
            let in_file = self.file_values.get(&name);
            if in_file == Some(&value) {
                self.conflicts.remove(&name);
                continue;
            }
            match self.sheet.set(&name, &value) {
                Ok(_) => {
                    let before = file_before.get(&name);
                    if let Some(in_file) = in_file
                        && (before.is_some_and(|before| before != in_file)
                            || self.conflicts.contains_key(&name))
                    {
                        self.conflicts.insert(name.clone(), in_file.clone());
                    }
                    self.edits.insert(name, value);
                }
                Err(refused) => {
                    self.conflicts.remove(&name);
                    self.parked.insert(name, (value, refused.message.clone()));
                }
            }
        }
        self.now = self.sheet.cells().map(|cell| (view::key(cell), reading(cell))).collect();
        self.begin();
    }

    /// A change begins: from here on movements are told.
    pub(crate) fn begin(&mut self) {
        self.change = Change::default();
    }

    /// Sets knowns, each to a value or back to what the file says, and tells what has moved since the
    /// change began. For a value that is refused the one from before the change is put back: what was
    /// typed on the way to it was not meant.
    pub(crate) fn set(&mut self, values: &[(String, Option<String>)]) -> Json {
        let mut ran: Vec<String> = Vec::new();
        let mut refused = Vec::new();
        for (name, value) in values {
            let value =
                value.as_deref().map(|text| text.split_whitespace().collect::<Vec<_>>().join(" "));
            let in_file = self.file_values.get(name).cloned();
            let Some(value) = value.or_else(|| in_file.clone()) else {
                // A value that waits for its known is given up.
                self.parked.remove(name);
                continue;
            };
            if let Some(cell) = self.sheet.cell(name) {
                self.change.values.entry(name.clone()).or_insert_with(|| cell.formula());
            }
            let (mut value, mut set) = (value.clone(), self.sheet.set(name, &value));
            if let Err(why) = &set {
                refused.push(self.refusal(name, &value, why));
                let Some(before) = self.change.values.get(name).cloned() else { continue };
                set = self.sheet.set(name, &before);
                value = before;
            }
            if let Ok(wave) = set {
                self.conflicts.remove(name);
                if in_file.as_ref() == Some(&value) {
                    self.edits.remove(name);
                } else {
                    self.edits.insert(name.clone(), value);
                }
                ran.push(name.clone());
                ran.extend(wave.ran(&self.sheet).map(|cell| cell.name().to_owned()));
            }
        }
        self.change.ran.extend(ran);
        let mut cells = Vec::new();
        for cell in self.sheet.cells().filter(|cell| self.change.ran.contains(cell.name())) {
            self.put(cell, &mut cells);
        }
        let mut told = Vec::with_capacity(cells.len());
        for (json, key, reading) in cells {
            told.push(json);
            if let Some(before) = self.now.insert(key.clone(), reading) {
                self.change.before.entry(key).or_insert(before);
            }
        }
        let mut answer = self.standing();
        answer.insert("cells".into(), Json::Array(told));
        answer.insert("refused".into(), Json::Array(refused));
        Json::Object(answer)
    }

    /// A cell as it is now, if it is worth telling, with its new reading.
    fn put(&self, cell: Cell<'_>, out: &mut Vec<(Json, String, Reading)>) {
        let key = view::key(cell);
        let now = reading(cell);
        let last = self.now.get(&key);
        let before = self.change.before.get(&key).or(last);
        let told = cell.kind() == CellKind::Known
            || before != Some(&now)
            || last != Some(&now)
            || cell.kind() == CellKind::Check
            || !cell.warnings().is_empty();
        if told {
            let json = Json::Object(self.cell(cell, &now, before));
            out.push((json, key, now));
        }
    }

    /// Why a value was refused, for its field.
    fn refusal(&self, name: &str, value: &str, why: &Diagnostic) -> Json {
        // The commonest slips get the way out that fits them.
        let cell = self.sheet.cell(name);
        let unit = cell.and_then(|cell| cell.unit()).filter(|u| *u != forebay_units::Unit::ONE);
        let help = match (unit, cell.filter(|cell| cell.value().is_some())) {
            (Some(unit), _) if value.parse::<f64>().is_ok() => {
                format!("say in which unit: {value} {}", unit.symbol())
            }
            (_, Some(cell)) if why.code == Code::WRONG_DIMENSION => {
                format!("write it like {}, in any unit that fits", cell.formula())
            }
            _ => why.way_out().to_owned(),
        };
        json!({ "name": name, "message": why.message, "help": help })
    }

    /// Another case, or none. Unsaved values have the last word.
    pub(crate) fn use_case(&mut self, case: Option<String>, sheet: Sheet) -> Json {
        self.case = case;
        self.sheet = sheet;
        let before = std::mem::take(&mut self.now);
        self.take_up(&BTreeMap::new());
        self.whole(Some(&before))
    }

    /// Keeps how everything stands as reference, or lets it go.
    pub(crate) fn hold(&mut self, hold: bool) -> Json {
        self.held = hold.then(|| self.now.clone());
        self.whole(None)
    }

    /// The user's answer where page and file both have a new value.
    pub(crate) fn keep_mine(&mut self, name: &str) {
        self.conflicts.remove(name);
    }

    /// The file with the unsaved values in it. What the case in force sets is changed in the case.
    pub(crate) fn to_save(&self) -> Result<ToWrite, Refused> {
        if let Some((name, _)) = self.conflicts.iter().next() {
            return Err(refused(
                &format!("`{name}` was changed here and in the file"),
                "choose one of the two values first",
            ));
        }
        let case = self.sheet.cases().find(|case| Some(&case.name.text) == self.case.as_ref());
        let changes: Vec<(Place<'_>, &str)> = self
            .edits
            .iter()
            .map(|(known, value)| {
                let of_case = case.filter(|case| case.set.iter().any(|(n, _)| n.text == *known));
                let place = match of_case {
                    Some(case) => Place::InCase { case: &case.name.text, known },
                    None => Place::Known(known),
                };
                (place, value.as_str())
            })
            .collect();
        let text = edit::with_values(&self.seen, &changes)?;
        Ok(ToWrite { seen: self.seen.clone(), text })
    }

    /// The file with one more case, which sets what the case in force and the unsaved values set.
    pub(crate) fn to_save_as_case(&self, name: &str) -> Result<ToWrite, Refused> {
        let case = self.sheet.cases().find(|case| Some(&case.name.text) == self.case.as_ref());
        let mut set: Vec<(String, String)> = case
            .iter()
            .flat_map(|case| &case.set)
            .filter_map(|(known, _)| {
                Some((known.text.clone(), self.file_values.get(&known.text)?.clone()))
            })
            .collect();
        for (known, value) in &self.edits {
            match set.iter_mut().find(|(other, _)| other == known) {
                Some((_, there)) => there.clone_from(value),
                None => set.push((known.clone(), value.clone())),
            }
        }
        let set: Vec<(&str, &str)> = set.iter().map(|(k, v)| (k.as_str(), v.as_str())).collect();
        let text = edit::with_case(&self.seen, name, &set)?;
        Ok(ToWrite { seen: self.seen.clone(), text })
    }

    /// From now on in the case of this name.
    pub(crate) fn enter_case(&mut self, name: &str) {
        self.case = Some(name.to_owned());
    }

    /// What the sheet wants drawn, as it is now.
    pub(crate) fn drawings(&mut self) -> Json {
        view::drawings(&mut self.sheet)
    }

    /// The text of the file that it was opened from.
    pub(crate) fn seen(&self) -> &str {
        &self.seen
    }

    pub(crate) fn sheet(&self) -> &Sheet {
        &self.sheet
    }

    /// The whole page; with what moved since `before`.
    pub(crate) fn whole(&self, before: Option<&HashMap<String, Reading>>) -> Json {
        let mut out = self.standing();
        let parts = view::parts(&self.sheet, &|cell| {
            let key = view::key(cell);
            let before = before.and_then(|before| before.get(&key));
            let mut out = match self.now.get(&key) {
                Some(now) => self.cell(cell, now, before),
                None => self.cell(cell, &reading(cell), before),
            };
            view::fixed(&self.sheet, cell, &mut out);
            Json::Object(out)
        });
        out.insert("parts".into(), parts);
        out.insert("title".into(), json!(self.sheet.title()));
        out.insert("headlines".into(), self.sheet.headlines().map(view::key).collect());
        out.insert("cases".into(), view::cases(&self.sheet));
        out.insert("draws".into(), (!self.sheet.worksheet().draw.is_empty()).into());
        Json::Object(out)
    }

    /// A cell with what it was before and what it was when the reference was kept.
    fn cell(&self, cell: Cell<'_>, now: &Reading, before: Option<&Reading>) -> Map<String, Json> {
        let mut out = view::standing(cell, now);
        if let Some(moved) = view::moved(before, now, cell, &self.sheet) {
            out.insert("moved".into(), moved);
        }
        if let Some(held) = &self.held
            && let Some(since) = view::moved(held.get(&view::key(cell)), now, cell, &self.sheet)
        {
            out.insert("since".into(), since);
        }
        if cell.kind() == CellKind::Known
            && let Some(in_file) = self.file_values.get(cell.name())
        {
            out.insert("in_file".into(), in_file.as_str().into());
            out.insert("changed".into(), self.edits.contains_key(cell.name()).into());
        }
        out
    }

    /// What every answer tells: how the sheet stands as a whole.
    fn standing(&self) -> Map<String, Json> {
        let mut out = Map::new();
        out.insert("summary".into(), forebay_report::checks_summary(&self.sheet).into());
        out.insert("failing".into(), view::failing(&self.sheet));
        out.insert("wrong".into(), view::diagnostics(&self.sheet));
        out.insert("edits".into(), json!(self.edits));
        out.insert("case".into(), json!(self.case));
        out.insert("held".into(), self.held.is_some().into());
        let parked = self
            .parked
            .iter()
            .map(|(name, (value, why))| json!({ "name": name, "value": value, "why": why }));
        out.insert("parked".into(), parked.collect());
        out.insert("conflicts".into(), json!(self.conflicts));
        out
    }
}

fn refused(message: &str, help: &str) -> Refused {
    Refused { message: message.to_owned(), help: help.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SHEET: &str = "forebay: 1
known:
  flow: 40 L/s
  bore: 200 mm # of the pipe
  kind: steel
work:
  speed: flow / circle_area(bore)
check:
  calm: speed < 1.5 m/s
cases:
  wide: { bore: 250 mm }
";

    fn session(text: &str) -> Session {
        Session::new(Sheet::open(text), text.to_owned(), None, BTreeMap::new())
    }

    fn set(session: &mut Session, name: &str, value: &str) -> Json {
        session.begin();
        session.set(&[(name.to_owned(), Some(value.to_owned()))])
    }

    fn cell<'j>(answer: &'j Json, key: &str) -> &'j Json {
        let found = |cells: &'j Json| cells.as_array()?.iter().find(|cell| cell["key"] == key);
        let in_parts = || {
            answer["parts"].as_array()?.iter().find_map(|part| {
                ["known", "work", "check"].iter().find_map(|section| found(&part[section]))
            })
        };
        found(&answer["cells"]).or_else(in_parts).unwrap()
    }

    #[test]
    fn a_change_tells_what_moved_and_by_how_much() {
        let mut session = session(SHEET);
        let answer = set(&mut session, "bore", "10 in");
        // 0.04 m³/s through a bore of 254 mm: 0.04 / (π/4 · 0.254²) = 0.7894 m/s by hand.
        assert_eq!(cell(&answer, "speed")["number"], "0.7894");
        assert_eq!(cell(&answer, "speed")["moved"]["was"], "1.273 m/s");
        assert_eq!(cell(&answer, "speed")["moved"]["by"], "-0.484 m/s, -38.0 %");
        assert_eq!(answer["edits"]["bore"], "10 in");
        let answer = session.set(&[("bore".to_owned(), None)]);
        assert_eq!(cell(&answer, "speed")["number"], "1.273");
        assert_eq!(answer["edits"], json!({}));
    }

    #[test]
    fn what_is_typed_on_the_way_is_neither_compared_with_nor_kept() {
        let mut session = session(SHEET);
        session.begin();
        let mut letters = |value: &str| session.set(&[("bore".to_owned(), Some(value.to_owned()))]);
        // A bore of 254 m is a length, and computed.
        letters("254 m");
        let answer = letters("254 mm");
        assert_eq!(cell(&answer, "speed")["moved"]["was"], "1.273 m/s");
        assert_eq!(cell(&answer, "bore")["moved"]["was"], "200 mm");
        letters("9 m");
        let answer = letters("9 mnth");
        assert_eq!(cell(&answer, "bore")["field"], "200 mm");
        assert_eq!(cell(&answer, "speed")["number"], "1.273");
        assert_eq!(cell(&answer, "speed").get("moved"), None);
        assert_eq!(answer["edits"], json!({}));
    }

    #[test]
    fn a_value_that_is_refused_leaves_the_rest_alive() {
        let mut session = session(SHEET);
        let answer = set(&mut session, "bore", "3 L");
        assert_eq!(
            answer["refused"][0]["message"],
            "`bore` is a length and cannot become a volume"
        );
        let answer = set(&mut session, "bore", "210");
        assert_eq!(answer["refused"][0]["help"], "say in which unit: 210 mm");
        assert_eq!(answer["edits"], json!({}));
        let answer = set(&mut session, "flow", "50 L/s");
        assert_eq!(cell(&answer, "speed")["number"], "1.592");
        assert_eq!(cell(&answer, "calm (check)")["verdict"], "fails");
    }

    #[test]
    fn a_file_changed_outside_keeps_what_is_unsaved_and_asks_where_both_changed() {
        let mut session = session(SHEET);
        set(&mut session, "bore", "10 in");
        let flow = SHEET.replace("40 L/s", "60 L/s");
        let answer = session.renew(Sheet::open(&flow), flow.clone());
        assert_eq!(answer["conflicts"], json!({}));
        assert_eq!(answer["edits"]["bore"], "10 in");
        assert_eq!(cell(&answer, "flow")["moved"]["was"], "40 L/s");

        let both = flow.replace("200 mm", "220 mm");
        let answer = session.renew(Sheet::open(&both), both.clone());
        assert_eq!(answer["conflicts"], json!({ "bore": "220 mm" }));
        assert!(session.to_save().is_err());
        session.keep_mine("bore");
        assert!(session.to_save().unwrap().text.contains("bore: 10 in # of the pipe"));
    }

    #[test]
    fn a_known_that_is_gone_for_a_while_does_not_take_its_value_along() {
        let mut session = session(SHEET);
        set(&mut session, "bore", "10 in");
        let broken = SHEET.replace("  bore: 200 mm", "  bohr: 200 mm");
        let answer = session.renew(Sheet::open(&broken), broken.clone());
        assert_eq!(answer["parked"][0]["value"], "10 in");
        let answer = session.renew(Sheet::open(SHEET), SHEET.to_owned());
        assert_eq!(answer["edits"]["bore"], "10 in");
        assert_eq!(answer["parked"], json!([]));
    }

    #[test]
    fn what_a_case_sets_is_saved_in_the_case() {
        let mut session = session(SHEET);
        session.use_case(Some("wide".to_owned()), Sheet::open(SHEET));
        assert_eq!(session.sheet().cell("bore").unwrap().shown(), "250 mm");
        set(&mut session, "bore", "260 mm");
        set(&mut session, "flow", "30 L/s");
        let text = session.to_save().unwrap().text;
        assert!(text.contains("wide: { bore: 260 mm }") && text.contains("bore: 200 mm # of"));
        assert!(text.contains("flow: 30 L/s"));
        let text = session.to_save_as_case("wider").unwrap().text;
        assert!(text.ends_with("  wider:\n    bore: 260 mm\n    flow: 30 L/s\n"), "{text}");
    }

    #[test]
    fn a_reference_stays_where_it_was() {
        let mut session = session(SHEET);
        session.hold(true);
        set(&mut session, "bore", "10 in");
        let answer = set(&mut session, "flow", "41 L/s");
        assert_eq!(cell(&answer, "speed")["since"]["was"], "1.273 m/s");
        assert_eq!(cell(&answer, "speed")["moved"]["was"], "0.7894 m/s");
    }

    #[test]
    fn what_a_template_says_of_its_knowns_can_be_set_again() {
        for template in forebay_sheet::templates() {
            let mut session = session(template.text);
            for (name, value) in session.file_values.clone() {
                let answer = set(&mut session, &name, &value);
                assert_eq!(answer["refused"], json!([]), "{name}");
                assert_eq!(answer["edits"], json!({}), "{name}");
                let moved = answer["cells"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .filter(|c| !c["moved"].is_null())
                    .count();
                assert_eq!(moved, 0, "{name}");
            }
        }
    }
}
