/** The page on the API, made to try calls out: a key, a filter, and a form in each operation, made when it is opened. */

import { operationsOf } from "./description.js";
import { element } from "./elements.js";
import { matches } from "./filter.js";
import { panel } from "./panel.js";

const sections = [...document.querySelectorAll("section[data-operation]")];

/** It stays in this page: it is never stored, and goes when the page is left. */
const key = element("input", { id: "key", type: "password", autocomplete: "off", spellcheck: "false", size: "30" });
const wanted = element("input", { id: "wanted", type: "search", autocomplete: "off", spellcheck: "false" });
const count = element("span", { role: "status", class: "quiet" });

document.getElementById("tools").append(
  element("p", { class: "field" }, element("label", { for: "wanted" }, "Find a call"), wanted, count),
  element(
    "p",
    { class: "field" },
    element("label", { for: "key" }, "Key"),
    key,
    element("span", { class: "quiet" }, "Kept in this page only, until you leave it."),
  ),
);
wanted.addEventListener("input", filter);
filter();
void offerForms();

function filter() {
  const shown = sections.filter((section) => {
    const isWanted = matches(section.dataset.words, wanted.value);
    section.hidden = !isWanted;
    document.querySelector(`nav a[href="#${section.dataset.operation}"]`).closest("li").hidden = !isWanted;
    return isWanted;
  });
  count.textContent = `${shown.length} of ${sections.length} calls`;
}

async function offerForms() {
  const response = await fetch("/openapi.json", { credentials: "omit" });
  const operations = operationsOf(await response.json());
  for (const section of sections) {
    const operation = operations.get(section.dataset.operation);
    const details = element("details", { class: "trying" }, element("summary", {}, "Try it"));
    details.addEventListener("toggle", () => details.append(panel(operation, () => key.value.trim())), { once: true });
    section.querySelector("p").after(details);
  }
}
