/** Elements, made in one expression. */

/**
 * @param {string} tag
 * @param {Object<string, any>} [properties] attributes; `on` holds listeners by event; false and null are left out
 * @param {...(Node|string|null)} children
 */
export function element(tag, properties = {}, ...children) {
  const made = document.createElement(tag);
  const { on = {}, ...attributes } = properties;
  for (const [name, value] of Object.entries(attributes)) {
    if (value !== false && value !== null && value !== undefined) made.setAttribute(name, value === true ? "" : value);
  }
  for (const [type, listener] of Object.entries(on)) made.addEventListener(type, listener);
  made.append(...children.flat().filter((child) => child !== null && child !== undefined));
  return made;
}

/** Says something in a place that is empty otherwise, a paragraph a line; says nothing without lines. */
export function tell(place, lines = []) {
  place.replaceChildren(...lines.map((line) => element("span", { class: "line" }, line)));
  place.hidden = lines.length === 0;
}

/** "3 rows", "1 row" */
export function counted(count, one, many = `${one}s`) {
  return `${count.toLocaleString("en")} ${count === 1 ? one : many}`;
}

/** What went wrong with a call, as lines for people; other errors are passed on. */
export function linesOf(error) {
  if (error.lines) return error.lines;
  throw error;
}
