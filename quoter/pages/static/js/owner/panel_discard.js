/** The draft is given up, after a question. */

import { asked } from "../shared/dialogs.js";
import { counted, linesOf, tell } from "../shared/dom.js";

export class PanelDiscard {
  #section;
  #draft;
  #api;

  constructor(section, draft, api) {
    [this.#section, this.#draft, this.#api] = [section, draft, api];
    section.querySelector("button").addEventListener("click", () => this.#ask());
  }

  async #ask() {
    const { unsaved } = this.#draft;
    const more = unsaved ? ` So are ${counted(unsaved, "change")} that were never saved.` : "";
    const content = [`Everything that was changed in this draft is given up.${more}`];
    const isSure = await asked({ title: "Discard the draft?", content, yes: "Discard it", no: "Keep it", danger: true });
    if (!isSure) return;
    try {
      await this.#api.send("DELETE", this.#draft.path, { match: this.#draft.tag });
      this.#draft.dispatchEvent(new CustomEvent("left"));
      location.reload();
    } catch (error) {
      tell(this.#section.querySelector(".told"), [...linesOf(error), ...(error.problem?.meanwhile ?? [])]);
    }
  }
}
