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
