// How a number came about: its formula, the numbers put in, its source and limits.

/** Opens or closes the working under a number. */
async function toggleWorking(button, panel, name) {
  const open = panel.hidden;
  show(panel, open);
  button.setAttribute("aria-expanded", String(open));
  if (open) await fillWorking(panel, name);
  else panel.replaceChildren();
}

/** Fills a panel with the working as it is now. */
async function fillWorking(panel, name) {
  try {
    const { steps } = await ask("/working", { name });
    const [first, ...rest] = steps;
    panel.replaceChildren(stepOf(first), ...(rest.length > 0 ? [readsOf(rest)] : []));
  } catch (refused) {
    panel.replaceChildren(el("p", { class: "error" }, sentence(refused.message)));
  }
}

function stepOf(step) {
  const isKnown = step.formulas.length === 0 && step.with_numbers === null && (step.reads ?? []).length === 0;
  return el("div", { class: "step" },
    !isKnown && el("p", {}, el("code", {}, step.formula)),
    step.with_numbers !== null && step.with_numbers !== step.formula &&
      el("p", {}, "= ", el("code", {}, step.with_numbers)),
    el("p", {}, "= ", el("strong", {}, step.result)),
    step.from && el("p", { class: "quiet" }, `Known: ${step.from}.`),
    step.about && el("p", { class: "quiet" }, step.about),
    step.formulas.map(formulaOf));
}

function formulaOf(formula) {
  const row = (term, words) => words && [el("dt", {}, term), el("dd", {}, words)];
  const place = formula.place ? `, ${formula.place}` : "";
  return el("div", { class: "library" },
    el("p", {}, el("strong", {}, formula.name), "  ", el("span", { class: "equation" }, formula.equation)),
    el("dl", {},
      row("Source", `${formula.source}${place} (${formula.standing})`),
      row("Limits", formula.limits.join("; ")),
      row("Caution", formula.caution)));
}

/** What it reads, each a way to the row where it stands. */
function readsOf(steps) {
  return el("div", { class: "reads" },
    el("p", { class: "quiet" }, "It reads"),
    el("ul", {}, steps.map((step) => el("li", {},
      el("button", { type: "button", class: "link", click: () => goTo(step.name) }, breakable(step.name)),
      " = ", el("span", { class: "n" }, step.result)))));
}

/** Moves to the row of a cell and puts the focus on its value. */
function goTo(key) {
  const row = byId(idOf("cell", key));
  if (!row) return;
  row.scrollIntoView({ block: "center" });
  (row.querySelector("input, select") ?? row.querySelector("button"))?.focus({ preventScroll: true });
}
