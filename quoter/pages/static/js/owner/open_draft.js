/** Opens a draft from a version. */

import { Api } from "../shared/api.js";
import { linesOf, tell } from "../shared/dom.js";

const form = document.getElementById("open");
const { code } = document.getElementById("main").dataset;
const api = new Api();

async function open(event) {
  event.preventDefault();
  try {
    const json = { version: Number(form.querySelector("select").value) };
    await api.send("POST", `/v1/books/${encodeURIComponent(code)}/draft`, { json, once: true });
    location.reload();
  } catch (error) {
    if (error.status === 409) location.reload();
    else tell(form.querySelector(".told"), linesOf(error));
  }
}

form.addEventListener("submit", open);
form.hidden = false;
