// The drawings: asked for after the numbers have been shown, so that no number waits for a picture.

/** What is drawn, by name: the figure, and the picture that it shows. */
const drawn = new Map();

/** The one place where a text of the program becomes elements: a picture that it has drawn, in which
 * every text of the sheet is escaped. What could run in it is taken out all the same. */
const pictures = globalThis.trustedTypes?.createPolicy("drawings", { createHTML: (svg) => svg }) ?? { createHTML: (svg) => svg };

let drawing = false;
let drawAgain = false;

/** Draws what the sheet wants drawn, as the values are now; the latest state is drawn last. */
async function redraw() {
  if (!state.draws) return;
  if (drawing) {
    drawAgain = true;
    return;
  }
  drawing = true;
  try {
    do {
      drawAgain = false;
      const { drawings } = await ask("/drawings", {});
      showDrawings(drawings);
    } while (drawAgain);
  } catch {
    // The next change draws again; what is wrong with the connection is told there.
  } finally {
    drawing = false;
  }
}

function showDrawings(drawings) {
  const names = new Set(drawings.map((one) => one.name));
  for (const [name, { figure }] of drawn) {
    if (names.has(name) && figure.isConnected) continue;
    figure.remove();
    drawn.delete(name);
  }
  for (const one of drawings) {
    const place = document.querySelector(`.drawings[data-part="${one.part ?? "none"}"]`) ?? byId("sheet");
    if (!drawn.has(one.name)) drawn.set(one.name, figureOf(one, place));
    drawn.get(one.name).update(one);
  }
}

function figureOf(one, place) {
  const picture = el("div", { class: "picture" });
  const why = el("p", { class: "quiet" });
  const data = el("div", {});
  const behind = el("details", { class: "table", toggle: () => fill() }, el("summary", {}, "The numbers behind it"), data);
  const figure = el("figure", { id: idOf("figure", one.name) },
    el("figcaption", {}, el("strong", {}, one.title), one.about && el("span", { class: "about" }, one.about)),
    picture, why, behind);
  let now = one;
  const fill = () => data.replaceChildren(...(behind.open && now.svg ? [
    scrolled(`The numbers behind ${now.title}`, now.heads, now.rows.map((row) => row.map((cell) => cell || "–")), () => "n"),
    ...(now.more > 0 ? [el("p", { class: "quiet" }, `and ${now.more} more rows`)] : []),
  ] : []));
  let shown = null;
  place.append(figure);
  const update = (one) => {
    now = one;
    if (shown !== (one.svg ?? null)) {
      shown = one.svg ?? null;
      picture.replaceChildren(...(shown ? [pictureOf(shown)] : []));
    }
    show(behind, Boolean(one.svg));
    say(why, one.why ? `Not drawn: ${one.why}` : "");
    fill();
  };
  return { figure, update };
}

/** The elements of a picture. */
function pictureOf(svg) {
  const parsed = new DOMParser().parseFromString(pictures.createHTML(svg), "image/svg+xml");
  for (const element of parsed.querySelectorAll("script, style, foreignObject, a, image, use")) element.remove();
  for (const element of parsed.querySelectorAll("*")) {
    for (const { name } of [...element.attributes]) if (name.startsWith("on") || name.endsWith("href")) element.removeAttribute(name);
  }
  return document.importNode(parsed.documentElement, true);
}
