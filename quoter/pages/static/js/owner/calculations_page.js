/** The forms of the calculations, and their answers with the working. */

import { Api } from "../shared/api.js";
import { CALCULATIONS, CURRENCY_FIELD } from "./calculation_fields.js";
import { element, linesOf, tell } from "../shared/dom.js";

const api = new Api();
const currencies = document.getElementById("main").dataset.currencies.split(" ").filter(Boolean);

function formOf(calculation, number) {
  const told = element("p", { class: "told notice bad", role: "alert", hidden: true });
  const answer = element("div", { class: "answer", role: "status" });
  const heading = element("h2", { id: `calculation-${number}` }, calculation.title);
  const form = element(
    "form",
    { class: "fields", novalidate: true, "aria-labelledby": heading.id, on: { submit: (event) => submit(event, calculation, told, answer) } },
    ...calculation.fields.flatMap((field) => fieldOf(field, number)),
    ...currencyField(number),
    told,
    element("p", { class: "actions" }, element("button", { class: "main" }, "Work it out")),
  );
  return element("section", { class: "calculation" }, heading, element("p", { class: "quiet" }, calculation.about), form, answer);
}

function fieldOf({ name, label, hint, optional }, number) {
  const id = `${name}-${number}`;
  const input = element("input", { id, name, inputmode: "decimal", autocomplete: "off", placeholder: hint, required: !optional });
  return [element("label", { for: id }, label), input];
}

function currencyField(number) {
  const id = `${CURRENCY_FIELD}-${number}`;
  const options = currencies.map((code) => element("option", { value: code }, code));
  return [element("label", { for: id }, "Currency"), element("select", { id, name: CURRENCY_FIELD }, ...options)];
}

async function submit(event, calculation, told, answer) {
  event.preventDefault();
  const form = event.target;
  const missing = [...form.elements].filter((field) => field.required && !field.value.trim());
  for (const field of form.elements) field.removeAttribute("aria-invalid");
  if (missing.length) return refuse(form, told, missing.map(({ name }) => name), ["Fill in every field that may not stay blank."]);
  tell(told);
  try {
    const { data } = await api.send("POST", calculation.path, { json: filled(form) });
    answer.replaceChildren(...answerShown(data, calculation.results));
  } catch (error) {
    const wrong = (error.problem?.errors ?? []).map(({ pointer }) => pointer?.slice(1));
    refuse(form, told, wrong, linesOf(error));
  }
}

function refuse(form, told, names, lines) {
  tell(told, lines);
  const wrong = names.map((name) => form.elements[name]).filter(Boolean);
  for (const field of wrong) field.setAttribute("aria-invalid", "true");
  wrong[0]?.focus();
}

/** What was written, with a decimal point also where a comma was. */
function filled(form) {
  const entries = [...new FormData(form)].map(([name, value]) => [name, value.trim().replace(",", ".")]);
  return Object.fromEntries(entries.filter(([, value]) => value));
}

function answerShown({ result = {}, working = [] }, labels) {
  const known = Object.keys(labels).filter((name) => result[name] !== undefined && result[name] !== null);
  const others = Object.keys(result).filter((name) => !(name in labels) && typeof result[name] !== "object");
  const facts = [...known, ...others].map((name) =>
    element("div", {}, element("dt", {}, labels[name] ?? name.replaceAll("_", " ")), element("dd", {}, `${result[name]}`)),
  );
  const steps = working.map(({ name, formula, value }) => element("li", {}, `${name.replaceAll("_", " ")} = ${formula} = `, element("strong", {}, value)));
  return [element("dl", { class: "results" }, ...facts), element("h3", {}, "Working"), element("ol", { class: "working" }, ...steps)];
}

document.getElementById("calculations").append(...CALCULATIONS.map(formOf));
