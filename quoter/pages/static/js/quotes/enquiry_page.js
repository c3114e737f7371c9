/** One enquiry: a quote is made of it, or it is put aside. */

import { Api } from "../shared/api.js";
import { tell } from "../shared/dom.js";
import { say } from "../shared/words.js";
import { refreshed, seenVersion } from "./fresh.js";
import "./next_walk_in.js";
import { sent } from "./sending.js";

const api = new Api();
const { id } = document.querySelector("main").dataset;

/** @returns {Promise<any>} the answer; null where it was refused, which is told in the form */
function change(form, path, json) {
  return sent(form, () => api.send("POST", `/v1/enquiries/${id}/${path}`, { json, match: seenVersion() }));
}

async function make(form) {
  const untold = form.querySelector("[name=told]:not(:checked)");
  if (untold) {
    tell(form.querySelector(".problem"), [say("Tick what you have told the customer.")]);
    untold.focus();
    return;
  }
  const told = new FormData(form).getAll("told");
  const answer = await change(form, "quote", { told });
  if (answer) location.assign(`/desk/quotes/${encodeURIComponent(answer.data.id)}`);
}

async function putAside(form) {
  const because = new FormData(form).get("because");
  if (because === "") {
    tell(form.querySelector(".problem"), [say("Please choose why no quote is made of it.")]);
    form.elements.because.focus();
    return;
  }
  if (!(await change(form, "closing", { because }))) return;
  await refreshed();
  tell(document.querySelector("#told"), [because ? say("The enquiry is put aside.") : say("The enquiry waits again.")]);
}

function setUp() {
  for (const [selector, act] of [["#make", make], ["#aside", putAside]]) {
    const form = document.querySelector(selector);
    if (!form) continue;
    form.hidden = false;
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      act(form);
    });
  }
}

document.addEventListener("refreshed", setUp);
addEventListener("pageshow", ({ persisted }) => persisted && location.reload());
setUp();
