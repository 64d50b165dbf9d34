// The checks in words: what holds, by what margin, and what to do.

const SIGNS = { holds: "✓", fails: "✗", unknown: "?" };

/** A check; it is brought up to date like a row. */
function checkRow(check, place) {
  const sign = el("span", { class: "sign", "aria-hidden": "true" });
  const word = el("strong", { class: "verdict" });
  const margins = el("div", { class: "margins" });
  const otherwise = el("p", { class: "else" });
  const by = el("div", { class: "by" });
  const notes = el("div", { class: "notes" });
  const panel = el("div", { class: "working", id: idOf(`working-${place}`, check.key), hidden: true });
  const button = el("button", {
    type: "button",
    class: "formula",
    "aria-expanded": "false",
    "aria-controls": panel.id,
    "aria-label": `${check.name}: ${check.formula}. How it came about`,
    click: () => toggleWorking(button, panel, check.name),
  }, check.formula);
  const row = el("li", { class: "check", id: idOf(place, check.key) },
    el("p", { class: "check-head" }, sign, " ", word, " ", el("span", { class: "name" }, breakable(check.name)), " ",
      el("span", { class: "quiet" }, `(${check.level})`)),
    el("div", { class: "check-body" },
      check.about && el("p", { class: "about" }, check.about),
      button, margins, by, otherwise,
      check.caution && el("p", { class: "caution" }, el("strong", {}, "Caution: "), check.caution),
      notes, panel));
  row.dataset.level = check.level;
  const { name } = check;
  const update = (check) => {
    row.dataset.verdict = check.verdict;
    say(sign, SIGNS[check.verdict] ?? "");
    say(word, check.word);
    const words = [...check.margins, ...(check.why ? [check.why] : [])];
    if (margins.dataset.words !== words.join("\n")) {
      margins.dataset.words = words.join("\n");
      margins.replaceChildren(...words.map((text) => el("p", {}, text)));
    }
    say(otherwise, check.else ?? "");
    sayMoved(row, by, check);
    sayWarnings(notes, check.warnings);
    if (!panel.hidden) fillWorking(panel, name);
  };
  keepRow(check.key, { row, by, update });
  update(check);
  return row;
}
