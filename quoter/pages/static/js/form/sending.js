/** One filling-in of the form is one enquiry, however often it is sent. */

const MOST_WAITS = 5;
const SECONDS_TO_WAIT = 2;

/** Reasons for which the same is sent again with another token at once. */
const RENEWED = ["form-expired", "form-unknown"];
/** Reasons after which a token is of no more use. */
const USED_UP = [...RENEWED, "form-used"];

export class Sending {
  #token = null;
  #once = { body: "", key: "" };
  #running = null;

  /** @param {import("./calls.js").Calls} calls */
  constructor(calls) {
    this.calls = calls;
  }

  /** Asks for a token early, so that it counts by the time that somebody has written. */
  prepare() {
    this.#token ??= this.calls.begin();
    this.#token.catch(() => (this.#token = null));
    return this.#token;
  }

  /**
   * Sends what `bodyOf` makes of a token; a second click waits for the first.
   * @param {(token: string) => object} bodyOf @param {() => void} waits is told when the service wants to be asked later
   */
  send(bodyOf, waits) {
    this.#running ??= this.#sent(bodyOf, waits).finally(() => (this.#running = null));
    return this.#running;
  }

  async #sent(bodyOf, waits) {
    for (let turn = 0; ; turn += 1) {
      const body = bodyOf(await this.prepare());
      try {
        return await this.calls.enquire(body, this.#keyFor(body));
      } catch (refused) {
        if (turn >= MOST_WAITS || !(await this.#mayTryAgain(refused, waits))) throw refused;
      }
    }
  }

  /** What sets itself right: too slow, so with another token; too quick, so a moment later. */
  async #mayTryAgain(refused, waits) {
    if (USED_UP.some((code) => refused.is(code))) this.#token = null;
    if (RENEWED.some((code) => refused.is(code))) return true;
    if (!refused.is("too-early")) return false;
    waits();
    await new Promise((done) => setTimeout(done, (refused.seconds ?? SECONDS_TO_WAIT) * 1000));
    return true;
  }

  /** The same for the same body, so that what is sent again after a dropped line is known; another for another. */
  #keyFor(body) {
    const text = JSON.stringify(body);
    if (text !== this.#once.body) this.#once = { body: text, key: randomKey() };
    return this.#once.key;
  }
}

/** 128 random bits; getRandomValues is there on pages without HTTPS as well. */
export function randomKey() {
  return [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}
