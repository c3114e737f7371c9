/** Calls of the API as the page's session: with its token, and every refusal as one kind of error. */

import { meaning } from "./meanings.js";
import { say } from "./words.js";

export class Refusal extends Error {
  /** @param {number} status 0 where nothing was answered @param {object} problem a problem document (RFC 9457) */
  constructor(status, problem) {
    super(problem.detail ?? problem.title ?? "");
    this.status = status;
    this.problem = problem;
  }

  /** What to tell a person: the detail, then each single reason that says more. */
  get lines() {
    const errors = (this.problem.errors ?? []).map((error) => meaning(error) + possible(error.allowed));
    const single = errors.length === 1 ? this.problem.errors[0] : null;
    return single?.detail === this.message ? errors : [this.message, ...errors.filter((line) => line !== this.message)];
  }
}

function possible(allowed) {
  return allowed?.length ? ` (${allowed.slice(0, 12).join(", ")}${allowed.length > 12 ? " …" : ""})` : "";
}


/** Answers are in the page's language, which may be another than the browser's. */
const LANGUAGE = document.documentElement.lang || "en";

export class Api {
  #token = document.querySelector('meta[name="csrf"]')?.content ?? "";

  get(path) {
    return this.send("GET", path);
  }

  /**
   * @param {{json?: object, file?: File, type?: string, match?: string}} [what]
   * @returns {Promise<{data: any, tag: string|null, location: string|null}>}
   */
  async send(method, path, what = {}) {
    let response = await this.#ask(method, path, what);
    if (response.status === 403 && (await isForged(response)) && (await this.#renewToken())) {
      response = await this.#ask(method, path, what);
    }
    if (!response.ok) throw await refusal(response);
    const isJson = response.headers.get("Content-Type")?.includes("json");
    const data = isJson ? await response.json() : null;
    return { data, tag: response.headers.get("ETag"), location: response.headers.get("Location") };
  }

  async #ask(method, path, { json, file, type, match }) {
    const headers = new Headers({ Accept: "application/json", "Accept-Language": LANGUAGE, "X-CSRF-Token": this.#token });
    if (match) headers.set("If-Match", match);
    if (json || file) headers.set("Content-Type", json ? "application/json" : type);
    const body = json ? JSON.stringify(json) : file;
    try {
      return await fetch(path, { method, headers, body, cache: "no-store" });
    } catch {
      throw new Refusal(0, { detail: say("The service did not answer. Look whether it was done before you try again.") });
    }
  }

  /** A page that has been open while another renewed the session has an old token. */
  async #renewToken() {
    const response = await this.#ask("GET", "/session", {});
    if (response.ok) this.#token = (await response.json()).csrf;
    return response.ok;
  }
}

async function isForged(response) {
  return (await problemOf(response.clone())).type === "/problems/forged";
}

async function refusal(response) {
  const problem = await problemOf(response);
  return new Refusal(response.status, response.status === 401 ? { ...problem, detail: say("The session is over. Sign in again in another tab, come back here and try again: nothing here is lost.") } : problem);
}

async function problemOf(response) {
  try {
    return await response.json();
  } catch {
    return { detail: `The service answered ${response.status} ${response.statusText}.` };
  }
}
