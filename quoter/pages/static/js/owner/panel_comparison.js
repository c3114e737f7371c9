/** What the draft changes against any version. */

import { differencesShown } from "./differences.js";
import { element, linesOf } from "../shared/dom.js";

export class PanelComparison {
  #section;
  #draft;
  #api;

  constructor(section, draft, api) {
    [this.#section, this.#draft, this.#api] = [section, draft, api];
    this.against = section.querySelector("select");
    this.against.addEventListener("change", () => this.show());
    section.addEventListener("toggle", () => this.show());
  }

  /** If it is open. */
  async show() {
    if (!this.#section.open) return;
    const place = this.#section.querySelector(".loaded");
    try {
      const { data } = await this.#api.get(`${this.#draft.path}/comparison?version=${this.against.value}`);
      const note = this.#draft.unsaved ? [element("p", { class: "quiet" }, "Without what is not saved.")] : [];
      place.replaceChildren(...note, ...differencesShown(data));
    } catch (error) {
      place.replaceChildren(element("p", { class: "notice bad" }, ...linesOf(error)));
    }
  }
}
