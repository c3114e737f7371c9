/** The history: what each version changed, and using an earlier one again. */

import { Api } from "../shared/api.js";
import { differencesShown } from "./differences.js";
import { element, linesOf, tell } from "../shared/dom.js";
import { When } from "./when.js";

const main = document.getElementById("main");
const path = `/v1/books/${encodeURIComponent(main.dataset.code)}`;
const api = new Api();

async function showChanges(details) {
  if (!details.open || details.dataset.isLoaded) return;
  const place = details.querySelector(".loaded");
  try {
    const { data } = await api.get(`${path}/comparison?old=${details.dataset.old}&new=${details.dataset.new}`);
    place.replaceChildren(...differencesShown(data));
    place.classList.remove("quiet");
    details.dataset.isLoaded = "yes";
  } catch (error) {
    place.replaceChildren(element("p", { class: "notice bad" }, ...linesOf(error)));
  }
}

function prepareReturn(dialog) {
  const when = new When(dialog.querySelector(".when"));
  const reason = dialog.querySelector("textarea");
  const told = dialog.querySelector(".told");
  let version = 0;

  async function submit(event) {
    if (event.submitter?.value !== "yes") return;
    event.preventDefault();
    const missing = reason.value.trim() ? when.fault : "Say why.";
    tell(told, missing ? [missing] : []);
    if (missing) return;
    try {
      const json = { version, reason: reason.value.trim(), counts_from: when.text };
      await api.send("POST", `${path}/returns`, { json, once: true });
      location.reload();
    } catch (error) {
      tell(told, linesOf(error));
    }
  }

  dialog.querySelector("form").addEventListener("submit", submit);
  return (wanted) => {
    version = wanted;
    dialog.querySelector('[data-shows="version"]').textContent = wanted;
    tell(told);
    dialog.showModal();
  };
}

const ask = prepareReturn(document.getElementById("again"));
for (const button of document.querySelectorAll("button.again")) {
  button.hidden = false;
  button.addEventListener("click", () => ask(Number(button.dataset.version)));
}
for (const details of document.querySelectorAll("details.changes")) {
  details.addEventListener("toggle", () => showChanges(details));
}
