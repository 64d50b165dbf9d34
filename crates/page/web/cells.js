// The rows of what is known and worked out: made once, then brought up to date in place.

/** Every row that shows a cell, by the cell's key; a headline has two. */
const rowsOf = new Map();

/** Keeps a row so that it is brought up to date with its cell. */
function keepRow(key, row) {
  const rows = rowsOf.get(key);
  if (rows) rows.push(row);
  else rowsOf.set(key, [row]);
}

/** Brings every row of a cell up to date. */
function updateCell(cell) {
  for (const row of rowsOf.get(cell.key) ?? []) row.update(cell);
}

/** A row of what is worked out. Its number opens its working. */
function resultRow(cell, place) {
  const number = el("span", { class: "n" });
  const unit = el("span", { class: "u" });
  const panel = el("div", { class: "working", id: idOf(`working-${place}`, cell.key), hidden: true });
  const button = el("button", {
    type: "button",
    class: "number",
    "aria-expanded": "false",
    "aria-controls": panel.id,
    id: idOf(`number-${place}`, cell.key),
    "aria-labelledby": `${idOf(`name-${place}`, cell.key)} ${idOf(`number-${place}`, cell.key)}`,
    title: "How it came about",
    click: () => toggleWorking(button, panel, name),
  }, number, " ", unit);
  const by = el("div", { class: "by" });
  const list = el("p", { class: "list" });
  const notes = el("div", { class: "notes" });
  const label = el("span", { class: "name", id: idOf(`name-${place}`, cell.key) }, breakable(cell.name));
  const row = el("li", { class: "row" },
    el("div", { class: "what" }, label, cell.about && place !== "glance" && el("span", { class: "about" }, cell.about)),
    el("div", { class: "value" }, button), el("div", { class: "aside" }, by), list, notes, panel);
  row.id = idOf(place, cell.key);
  const { name } = cell;
  const update = (cell) => {
    say(number, cell.number ?? cell.text);
    say(unit, cell.unit ?? "");
    button.classList.toggle("words", cell.number === undefined);
    row.dataset.state = cell.state;
    sayMoved(row, by, cell);
    if (place !== "glance") {
      say(list, cell.list ?? "");
      sayWarnings(notes, cell.warnings);
    }
    if (!panel.hidden) fillWorking(panel, name);
  };
  keepRow(cell.key, { row, by, update });
  update(cell);
  return row;
}

/** What a cell was, beside what it is: since the reference was kept, or at the last change. */
function sayMoved(row, by, cell) {
  const from = cell.since ?? cell.moved;
  row.classList.toggle("moving", Boolean(cell.moved));
  say(by, from ? `was ${from.was}${from.by ? `, ${from.by}` : ""}` : "");
}

/** What is doubtful about a value. */
function sayWarnings(notes, warnings) {
  if (!warnings && !notes.dataset.words) return;
  const words = (warnings ?? []).map((warning) => `${sentence(warning.message)} ${sentence(warning.help)}`);
  if (notes.dataset.words === words.join("\n")) return;
  notes.dataset.words = words.join("\n");
  notes.replaceChildren(...words.map((text) => el("p", { class: "doubt" }, el("strong", {}, "Doubtful: "), marked(text))));
}

/** A text with a capital at its head and a full stop. */
function sentence(text) {
  const head = text.charAt(0).toUpperCase() + text.slice(1);
  return /[.?!]$/.test(head) ? head : `${head}.`;
}
