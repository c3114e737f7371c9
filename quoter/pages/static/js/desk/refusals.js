/** Refusals of the service, told at the field that is wrong. */

import { tell } from "../shared/dom.js";
import { say } from "../shared/words.js";

const FIXED = {
  "/device": "device",
  "/customer/kind": "customer",
  "/urgency": "urgency",
  "/payment": "payment",
  "/discount": "discount",
  "/discount/rate": "discount",
  "/discount/reason": "reason",
  "/locale": "language",
  "/contact/name": "contact-name",
  "/contact/phone": "contact-phone",
  "/contact/email": "contact-email",
  "/told": "told",
};

/**
 * The id of the field that a pointer into a job is about; null where no field is.
 * @param {string} pointer @param {object|null} job
 */
export function fieldOf(pointer, job) {
  const [, member, index] = /^\/(repairs|findings)\/(\d+)/.exec(pointer) ?? [];
  if (member === "repairs") return `repair-${job?.repairs?.[index]?.procedure}`;
  if (member === "findings") return `finding-${job?.findings?.[index]}`;
  return FIXED[pointer] ?? FIXED[pointer.replace(/\/[^/]*$/, "")] ?? null;
}

/** What is wrong, in the measure of the field: the service counts a discount as a share. */
function wording({ pointer, detail }) {
  return pointer === "/discount/rate" ? say("A percentage from 0 to 100, such as 7.5.") : detail;
}

/** Refusals by field, and those that are about none. @returns {{fields: Map<string, string[]>, others: string[]}} */
export function placed(errors, job) {
  const fields = new Map();
  const others = [];
  for (const error of errors) {
    const field = fieldOf(error.pointer ?? "", job);
    if (field) fields.set(field, [...(fields.get(field) ?? []), wording(error)]);
    else others.push(error.detail);
  }
  return { fields, others };
}

/** Tells each at its field and takes back what was told before. @returns {string[]} what has no field here */
export function tellAtFields(form, { fields, others }) {
  const untold = [...others];
  for (const place of form.querySelectorAll(".fault"))
    mark(form, place, fields.get(place.id.replace("fault-", "")) ?? []);
  for (const [field, lines] of fields) if (!form.querySelector(`#fault-${CSS.escape(field)}`)) untold.push(...lines);
  return untold;
}

function mark(form, place, lines) {
  const field = form.querySelector(`#${CSS.escape(place.id.replace("fault-", ""))}`);
  tell(place, lines);
  if (lines.length) field?.closest("details")?.setAttribute("open", "");
  if (!field?.matches("input, select")) return;
  if (lines.length) field.setAttribute("aria-invalid", "true");
  else field.removeAttribute("aria-invalid");
}
