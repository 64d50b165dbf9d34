// The fields of what is known: typed or stepped, computed at once, explained where refused.

/** An error is told when the typing has paused for so long, or the field is left. */
const PATIENCE = 700;

/** Every field by the name of its known. */
const fields = new Map();

/** A row of what is known. */
function knownRow(cell) {
  const { name } = cell;
  const id = idOf("field", cell.key);
  const error = el("p", { class: "error", id: `${id}-error`, hidden: true });
  const input = cell.truth ? truthField(cell, id) : textField(cell, id);
  input.setAttribute("aria-describedby", `${id}-error ${id}-about`);
  const back = el("button", { type: "button", class: "back link", hidden: true, click: () => takeFile(name) });
  const question = el("div", { class: "ask", role: "group", "aria-label": `${name} was changed in the file too`, hidden: true });
  const by = el("div", { class: "by" });
  const notes = el("div", { class: "notes" });
  const list = el("p", { class: "list" });
  const panel = el("div", { class: "working", id: idOf("working-cell", cell.key), hidden: true });
  const origin = [cell.from ?? "no source given", cell.plus_minus && `± ${cell.plus_minus}`].filter(Boolean).join(", ");
  const button = el("button", {
    type: "button", class: "origin link", "aria-expanded": "false", "aria-controls": panel.id,
    "aria-label": `${name}: ${origin}. Where it comes from`,
    click: () => toggleWorking(button, panel, name),
  }, origin);
  const hints = [cell.about && sentence(cell.about),
    cell.between && `From ${cell.between[0]} to ${cell.between[1]}.`,
    cell.choices.length > 0 && `One of ${cell.choices.join(", ")}.`].filter(Boolean);
  const row = el("li", { class: "row known", id: idOf("cell", cell.key) },
    el("div", { class: "what" },
      el("label", { class: "name", for: id }, breakable(name)),
      el("span", { class: "about", id: `${id}-about` }, hints.join(" "))),
    el("div", { class: "value" }, input, button),
    el("div", { class: "aside" }, by, back), error, question, list, notes, panel);
  const field = { name, input, error, back, question, choices: cell.choices, good: cell.field, timer: 0, broken: false };
  const before = fields.get(name);
  if (before?.broken) {
    // The sheet was laid out anew while something unfinished stood here.
    input.value = before.input.value;
    field.broken = true;
    field.aloud = before.aloud;
    tellError(field, before.words);
  }
  fields.set(name, field);
  const update = (cell) => {
    // What is being typed is left alone.
    const typing = document.activeElement === input && input.value !== field.good;
    if (!field.broken && !typing && input.value !== cell.field) input.value = cell.field;
    field.good = cell.field;
    field.inFile = cell.in_file;
    row.classList.toggle("changed", Boolean(cell.changed));
    show(back, Boolean(cell.changed));
    if (cell.changed) say(back, `back to ${cell.in_file}`);
    sayMoved(row, by, cell);
    say(list, cell.list && !cell.field.startsWith("[") ? cell.list : "");
    sayWarnings(notes, cell.warnings);
    if (!panel.hidden) fillWorking(panel, name);
  };
  keepRow(cell.key, { row, by, update });
  if (!field.broken) input.value = cell.field;
  update(cell);
  return row;
}

function textField(cell, id) {
  const input = el("input", {
    id, type: "text", autocomplete: "off", autocapitalize: "off", spellcheck: "false", enterkeyhint: "done",
    input: () => typed(cell.name),
    change: () => left(cell.name),
    keydown: (event) => keyIn(cell.name, event),
  });
  return input;
}

/** A truth is one of two words, those that the file uses. */
function truthField(cell, id) {
  const words = ["yes", "no"].includes(cell.field) ? ["yes", "no"] : ["true", "false"];
  const select = el("select", { id, change: () => { typed(cell.name); left(cell.name); } },
    words.map((word) => el("option", { value: word }, word)));
  return select;
}

function keyIn(name, event) {
  const field = fields.get(name);
  const up = { ArrowUp: 1, ArrowDown: -1 }[event.key];
  if (up && !event.altKey && !event.ctrlKey && !event.metaKey) {
    const steps = up * (event.shiftKey ? 10 : 1);
    const text = field.choices.length > 0 ? chosen(field.choices, field.input.value, steps) : stepped(field.input.value, steps);
    if (text === null) return;
    event.preventDefault();
    const end = NUMBER.exec(text);
    field.input.value = text;
    // The number stays selected, so that it can be typed over.
    if (end && field.choices.length === 0) field.input.setSelectionRange(end[1].length, text.length - end[5].length);
    typed(name);
  } else if (event.key === "Escape") {
    event.preventDefault();
    if (undoIsOpen && undoes.at(-1)?.name === name) {
      undo();
    } else {
      field.input.value = field.good;
      mended(field);
      changeTo(name, field.good);
    }
  } else if (event.key === "Enter") {
    left(name);
  }
}

/** A field holds another text. */
function typed(name) {
  const field = fields.get(name);
  performance.mark("forebay-change");
  rememberForUndo(name);
  changeTo(name, field.input.value);
}

/** A field is left, or its text is confirmed. */
function left(name) {
  const field = fields.get(name);
  closeUndo();
  if (field.broken && field.words) tellError(field, field.words);
}

/** A value is taken back from the file. */
function takeFile(name) {
  closeUndo();
  rememberForUndo(name);
  closeUndo();
  const field = fields.get(name);
  mended(field);
  field.input.value = field.inFile;
  field.input.focus();
  changeTo(name, null);
}

/** Says why a value was refused, at its field and, when the typing pauses, aloud. */
function refusedAt(field, refusal) {
  field.broken = true;
  field.words = `${sentence(refusal.message)} ${sentence(refusal.help)}`;
  field.aloud = sentence(refusal.message);
  clearTimeout(field.timer);
  if (!field.error.hidden || document.activeElement !== field.input) tellError(field, field.words);
  else field.timer = setTimeout(() => tellError(field, field.words), PATIENCE);
}

function tellError(field, words) {
  clearTimeout(field.timer);
  field.words = words;
  field.error.replaceChildren(...marked(words), ` Until then the sheet computes with ${field.good}.`);
  show(field.error, true);
  field.input.setAttribute("aria-invalid", "true");
  announce(unmarked(field.aloud ?? words));
}

function mended(field) {
  clearTimeout(field.timer);
  field.broken = false;
  field.words = "";
  show(field.error, false);
  field.input.removeAttribute("aria-invalid");
}

/** Asks where both the page and the file have a new value. */
function askConflicts(conflicts, edits) {
  for (const field of fields.values()) {
    const theirs = conflicts[field.name];
    show(field.question, theirs !== undefined);
    if (theirs === undefined) {
      field.question.replaceChildren();
      continue;
    }
    const mine = edits[field.name];
    field.question.replaceChildren(
      el("p", {}, `You have ${mine}; meanwhile the file says ${theirs}.`),
      el("button", { type: "button", click: () => keepMine(field.name) }, `Keep ${mine}`), " ",
      el("button", { type: "button", click: () => takeFile(field.name) }, `Take ${theirs}`));
  }
}
