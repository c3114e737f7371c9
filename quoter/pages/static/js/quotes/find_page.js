/** The list follows what is typed, and the arrow keys walk through it. Without this, Enter sends the form. */

import "./next_walk_in.js";

const form = document.querySelector("#search");
const PAUSE = 250;
let waiting = 0;
let asking = new AbortController();

form.addEventListener("input", () => {
  clearTimeout(waiting);
  waiting = setTimeout(follow, PAUSE);
});
form.addEventListener("submit", (event) => {
  event.preventDefault();
  clearTimeout(waiting);
  follow();
});
document.addEventListener("keydown", walk);

async function follow() {
  asking.abort();
  asking = new AbortController();
  const found = document.querySelector("#found");
  found.setAttribute("aria-busy", "true");
  const filled = [...new FormData(form)].filter(([, text]) => text.trim());
  const address = `${form.action}?${new URLSearchParams(filled)}`;
  try {
    const response = await fetch(address, { signal: asking.signal, cache: "no-store" });
    const fresh = new DOMParser().parseFromString(await response.text(), "text/html").querySelector("#found");
    if (!fresh) return location.assign(address); // the session is over: the way leads to signing in
    found.replaceChildren(...fresh.childNodes);
    found.setAttribute("aria-busy", "false");
    history.replaceState(null, "", address);
  } catch (error) {
    if (error.name !== "AbortError") location.assign(address);
  }
}

function walk(event) {
  const rows = [...document.querySelectorAll("#found tbody a")];
  const here = rows.indexOf(document.activeElement);
  const inForm = form.contains(document.activeElement) && document.activeElement.matches("input[type=search]");
  if (event.key === "ArrowDown" && (here >= 0 || inForm)) move(event, rows[here + 1]);
  if (event.key === "ArrowUp" && here >= 0) move(event, rows[here - 1] ?? document.querySelector("#customer"));
}

function move(event, target) {
  if (!target) return;
  event.preventDefault();
  target.focus();
}
