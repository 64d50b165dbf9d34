// The whole worksheet from top to bottom by its parts, and the results at a glance.

/** The names of all rows as they were laid out last; while they stay, rows are only brought up to date. */
let layout = "";

/** Shows a whole sheet. */
function showSheet(whole) {
  document.title = whole.title ?? whole.file;
  say(byId("title"), whole.title ?? whole.file);
  say(byId("file"), whole.file);
  const now = JSON.stringify([whole.headlines, whole.parts.map(shapeOf)]);
  if (now === layout) {
    for (const cell of whole.parts.flatMap(cellsOf)) updateCell(cell);
  } else {
    layout = now;
    layOut(whole);
  }
  showStanding(whole);
}

const cellsOf = (part) => [...part.known, ...part.work, ...part.check];

/** What makes a part another one: all that is not brought up to date in place. */
function shapeOf(part) {
  const known = part.known.map((cell) => [cell.key, cell.about, cell.from, cell.plus_minus, cell.between, cell.choices, cell.truth]);
  const work = part.work.map((cell) => [cell.key, cell.about]);
  const check = part.check.map((cell) => [cell.key, cell.formula, cell.about, cell.caution, cell.level]);
  return [part.title, part.about, known, work, check, part.tables];
}

function layOut(whole) {
  const focused = document.activeElement?.id;
  rowsOf.clear();
  nearby.clear();
  approaching.disconnect();
  const cells = new Map(whole.parts.flatMap(cellsOf).map((cell) => [cell.key, cell]));
  const headlines = whole.headlines.map((key) => cells.get(key)).filter(Boolean);
  byId("headlines").replaceChildren(...headlines.map((cell) => resultRow(cell, "glance")));
  byId("sheet").replaceChildren(...whole.parts.map(partOf));
  const names = new Set(whole.parts.flatMap((part) => part.known.map((cell) => cell.name)));
  for (const name of fields.keys()) if (!names.has(name)) fields.delete(name);
  if (focused) byId(focused)?.focus({ preventScroll: true });
}

function partOf(part, at) {
  const alone = part.title === null;
  const title = alone ? null : el("h2", { id: `part-${at}` }, part.title);
  const head = alone ? "h2" : "h3";
  const section = (words, items, row) => items.length > 0 && el("div", { class: "section" },
    el(head, {}, words),
    listsOf(items.map(row)));
  return el("section", { class: "part", "aria-labelledby": title && title.id },
    title,
    part.about && el("p", { class: "part-about" }, part.about),
    section("Known", part.known, knownRow),
    part.tables.map(tableOf),
    section("Worked out", part.work, (cell) => resultRow(cell, "cell")),
    section("Checks", part.check, (check) => checkRow(check, "cell")),
    el("div", { class: "drawings", "data-part": part.number ?? "none" }));
}

/** A table of the sheet; it is changed in the file. */
function tableOf(table) {
  const unit = (column) => !["1", "text", "date", "truth"].includes(column.unit) && el("span", { class: "unit" }, ` ${column.unit}`);
  return el("details", { class: "table" },
    el("summary", {}, `Table ${table.name}`, table.about && el("span", { class: "about" }, table.about)),
    scrolled(`Table ${table.name}`, table.columns.map((column) => [column.name, unit(column)]), table.rows,
      (at) => (table.columns[at]?.unit === "text" ? "words" : "n")),
    table.more > 0 && el("p", { class: "quiet" }, `and ${table.more} more rows in the file`));
}

/** A table that may be wider than the page. */
function scrolled(label, heads, rows, kind) {
  return el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": label },
    el("table", {},
      el("thead", {}, el("tr", {}, heads.map((head) => el("th", { scope: "col" }, head)))),
      el("tbody", {}, rows.map((row) => el("tr", {}, row.map((cell, at) => el("td", { class: kind(at) }, cell)))))));
}

/** What every answer tells of the sheet as a whole. */
function showStanding(standing) {
  state.standing = { parked: standing.parked, wrong: standing.wrong };
  state.edits = standing.edits;
  state.conflicts = standing.conflicts;
  state.held = standing.held;
  state.case = standing.case;
  say(byId("summary"), sentence(standing.summary));
  showFailing(standing.failing);
  askConflicts(standing.conflicts, standing.edits);
  showTold(standing);
  showBar();
}

/** The checks that do not hold, each a way to where it stands. */
function showFailing(failing) {
  const place = byId("failing");
  const words = JSON.stringify(failing);
  if (place.dataset.words === words) return;
  place.dataset.words = words;
  place.replaceChildren(...failing.map(({ key, word, level }) => el("li", {},
    el("span", { class: word === "FAILS" ? "bad" : "open" }, word), " ",
    el("button", { type: "button", class: "link", click: () => goTo(key) }, breakable(nameOf(key))), ` (${level})`)));
}

/** What is to be told above the sheet: what waits, and what is wrong in the file. */
function showTold(standing) {
  const told = [];
  if (state.problem) told.push(el("p", { class: "error" }, marked(sentence(state.problem)), " The page shows what was read last."));
  for (const { name, value, why } of standing.parked) {
    told.push(el("p", { class: "error" }, `Your ${name} = ${value} waits. `, marked(sentence(why)), " ",
      el("button", { type: "button", class: "link", click: () => changeTo(name, null) }, "give it up")));
  }
  const { shown, count } = standing.wrong;
  if (count > 0) {
    const open = byId("wrong")?.open ?? shown.some((one) => one.severity === "error");
    const words = { error: "Error", doubt: "Doubtful", note: "Note" };
    told.push(el("details", { class: "wrong", id: "wrong", open },
      el("summary", {}, count === 1 ? "One thing to look at in the sheet" : `${count} things to look at in the sheet`),
      el("ul", {}, shown.map((one) => el("li", { class: one.severity },
        el("strong", {}, `${words[one.severity]}${one.line ? ` in line ${one.line}` : ""}: `), marked(sentence(one.message)), " ",
        el("span", { class: "quiet" }, marked(sentence(one.help)))))),
      count > shown.length && el("p", {}, `and ${count - shown.length} more`)));
  }
  const words = told.map((element) => element.textContent).join("\n");
  const place = byId("told");
  if (place.dataset.words !== words) {
    place.dataset.words = words;
    place.replaceChildren(...told);
  }
}
