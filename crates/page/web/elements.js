// Makes the elements of the page. Texts only ever become text: nothing of a sheet is read as HTML.

/** An element with attributes and children; a child that is null or false is left out. */
function el(tag, attributes, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes ?? {})) {
    if (value === null || value === undefined || value === false) continue;
    if (typeof value === "function") element.addEventListener(name, value);
    else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== false));
  return element;
}

/** The element of an id. */
const byId = (id) => document.getElementById(id);

/** Sets a text if it is another one, so that nothing is laid out for nothing. */
function say(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/** Shows or hides. */
function show(element, visible) {
  if (element.hidden === visible) element.hidden = !visible;
}

/** A name that may break behind its underscores. */
function breakable(name) {
  return name.split(/(?<=[_.])/).flatMap((piece, at) => (at === 0 ? [piece] : [el("wbr"), piece]));
}

/** An id that is sound for any name. */
const idOf = (kind, key) => `${kind}-${key.replace(/[^A-Za-z0-9_]/g, (sign) => `-${sign.charCodeAt(0)}`)}`;

/** A text of the program in which names and values stand between backticks, as children. */
function marked(text) {
  return text.split("`").map((piece, at) => (at % 2 === 1 ? el("code", {}, piece) : piece));
}

/** The same for reading aloud. */
const unmarked = (text) => text.replaceAll("`", "");
