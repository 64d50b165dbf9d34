// The bar at the foot: what moved, undo, reference, cases and saving.

/** What the page knows besides the sheet. */
const state = { edits: {}, conflicts: {}, held: false, case: null, version: 0, problem: null, file: "", standing: null, headlines: [], draws: false };

/** Values to go back to, the last one at the end. */
const undoes = [];
let undoIsOpen = false;
/** Whether the next thing asked for is a new change: what moves is told against the start of one. */
let begins = true;

/** Says something aloud and in the bar. */
function announce(words) {
  say(byId("status"), words);
}

/** Remembers a value before it changes; typing in one field is one step. */
function rememberForUndo(name) {
  const last = undoes.at(-1);
  if (undoIsOpen && last?.name === name) return;
  undoes.push({ name, value: state.edits[name] ?? null });
  undoIsOpen = true;
  begins = true;
}

function closeUndo() {
  undoIsOpen = false;
}

/** Takes the last change back. */
function undo() {
  const last = undoes.pop();
  // What is given up in the middle of it is the same change.
  if (!undoIsOpen) begins = true;
  closeUndo();
  if (!last) return;
  const field = fields.get(last.name);
  if (field) {
    mended(field);
    field.input.value = last.value ?? field.inFile ?? field.good;
  }
  changeTo(last.name, last.value);
  showBar();
}

/** Brings the buttons up to date. */
function showBar() {
  const count = Object.keys(state.edits).length;
  byId("undo").disabled = undoes.length === 0;
  byId("save").disabled = count === 0;
  say(byId("save"), count === 0 ? "Save" : `Save ${count} ${count === 1 ? "value" : "values"}`);
  say(byId("hold"), state.held ? "Let reference go" : "Keep as reference");
  show(byId("new-case"), count > 0 || state.case !== null);
}

/** Says what a change has moved. */
function tellMoved(cells, names) {
  const moved = cells.filter((cell) => cell.moved && !names.includes(cell.key));
  const list = byId("moved-list");
  show(byId("moved"), moved.length > 0);
  say(byId("moved-count"), `${moved.length} moved`);
  const shown = moved.slice(0, 60);
  const line = (cell) => `${nameOf(cell.key)}: ${cell.moved.was} → ${nowOf(cell)}${cell.moved.by ? ` (${cell.moved.by})` : ""}`;
  list.replaceChildren(...shown.map((cell) => el("li", {}, line(cell))),
    ...(moved.length > shown.length ? [el("li", {}, `and ${moved.length - shown.length} more`)] : []));
  const headlines = state.headlines.map((key) => moved.find((cell) => cell.key === key));
  const first = headlines.find(Boolean) ?? moved.at(-1);
  const failing = moved.filter((cell) => cell.verdict === "fails" || cell.verdict === "unknown");
  const pieces = [moved.length === 0 ? "Nothing else moved." : `${moved.length === 1 ? "One result" : `${moved.length} results`} moved. ${line(first)}.`];
  if (failing.length > 0) pieces.push(`No longer holds: ${failing.map((check) => nameOf(check.key)).join(", ")}.`);
  announce(pieces.join(" "));
}

/** The name of a cell; a check is told from a cell of the same name by its key. */
const nameOf = (key) => key.replace(/ \(check\)$/, "");

const nowOf = (cell) => cell.word ?? cell.text ?? `${cell.number} ${cell.unit}`.trim();

/** The cases that the sheet has, and which one is in force. */
function showCases(whole) {
  const select = byId("case");
  show(byId("cases"), whole.cases.length > 0);
  const options = [["", "as written"], ...whole.cases.map((one) => [one.name, one.name])];
  select.replaceChildren(...options.map(([value, words]) => el("option", { value, selected: value === (whole.case ?? "") }, words)));
  const sets = whole.cases.find((one) => one.name === whole.case)?.sets ?? [];
  say(byId("case-sets"), sets.length > 0 ? `sets ${sets.join(", ")}` : "");
}
