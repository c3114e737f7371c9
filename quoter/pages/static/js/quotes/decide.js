/** The form of a decision: it asks for no more than this decision needs. */

import { tell } from "../shared/dom.js";
import { moment } from "../shared/moments.js";
import { say } from "../shared/words.js";

/** @param {(form: HTMLFormElement, json: object) => Promise<void>} record */
export function setUpDecision(record) {
  const form = document.querySelector("#decide");
  if (!form) return;
  form.hidden = false;
  form.addEventListener("change", () => adapt(form));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const missing = missingIn(form);
    if (missing) tellMissing(form, missing);
    else record(form, decisionIn(form));
  });
  adapt(form);
}

function accepts(form) {
  return new FormData(form).get("decision") === "accepted";
}

function adapt(form) {
  const accepting = accepts(form);
  form.querySelector(".more").hidden = !new FormData(form).get("decision");
  for (const part of form.querySelectorAll(".for-accepted")) part.hidden = !accepting || "never" in part.dataset;
  const ways = accepting && form.dataset.extra ? form.dataset.consentWays.split(" ") : null;
  for (const option of form.elements.how.options) option.disabled = ways !== null && !ways.includes(option.value);
  const { how } = form.elements;
  if (how.selectedOptions[0]?.disabled) how.value = [...how.options].find((option) => !option.disabled)?.value ?? "";
}

function missingIn(form) {
  const { name, contact, agreed, at } = form.elements;
  const consents = accepts(form) && form.dataset.extra;
  if (consents && !agreed.checked) return [agreed, say("The customer must agree to the higher price first.")];
  if (!name.value.trim()) return [name, say("Write who decided.")];
  if (consents && form.dataset.number && !contact.value.trim()) {
    return [contact, say("Write the number or address at which the customer agreed.")];
  }
  if (at.value && !momentIn(form)) return [at, say("The clocks skip that time.")];
  return null;
}

function tellMissing(form, [field, line]) {
  tell(form.querySelector(".problem"), [line]);
  field.focus();
}

function momentIn(form) {
  return moment(form.elements.at.value, document.querySelector("main").dataset.timezone);
}

function decisionIn(form) {
  const { decision, name, how, contact, up_to: upTo, note } = Object.fromEntries(new FormData(form));
  const revision = Number(document.querySelector("main").dataset.revision);
  const accepting = decision === "accepted";
  return {
    decision,
    revision,
    name: name.trim(),
    how,
    at: momentIn(form)?.toISOString() ?? null,
    contact: contact.trim(),
    extra: (accepting && form.dataset.extra) || null,
    up_to: accepting ? upTo : "price",
    note,
  };
}
