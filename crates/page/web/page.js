// Opens the sheet and joins the pieces: every change is asked for in turn, the latest one first.

/** Values that wait to be asked for, by name; a later text of a field takes the place of an earlier. */
const waiting = new Map();
/** The asking that goes on until nothing waits. */
let flow = null;
/** The last question; the next one is asked when it has been answered. */
let lastTurn = Promise.resolve();

/** Does things one after the other, so that no answer is shown over a later one. */
function inTurn(work) {
  const turn = lastTurn.then(work);
  lastTurn = turn.catch(() => {});
  return turn;
}

/** Sets a known to a text, or back to the file's value; computed as soon as the program is free. */
function changeTo(name, value) {
  waiting.set(name, value);
  flow ??= askWaiting().finally(() => {
    flow = null;
  });
}

async function askWaiting() {
  while (waiting.size > 0) {
    await inTurn(async () => {
      const question = { set: [...waiting], begins };
      waiting.clear();
      begins = false;
      try {
        showChange(await ask("/set", question), question.set.map(([name]) => name));
      } catch (refused) {
        announce(unmarked(`${sentence(refused.message)} ${refused.help ?? ""}`));
      }
    });
  }
}

/** The cells whose last movement is shown. */
let moving = new Set();

/** Shows what a change has moved. */
function showChange(answer, names) {
  const told = new Set(answer.cells.map((cell) => cell.key));
  if (told.size > 0) {
    for (const key of moving) if (!told.has(key)) settle(key);
    moving = new Set(answer.cells.filter((cell) => cell.moved).map((cell) => cell.key));
  }
  for (const refusal of answer.refused) {
    const field = fields.get(refusal.name);
    if (field) refusedAt(field, refusal);
  }
  for (const name of names) {
    const field = fields.get(name);
    if (field && !answer.refused.some((refusal) => refusal.name === name)) mended(field);
  }
  for (const cell of answer.cells) updateCell(cell);
  showStanding(answer);
  if (answer.refused.length === 0) tellMoved(answer.cells, names);
  afterPaint(() => {
    if (performance.getEntriesByName("forebay-change").length > 0) {
      performance.measure("forebay-shown", "forebay-change");
      performance.clearMarks("forebay-change");
    }
    void redraw();
    setTimeout(catchUpAll);
  });
}

/** When the next picture has been painted. */
function afterPaint(then) {
  requestAnimationFrame(() => {
    const channel = new MessageChannel();
    channel.port1.onmessage = then;
    channel.port2.postMessage(null);
  });
}

/** Shows a whole sheet that the program has sent. */
function showWhole(whole) {
  state.headlines = whole.headlines;
  state.version = whole.version;
  state.file = whole.file;
  state.draws = whole.draws;
  showSheet(whole);
  showCases(whole);
  moving = new Set(whole.parts.flatMap(cellsOf).filter((cell) => cell.moved).map((cell) => cell.key));
  afterPaint(() => {
    void redraw();
    catchUpAll();
  });
  return [...moving];
}

/** Asks for something that changes the whole sheet, once all that was typed is computed. */
async function askWhole(path, question, words) {
  await flow;
  return inTurn(() => askWholeNow(path, question, words));
}

/** The same at once; null where it was refused. */
async function askWholeNow(path, question, words) {
  try {
    const whole = await ask(path, question);
    const moved = showWhole(whole);
    announce(typeof words === "function" ? words(whole, moved) : words);
    return whole;
  } catch (refused) {
    announce(unmarked(`${sentence(refused.message)} ${sentence(refused.help || "Nothing was changed")}`));
    return null;
  }
}

/** Opens the sheet again with what is unsaved. */
async function reopen() {
  showWhole(await openSheet(state.case, state.edits));
}

/** What is said of a file that was written, or not. */
const written = (words) => (whole) =>
  whole.saved ? words(whole) : "The file was changed meanwhile, so nothing was written. Look at what is new and save again.";

/** Goes to a field that holds no value; whether there is one. Nothing is saved then, since it would
 * not be what stands there. */
function stopsAtBroken() {
  const broken = [...fields.values()].find((field) => field.broken);
  if (!broken) return false;
  broken.input.focus();
  tellError(broken, broken.words);
  return true;
}

async function save() {
  await flow;
  if (stopsAtBroken()) return;
  if (Object.keys(state.edits).length === 0) return;
  const whole = await askWhole("/save", {}, written((whole) => `Saved to ${whole.file}.`));
  if (whole?.saved) undoes.length = 0;
  showBar();
}

async function saveCase(event) {
  event.preventDefault();
  await flow;
  if (stopsAtBroken()) return;
  const name = byId("case-name").value.trim();
  const error = byId("case-error");
  await inTurn(async () => {
    try {
      const whole = await ask("/save-case", { name });
      showWhole(whole);
      announce(written(() => `Saved as case ${name} in ${whole.file}.`)(whole));
      show(error, false);
      undoes.length = 0;
      toggleCaseForm(false);
      showBar();
    } catch (refused) {
      error.replaceChildren(...marked(`${sentence(refused.message)} ${sentence(refused.help)}`));
      show(error, true);
      byId("case-name").focus();
    }
  });
}

function toggleCaseForm(open) {
  show(byId("case-form"), open);
  byId("new-case").setAttribute("aria-expanded", String(open));
  if (open) byId("case-name").focus();
  else byId("case-name").value = "";
}

async function keepMine(name) {
  await askWhole("/keep", { name }, `${name} stays as you have it; saving puts it into the file.`);
  fields.get(name)?.input.focus();
}

/** The file is another one, or cannot be read. */
async function news({ version, problem }) {
  await inTurn(async () => {
    if (problem !== state.problem) {
      state.problem = problem;
      if (state.standing) showTold(state.standing);
    }
    // What this page has saved itself is no news to it.
    if (version === state.version) return;
    await askWholeNow("/renew", {}, (whole, moved) => {
      if (problem) return sentence(problem);
      const both = Object.keys(whole.conflicts);
      if (both.length > 0) return `The file was changed, and so was ${both.join(", ")} here. Choose at the field.`;
      return moved.length === 0 ? "The file was written; no value is another one." : `The file was changed: ${moved.length} values are new.`;
    });
    // Where that was refused too, it is not asked for over and over.
    state.version = version;
  });
}

function keys(event) {
  if (!(event.ctrlKey || event.metaKey) || event.altKey || event.shiftKey) return;
  if (event.key === "s") {
    event.preventDefault();
    void save();
  } else if (event.key === "z" && event.target.id !== "case-name") {
    event.preventDefault();
    undo();
  }
}

async function start() {
  byId("undo").addEventListener("click", undo);
  byId("save").addEventListener("click", save);
  byId("hold").addEventListener("click", () => askWhole("/hold", { hold: !state.held },
    state.held ? "The reference is gone." : "Kept. From now on each value shows how far it is from here."));
  byId("case").addEventListener("change", (event) => askWhole("/case", { case: event.target.value || null },
    (whole, moved) => `${whole.case ? `Case ${whole.case}` : "As written"}: ${moved.length} values moved.`));
  byId("new-case").addEventListener("click", () => toggleCaseForm(byId("case-form").hidden));
  byId("case-form").addEventListener("submit", saveCase);
  document.addEventListener("keydown", keys);
  addEventListener("beforeunload", (event) => {
    const broken = [...fields.values()].some((field) => field.broken);
    if (broken || Object.keys(state.edits).length > 0) event.preventDefault();
  });
  try {
    showWhole(await openSheet(null, {}));
    void listen(() => state.version, news);
  } catch (refused) {
    say(byId("title"), sentence(refused.message));
    announce(refused.help);
  }
}

void start();
