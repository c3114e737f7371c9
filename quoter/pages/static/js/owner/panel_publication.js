/** Publication: why, from when, and what it will do. */

import { counted, linesOf, tell } from "../shared/dom.js";
import { shownMoment } from "../shared/moments.js";
import { When } from "./when.js";

export class PanelPublication {
  #section;
  #draft;
  #api;
  #facts;

  /** @param {{newest: number, timezone: string}} facts */
  constructor(section, draft, api, facts) {
    [this.#section, this.#draft, this.#api, this.#facts] = [section, draft, api, facts];
    this.form = section.querySelector("form");
    this.reason = section.querySelector("textarea");
    this.when = new When(section.querySelector(".when"), () => this.show());
    this.button = section.querySelector("button");
    this.form.addEventListener("submit", (event) => this.#submit(event));
    for (const type of ["unsaved", "checked"]) draft.addEventListener(type, () => this.show());
    this.show();
  }

  /** Why it cannot be published just now, or nothing. */
  get #obstacle() {
    const { unsaved, faults } = this.#draft;
    if (unsaved) return `Save first: ${counted(unsaved, "change")} would not be published.`;
    return faults.flaws.length ? `Mend ${counted(faults.flaws.length, "fault")} first.` : "";
  }

  show() {
    const { newest, timezone } = this.#facts;
    const moment = this.when.moment;
    const from = moment ? `from ${shownMoment(moment, timezone)} (${timezone})` : "at once";
    const { warnings } = this.#draft.faults;
    const stands = warnings.length ? `${counted(warnings.length, "warning")} in the check: publish only if meant. ` : "";
    const outlook = `${stands}Makes version ${newest + 1}, which counts ${from}. The draft ends. Quotes that were issued stay as they are.`;
    this.#section.querySelector(".outlook").textContent = this.#obstacle || outlook;
    this.button.disabled = Boolean(this.#obstacle);
  }

  async #submit(event) {
    event.preventDefault();
    const told = this.#section.querySelector(".told");
    const missing = this.reason.value.trim() ? this.when.fault : "Say why the rates change.";
    this.reason.setAttribute("aria-invalid", !this.reason.value.trim());
    tell(told, missing ? [missing] : []);
    if (missing || this.#obstacle) return;
    try {
      const json = { reason: this.reason.value.trim(), counts_from: this.when.text };
      await this.#api.send("POST", `${this.#draft.path}/publication`, { json, match: this.#draft.tag, once: true });
      location.assign(`/owner/books/${encodeURIComponent(this.#draft.code)}/history`);
    } catch (error) {
      tell(told, [...linesOf(error), ...(error.problem?.meanwhile ?? [])]);
    }
  }
}
