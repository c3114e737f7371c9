/** Calls of the API as the page's session: with its token, and every refusal as one kind of error. */

import { answered, nameFor } from "./attempts.js";
import { meaning } from "./meanings.js";
import { say } from "./words.js";

const WRITTEN_WRONGLY = "/problems/invalid-value";

export class Refusal extends Error {
  /** @param {number} status 0 where nothing was answered @param {object} problem a problem document (RFC 9457) */
  constructor(status, problem) {
    super(problem.detail ?? problem.title ?? "");
    this.status = status;
    this.problem = problem;
  }

  /** What to tell a person: the detail, then each single reason that says more. That a body is not right is for
   * programs, where its reasons are there. */
  get lines() {
    const errors = (this.problem.errors ?? []).map((error) => meaning(error) + possible(error.allowed));
    if (this.problem.type === WRITTEN_WRONGLY && errors.length) return [...new Set(errors)];
    const single = errors.length === 1 ? this.problem.errors[0] : null;
    return single?.detail === this.message ? errors : [this.message, ...errors.filter((line) => line !== this.message)];
  }
}

function possible(allowed) {
  return allowed?.length ? ` (${allowed.slice(0, 12).join(", ")}${allowed.length > 12 ? " …" : ""})` : "";
}


/** From here on nobody knows whether it was done: a proxy may have lost the answer. */
const SERVER_ERROR = 500;

/** Answers are in the page's language, which may be another than the browser's. */
const LANGUAGE = document.documentElement.lang || "en";

export class Api {
  #token = document.querySelector('meta[name="csrf"]')?.content ?? "";

  get(path) {
    return this.send("GET", path);
  }

  /**
   * @param {{json?: object, file?: File, type?: string, match?: string, once?: boolean}} [what]
   *   once: it makes something; sent again after a dropped line, it is not made twice
   * @returns {Promise<{data: any, tag: string|null, location: string|null}>}
   */
  async send(method, path, what = {}) {
    const content = JSON.stringify([method, path, what.match, what.json]);
    const named = what.once ? { ...what, name: nameFor(content) } : what;
    const { response, data } = await this.#answer(method, path, named);
    if (what.once && response.status < SERVER_ERROR) answered(content);
    if (!response.ok) throw await refusal(response);
    return { data, tag: response.headers.get("ETag"), location: response.headers.get("Location") };
  }

  /** The whole answer: a line may drop in the middle of it. */
  async #answer(method, path, what) {
    let response = await this.#ask(method, path, what);
    if (response.status === 403 && (await isForged(response)) && (await this.#renewToken())) {
      response = await this.#ask(method, path, what);
    }
    const isJson = response.ok && response.headers.get("Content-Type")?.includes("json");
    try {
      return { response, data: isJson ? await response.json() : null };
    } catch {
      throw unanswered(what);
    }
  }

  async #ask(method, path, what) {
    const { json, file, type, match, name } = what;
    const headers = new Headers({ Accept: "application/json", "Accept-Language": LANGUAGE, "X-CSRF-Token": this.#token });
    if (match) headers.set("If-Match", match);
    if (name) headers.set("Idempotency-Key", `"${name}"`);
    if (json || file) headers.set("Content-Type", json ? "application/json" : type);
    const body = json ? JSON.stringify(json) : file;
    try {
      return await fetch(path, { method, headers, body, cache: "no-store" });
    } catch {
      throw unanswered(what);
    }
  }

  /** A page that has been open while another renewed the session has an old token. */
  async #renewToken() {
    const response = await this.#ask("GET", "/session", {});
    if (response.ok) this.#token = (await response.json()).csrf;
    return response.ok;
  }
}

function unanswered({ once }) {
  const detail = once
    ? say("The service did not answer. Try again: it is not done twice.")
    : say("The service did not answer. Look whether it was done before you try again.");
  return new Refusal(0, { detail });
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
