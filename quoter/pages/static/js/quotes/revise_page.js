/** The next revision: what it would be is shown as it is put together, and nothing is kept before it is issued. */

import { Api } from "../shared/api.js";
import { sound } from "../shared/alarm.js";
import { linesOf, tell } from "../shared/dom.js";
import { say } from "../shared/words.js";
import { beside, summary } from "./beside.js";
import { seenVersion } from "./fresh.js";
import { changesIn, fill, jobIn, onTopOf } from "./revision_job.js";
import { sent } from "./sending.js";
import { askNotices, toldNotices, untoldNotice } from "./told_notices.js";

const PAUSE = 300;
const STOPPED = "stopped-by-finding";
const UNPRICED = ["reason", "told"];

const api = new Api();
const form = document.querySelector("#revise");
const main = document.querySelector("main");
const panel = document.querySelector(".preview");
const path = `/v1/quotes/${main.dataset.id}/revisions`;
let base = JSON.parse(form.dataset.job);
let waiting = 0;
let latest = 0;

function revision() {
  const fields = new FormData(form);
  const changes = changesIn(jobIn(form, base), base);
  return { reason: fields.get("reason").trim(), job: changes, book: fields.get("book"), told: toldNotices() };
}

async function preview() {
  const mine = ++latest;
  panel.setAttribute("aria-busy", "true");
  const place = panel.querySelector(".problem");
  try {
    const { data } = await api.send("POST", `${path}/preview`, { json: revision() });
    if (mine !== latest) return;
    tell(place);
    show(beside(data), summary(data));
    askNotices(data.document);
  } catch (error) {
    if (mine === latest) refuse(error);
  } finally {
    if (mine === latest) panel.setAttribute("aria-busy", "false");
  }
}

/** @param {Node[]} figures @param {string} spoken @param {{title: string, caution: string|null}[]} [stops] */
function show(figures, spoken, stops = []) {
  document.querySelector("#preview").replaceChildren(...figures);
  document.querySelector("#summary").textContent = spoken;
  sound(document.querySelector("#alarm"), stops);
  form.querySelector(".actions button").disabled = stops.length > 0;
  if (stops.length) document.querySelector("#alarm").scrollIntoView({ block: "nearest" });
}

/** Says why there is no price; figures of another job must not stand beside it. */
function refuse(error) {
  const lines = linesOf(error);
  const errors = error.problem?.errors ?? [];
  const others = errors.filter(({ reason }) => reason !== STOPPED);
  const isStopped = others.length < errors.length;
  show([], "", isStopped ? stopsTicked() : []);
  tell(panel.querySelector(".problem"), isStopped ? others.map(({ detail }) => detail) : lines);
}

/** What is ticked that stops the job, with what to do now. */
function stopsTicked() {
  return [...form.querySelectorAll(".finding.stopping:has(:checked)")].map((row) => ({
    title: row.querySelector(".title").textContent,
    caution: row.querySelector(".caution")?.textContent ?? null,
  }));
}

/** Whether something is ticked or typed that is not in the quote yet; a browser may have brought it back. */
function isChanged() {
  return Object.keys(changesIn(jobIn(form, base), base)).length > 0;
}

function missingNow() {
  const { reason } = form.elements;
  if (!reason.value.trim()) return { field: reason, line: say("Write why the quote is revised.") };
  const untold = untoldNotice();
  return untold && { field: untold, line: say("Tell the customer first, and tick it.") };
}

/** What the rates of a version offer, with what was chosen before. */
function offer(page, job) {
  document.querySelector("#offered").replaceWith(document.adoptNode(page.querySelector("#offered")));
  fill(form, job);
}

async function changeBook() {
  const job = { ...base, ...jobIn(form, base) };
  const address = `${location.pathname}?book=${new FormData(form).get("book")}`;
  const response = await fetch(address, { cache: "no-store" });
  const page = new DOMParser().parseFromString(await response.text(), "text/html");
  if (!page.querySelector("#offered")) return location.reload(); // the session is over
  offer(page, job);
  await preview();
}

form.addEventListener("input", (event) => {
  if (UNPRICED.includes(event.target.name)) return;
  clearTimeout(waiting);
  if (event.target.name === "book") changeBook();
  else waiting = setTimeout(preview, PAUSE);
});
form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const missing = missingNow();
  if (missing) {
    tell(form.querySelector(".problem[role=alert]"), [missing.line]);
    missing.field.focus();
    return;
  }
  const done = await sent(form, () => api.send("POST", path, { json: revision(), match: seenVersion(), once: true }));
  if (done) location.assign(`/desk/quotes/${main.dataset.id}`);
  else preview();
});
document.addEventListener("refreshed", ({ detail: page }) => {
  const newer = JSON.parse(page.querySelector("#revise").dataset.job);
  const changes = changesIn(jobIn(form, base), base);
  const job = onTopOf(newer, base, changes);
  base = newer;
  offer(page, job);
  preview();
});
form.hidden = false;
if (isChanged()) preview();
