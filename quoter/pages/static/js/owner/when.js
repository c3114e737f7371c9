/** From which moment something counts: at once, or from a time on the shop's clocks, shown as UTC too. */

import { moment } from "../shared/moments.js";

export class When {
  #zone;
  #field;
  #told;

  /** @param {HTMLElement} fieldset */
  constructor(fieldset, changed = () => {}) {
    this.#zone = fieldset.dataset.timezone;
    this.#field = fieldset.querySelector("input[type=datetime-local]");
    this.#told = fieldset.querySelector(".utc");
    this.later = fieldset.querySelector("input[value=later]");
    fieldset.addEventListener("input", () => {
      fieldset.querySelector(".moment").hidden = !this.later.checked;
      this.#tell();
      changed();
    });
  }

  /** @returns {Date|null} null for at once, and for a time that does not exist */
  get moment() {
    return this.later.checked ? moment(this.#field.value, this.#zone) : null;
  }

  /** What is wrong with it, or nothing. */
  get fault() {
    if (!this.later.checked) return "";
    if (!this.#field.value) return "Give the date and the time from which it counts.";
    return this.moment ? "" : "The clocks skip this time on that day; choose another.";
  }

  /** As the API takes it. */
  get text() {
    return this.moment?.toISOString() ?? null;
  }

  #tell() {
    const isPast = this.moment && this.moment < new Date();
    const utc = this.moment ? `In UTC: ${this.moment.toISOString().slice(0, 16).replace("T", " ")}` : "";
    this.#told.textContent = [this.#field.value && this.fault, utc, isPast ? "This is over already." : ""].filter(Boolean).join(" ");
  }
}
