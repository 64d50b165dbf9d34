// The rows of what is known and worked out: made once, then brought up to date in place.

/** Every row that shows a cell, by the cell's key; a headline has two. */
const rowsOf = new Map();

/** Keeps a row so that it is brought up to date with its cell. */
function keepRow(key, row) {
  const rows = rowsOf.get(key);
  if (rows) rows.push(row);
  else rowsOf.set(key, [row]);
}

/** A list that is longer than this is laid out in groups of so many rows. */
const GROUP = 100;

/** The lists that are in the window or near it. */
const nearby = new Set();

/** What is still to be done for the rows of a list that nobody sees: row and cell, or null where the
 * row only has to come to rest. */
const lateOf = new WeakMap();

/** A list that comes near is brought up to date before it is seen. */
const approaching = new IntersectionObserver((groups) => {
  for (const { target, isIntersecting } of groups) {
    if (isIntersecting) {
      nearby.add(target);
      catchUp(target);
    } else {
      nearby.delete(target);
    }
  }
}, { rootMargin: "50% 0px" });

/** Rows in one list, or in groups where there are many. Only lists in sight are brought up to date at
 * once, the others when what is seen has been painted. */
function listsOf(rows) {
  const long = rows.length > 2 * GROUP;
  const size = long ? GROUP : rows.length;
  const lists = [];
  for (let at = 0; at < rows.length; at += size) {
    const list = el("ul", { class: long ? "rows long" : "rows" }, rows.slice(at, at + size));
    lateOf.set(list, new Map());
    approaching.observe(list);
    lists.push(list);
  }
  return lists;
}

/** Brings every row of a cell up to date: at once, or later where it is out of sight. */
function updateCell(cell) {
  for (const row of rowsOf.get(cell.key) ?? []) {
    const late = lateOf.get(row.row.parentElement);
    if (late && !nearby.has(row.row.parentElement)) late.set(row, cell);
    else row.update(cell);
  }
}

/** A cell that has not moved at the last change. */
function settle(key) {
  for (const row of rowsOf.get(key) ?? []) {
    const late = lateOf.get(row.row.parentElement);
    if (!late || nearby.has(row.row.parentElement)) rest(row);
    else if (late.get(row)) late.set(row, { ...late.get(row), moved: undefined });
    else late.set(row, null);
  }
}

function rest({ row, by }) {
  row.classList.remove("moving");
  if (!state.held) say(by, "");
}

/** Does for a list what was put off. */
function catchUp(list) {
  const late = lateOf.get(list);
  for (const [row, cell] of late) {
    if (cell) row.update(cell);
    else rest(row);
  }
  late.clear();
}

/** Does for all lists what was put off, one after the other so that typing goes on meanwhile. */
function catchUpAll() {
  const behind = [...document.querySelectorAll(".rows")].find((list) => lateOf.get(list)?.size > 0);
  if (!behind || flow) return;
  catchUp(behind);
  setTimeout(catchUpAll);
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
  const before = cell.verdict ? "before: " : "was ";
  say(by, from ? `${before}${from.was}${from.by ? `, ${from.by}` : ""}` : "");
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
