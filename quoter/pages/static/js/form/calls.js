/** Calls of the API from a page of another site: with the form's key, without cookies, every refusal as one error. */

const SECONDS_TO_ANSWER = 20;

export class Refused extends Error {
  /** @param {number} status 0 where nothing was answered @param {object} problem RFC 9457 @param {number|null} seconds to wait */
  constructor(status, problem, seconds) {
    super(problem.detail ?? problem.title ?? "");
    [this.status, this.problem, this.seconds] = [status, problem, seconds];
  }

  /** Whether this is the type of the problem, or the reason of one of its errors. */
  is(code) {
    return this.problem.type === `/problems/${code}` || this.errors.some(({ reason }) => reason === code);
  }

  get errors() {
    return this.problem.errors ?? [];
  }
}

export class Calls {
  #hasWorked = false;

  /** @param {{service: string, key: string, book: string|null, languages: string}} settings */
  constructor(settings) {
    this.settings = settings;
  }

  /** Devices that a few words mean. */
  async devices(words, most) {
    return (await this.#ask("GET", "/v1/devices", { words, limit: most })).devices;
  }

  /** What is offered for a device. */
  device(code) {
    return this.#ask("GET", `/v1/devices/${encodeURIComponent(code)}`);
  }

  price(job) {
    return this.#ask("POST", "/v1/prices", {}, job);
  }

  /** A token for one filling-in. */
  async begin() {
    return (await this.#ask("POST", "/v1/enquiry-forms", null, {})).token;
  }

  /** @param {string} once the key by which a repetition is known (Idempotency-Key) */
  enquire(body, once) {
    return this.#ask("POST", "/v1/enquiries", {}, body, { "Idempotency-Key": once });
  }

  async #ask(method, path, query = {}, json = null, more = {}) {
    const { service, key, book, languages } = this.settings;
    const address = new URL(path.slice(1), service);
    const parameters = query && { ...query, ...(book ? { book } : {}) };
    for (const [name, value] of Object.entries(parameters ?? {})) address.searchParams.set(name, value);
    const headers = { Authorization: `Bearer ${key}`, "Accept-Language": languages, ...more };
    if (json) headers["Content-Type"] = "application/json";
    const response = await this.#answered(address, { method, headers, body: json && JSON.stringify(json) });
    const data = await response.json().catch(() => ({}));
    if (!response.ok) throw new Refused(response.status, data, secondsOf(response.headers.get("Retry-After")));
    return data;
  }

  /** Browsers keep answers from sites that a key is not for: they say no more than that nothing came. */
  async #answered(address, what) {
    const response = await quickly(address, what);
    this.#hasWorked ||= response !== null;
    if (response) return response;
    const isReachable = !this.#hasWorked && (await quickly(new URL("form/words/en.json", this.settings.service)));
    throw isReachable ? new Refused(403, { type: "/problems/origin-not-allowed" }, null) : new Refused(0, {}, null);
  }
}

/** The answer, or null where none comes in time. */
async function quickly(address, what = {}) {
  const patience = new AbortController();
  const timer = setTimeout(() => patience.abort(), SECONDS_TO_ANSWER * 1000);
  try {
    return await fetch(address, { ...what, credentials: "omit", cache: "no-store", signal: patience.signal });
  } catch {
    return null;
  } finally {
    clearTimeout(timer);
  }
}

/** A Retry-After (RFC 9110, section 10.2.3) in seconds; null where it says nothing. */
export function secondsOf(header, now = Date.now()) {
  if (!header) return null;
  if (/^\d+$/.test(header)) return Number(header);
  const moment = Date.parse(header);
  return Number.isNaN(moment) ? null : Math.max(0, Math.ceil((moment - now) / 1000));
}
