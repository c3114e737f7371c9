/** Fields with their label, and the place under each where it says what is wrong with it. */

import { element } from "../shared/dom.js";

/** A field of text. @param {string} id @param {string} label @param {Object<string, any>} properties of the field */
export function textField(id, label, { tag = "input", hint = "", ...properties } = {}) {
  const named = hint ? element("span", { class: "quiet" }, ` ${hint}`) : null;
  const field = element(tag, { id, name: id, part: "field", dir: "auto", "aria-describedby": `fault-${id}`, ...properties });
  return element("div", { class: "field" }, element("label", { for: id }, label, named), field, fault(id));
}

/** A box to tick. @param {string} id @param {string} label @param {...Node} more said beside it */
export function tickBox(id, label, ...more) {
  const box = element("input", { type: "checkbox", id, name: id, "aria-describedby": `fault-${id}` });
  return element("label", { class: "tick", part: "choice" }, box, element("span", {}, label, ...more));
}

/** Where a field says what is wrong with it. */
export function fault(id) {
  return element("p", { class: "fault", id: `fault-${id}`, part: "fault", hidden: true });
}

/** Tells what is wrong at each field, and takes back what was told before. @param {Map<string, string>} faults by id */
export function tellFaults(form, faults) {
  for (const place of form.querySelectorAll(".fault")) {
    const id = place.id.replace("fault-", "");
    const field = form.querySelector(`#${CSS.escape(id)}`);
    place.textContent = faults.get(id) ?? "";
    place.hidden = !faults.has(id);
    if (faults.has(id)) field.setAttribute("aria-invalid", "true");
    else field.removeAttribute("aria-invalid");
  }
}

/** Goes to the first field that is wrong. */
export function goToFault(form) {
  form.querySelector("[aria-invalid]")?.focus();
}
