/** One quote: its contact, its link and what is decided about it. */

import { Api } from "../shared/api.js";
import { tell } from "../shared/dom.js";
import { say } from "../shared/words.js";
import { setUpDecision } from "./decide.js";
import { refreshed, seenVersion } from "./fresh.js";
import { setUpLink } from "./link.js";
import "./next_walk_in.js";
import { sent } from "./sending.js";

const api = new Api();
const { id } = document.querySelector("main").dataset;
const told = document.querySelector("#told");

/** Changes the quote as it was seen, and shows it as it is then. */
async function change(form, method, path, json, done) {
  const send = () => api.send(method, `/v1/quotes/${id}/${path}`, { json, match: seenVersion(), once: method === "POST" });
  if ((await sent(form, send)) === null) return;
  await refreshed();
  tell(told, [done]);
}

const contact = document.querySelector("#contact");
contact?.addEventListener("submit", (event) => {
  event.preventDefault();
  change(contact, "PUT", "contact", Object.fromEntries(new FormData(contact)), say("The contact is saved."));
});

/** Fields that nobody has touched follow what another desk has made of them. */
function follow({ detail: page }) {
  for (const field of contact?.querySelectorAll("input") ?? []) {
    const fresh = page.getElementById(field.id);
    if (!fresh) continue;
    if (field.value === field.defaultValue) field.value = fresh.defaultValue;
    field.defaultValue = fresh.defaultValue;
  }
}

function setUp() {
  setUpDecision((form, json) => change(form, "POST", "decisions", json, say("The decision is recorded.")));
  setUpLink(api, id);
}

document.addEventListener("refreshed", setUp);
document.addEventListener("refreshed", follow);
setUp();
