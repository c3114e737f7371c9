/** What the script tag does: it names the element, and puts a form after itself if it has a key. */

import { NAME, RepairEnquiry, origin } from "./element.js";

if (document.currentScript) start(document.currentScript);

/** @param {HTMLScriptElement} script */
export function start(script) {
  const { key = "", book = "", language = "", device = "" } = script.dataset;
  if (!customElements.get(NAME)) {
    Object.assign(origin, { service: new URL(".", script.src).href, key, book, language, device });
    customElements.define(NAME, RepairEnquiry);
  }
  if (!key) return;
  const form = document.createElement(NAME);
  for (const [name, value] of Object.entries({ key, book, language, device })) if (value) form.setAttribute(name, value);
  script.after(form);
}
