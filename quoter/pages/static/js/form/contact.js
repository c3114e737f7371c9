/** How the visitor is reached, what they write in their own words, and their consent, which nobody gives for them. */

import { element } from "../shared/dom.js";
import { fault, textField, tickBox } from "./fields.js";

const MOST_WORDS = 2000;

/** @param {import("../shared/sentences.js").Words} words @param {number|null} days after which it is erased; null: unknown */
export function contactFields(words, days) {
  const { say } = words;
  const optional = ["(", say("optional"), ")"].join("");
  const kept = erasureSentence(words, days);
  const consent = say("I agree that the shop keeps what I have written here and contacts me about this repair.");
  return [
    element(
      "fieldset",
      {},
      element("legend", {}, say("How can we reach you?")),
      textField("name", say("Your name"), { hint: optional, autocomplete: "name", maxlength: 100 }),
      element("p", { class: "hint", id: "either" }, say("A phone number or an email address will do.")),
      textField("phone", say("Phone"), { type: "tel", autocomplete: "tel", maxlength: 50, "aria-describedby": "either fault-phone" }),
      textField("email", say("Email"), { type: "email", autocomplete: "email", maxlength: 254, "aria-describedby": "either fault-email" }),
      textField("noticed", say("In your own words"), { tag: "textarea", rows: 3, hint: optional, maxlength: MOST_WORDS }),
    ),
    trap(),
    tickBox("agreed", consent, kept && ` ${kept}`),
    fault("agreed"),
  ];
}

/** When what is written here is erased; with 0 days nothing erases it by itself. @param {number|null} days null: unknown */
export function erasureSentence({ say, plural }, days) {
  if (days === null) return "";
  if (!days) return say("It is kept until you ask the shop to erase it.");
  return plural(
    "If no quote is agreed to, it is erased once nothing has happened for {n} day; otherwise the shop keeps it.",
    "If no quote is agreed to, it is erased once nothing has happened for {n} days; otherwise the shop keeps it.",
    days,
  );
}

/** A field that no person sees or reaches: what fills it in is a program. */
function trap() {
  const field = element("input", { id: "homepage", name: "homepage", tabindex: "-1", autocomplete: "off" });
  return element("div", { class: "trap", "aria-hidden": "true" }, element("label", { for: "homepage" }, "Homepage"), field);
}

/** What stands in the fields. */
export function writtenIn(form) {
  const texts = ["name", "phone", "email", "noticed", "homepage"].map((id) => [id, form.querySelector(`#${id}`).value]);
  return { ...Object.fromEntries(texts), agreed: form.querySelector("#agreed").checked };
}
