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
window.addEventListener("hashchange", open);
open();

function filter() {
  const shown = sections.filter((section) => {
    const isWanted = matches(section.dataset.words, wanted.value);
    section.hidden = !isWanted;
    return isWanted;
  });
  for (const topic of document.querySelectorAll("section.topic")) {
    topic.hidden = !topic.querySelector("section[data-operation]:not([hidden])");
  }
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

/** Opens what an address leads to: a call, or a document among the others. */
function open() {
  const target = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
  if (!target) return;
  const call = target.closest("section[data-operation]")?.querySelector("details");
  if (call) call.open = true;
  for (let each = target.closest("details"); each; each = each.parentElement.closest("details")) each.open = true;
  target.scrollIntoView();
}
