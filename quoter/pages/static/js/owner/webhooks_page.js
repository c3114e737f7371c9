/** Webhooks: registered, tried, paused, ended; their secrets shown once; what did not arrive sent again. */

import { Api } from "../shared/api.js";
import { asked } from "../shared/dialogs.js";
import { element, linesOf, tell } from "../shared/dom.js";

const api = new Api();
const told = document.getElementById("told");
const secretShown = document.getElementById("secret");
const SOON = 2500; // a trial is sent within a second, and most receivers answer within another
const TOLD = "webhooks told"; // entry of the session's storage: what is said after the page has been loaded anew

/** What a form of events and a note says. */
function wished(form) {
  const fields = new FormData(form);
  return { events: fields.getAll("events"), note: fields.get("note").trim() };
}

/** @returns {Promise<object|null>} the answer, or null after telling what went wrong */
async function sent(method, path, what, place = told) {
  tell(place);
  try {
    return await api.send(method, path, what);
  } catch (error) {
    const seen = error.status === 412 ? ["It has been changed meanwhile. Load the page again."] : [];
    tell(place, [...linesOf(error), ...seen]);
    if (place === told) told.scrollIntoView({ block: "nearest" });
    return null;
  }
}

/** Loads the page anew and says there what was done. */
function again(words) {
  sessionStorage.setItem(TOLD, words);
  location.reload();
}

function sentAgain(number) {
  if (number === 0) return "Nothing was left to be sent again.";
  return number === 1 ? "It is on its way again." : `${number} are on their way again.`;
}

function showSecret(webhook) {
  secretShown.querySelector('[data-shows="address"]').textContent = webhook.address;
  secretShown.querySelector("output").textContent = webhook.secret;
  secretShown.hidden = false;
  secretShown.focus();
  for (const button of document.querySelectorAll("main button")) {
    button.disabled = !secretShown.contains(button); // nothing may load the page anew before it has been kept
  }
}

async function copySecret(event) {
  await navigator.clipboard.writeText(secretShown.querySelector("output").textContent);
  event.target.textContent = "Copied";
}

async function register(event) {
  event.preventDefault();
  const form = event.target;
  const json = { address: form.elements.address.value.trim(), ...wished(form) };
  const answer = await sent("POST", "/v1/webhooks", { json }, form.querySelector(".told"));
  if (answer) showSecret(answer.data);
}

class Hook {
  constructor(item) {
    this.path = `/v1/webhooks/${item.dataset.id}`;
    this.match = item.dataset.tag;
    this.address = item.dataset.address;
    const actions = { try: "tryOut", pause: "pause", rotate: "rotate", end: "end", "all-again": "sendAll" };
    for (const [name, action] of Object.entries(actions)) {
      const button = item.querySelector(`button.${name}`);
      if (!button) continue;
      button.hidden = false;
      button.addEventListener("click", () => this[action](button));
    }
    for (const button of item.querySelectorAll("button.again")) {
      button.hidden = false;
      button.addEventListener("click", () => this.sendAgain(button));
    }
    item.querySelector("form.change").addEventListener("submit", (event) => this.change(event));
  }

  async tryOut(button) {
    button.disabled = true;
    if (await sent("POST", `${this.path}/trial`)) {
      tell(told, ["A trial is on its way."]);
      setTimeout(() => again("A trial was sent. The last attempt says what came of it."), SOON);
    } else button.disabled = false;
  }

  async pause(button) {
    const paused = button.dataset.paused !== "yes";
    if (await this.#changed({ paused })) again(paused ? `${this.address} is paused.` : `${this.address} is told again.`);
  }

  async change(event) {
    event.preventDefault();
    if (await this.#changed(wished(event.target), event.target.querySelector(".told"))) again(`${this.address} is changed.`);
  }

  #changed(json, place) {
    return sent("PATCH", this.path, { json, match: this.match }, place);
  }

  async rotate() {
    const hours = element("input", { id: "overlap", type: "number", min: 0, max: 168, step: 1, value: 24, required: true });
    const content = [
      element("p", {}, "Announcements are signed with both for some hours, so that the receiver can change over. With 0 the old one ends at once."),
      element("label", { for: "overlap" }, "Hours with both"),
      hours,
    ];
    const question = { title: `A new secret for ${this.address}?`, content, yes: "Make a new secret" };
    if (!(await asked(question))) return;
    const json = { overlap_hours: hours.valueAsNumber };
    const answer = await sent("POST", `${this.path}/secret`, { json, match: this.match });
    if (answer) showSecret(answer.data);
  }

  async end() {
    const content = [element("p", {}, "For good: what still waits for it is given up, and its secret is forgotten.")];
    if (!(await asked({ title: `End ${this.address}?`, content, yes: "End it", danger: true }))) return;
    if (await sent("DELETE", this.path, { match: this.match })) again(`${this.address} has ended.`);
  }

  async sendAgain(button) {
    button.disabled = true;
    if (await sent("POST", `/v1/deliveries/${button.dataset.place}/sending`)) again("It is on its way again.");
    else button.disabled = false;
  }

  async sendAll() {
    const answer = await sent("POST", `${this.path}/sending`);
    if (answer) again(sentAgain(answer.data.deliveries));
  }
}

for (const item of document.querySelectorAll("li[data-id]")) new Hook(item);
const form = document.getElementById("register");
form.hidden = false;
form.addEventListener("submit", register);
const copy = secretShown.querySelector(".copy");
copy.hidden = !navigator.clipboard;
copy.addEventListener("click", copySecret);
secretShown.querySelector(".seen").addEventListener("click", () => location.reload());
const words = sessionStorage.getItem(TOLD);
sessionStorage.removeItem(TOLD);
if (words) tell(told, [words]);
