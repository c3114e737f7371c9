/** Spreadsheets: a file is looked at first, and brought in once its differences and faults have been seen. */

import { asked } from "../shared/dialogs.js";
import { differencesShown } from "./differences.js";
import { counted, element, linesOf, tell } from "../shared/dom.js";
import { sheetCell } from "./faults.js";

const TYPES = {
  xlsx: "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
  zip: "application/zip",
};
const MOST_FLAWS = 200;

export class PanelFiles {
  #section;
  #draft;
  #api;
  #columns;
  #done;

  /** @param {Object<string, string[]>} columns by table @param {() => Promise<void>} done after a file was brought in */
  constructor(section, draft, api, columns, done) {
    [this.#section, this.#draft, this.#api, this.#columns, this.#done] = [section, draft, api, columns, done];
    section.querySelector("form").addEventListener("submit", (event) => this.#submit(event));
  }

  #tell(lines) {
    tell(this.#section.querySelector(".told"), lines);
  }

  async #submit(event) {
    event.preventDefault();
    const field = this.#section.querySelector("input[type=file]");
    const file = field.files[0];
    const type = TYPES[file?.name.split(".").at(-1).toLowerCase()];
    if (!type) return this.#tell(["Choose a file whose name ends in .xlsx or .zip."]);
    if (this.#draft.unsaved) return this.#tell(["Save or undo what is not saved first: the file takes the place of everything."]);
    this.#tell([]);
    try {
      await this.#lookAndAsk(file, type);
      field.value = "";
    } catch (error) {
      this.#tell([...linesOf(error), ...(error.problem?.meanwhile ?? [])]);
    }
  }

  async #lookAndAsk(file, type) {
    const { data } = await this.#put(file, type, "yes");
    const canBring = data.differences.length > 0;
    const content = [this.#flawsShown(data.flaws), ...differencesShown(data)].filter(Boolean);
    const scroll = element("div", { class: "import scroll", tabindex: "0", role: "region", "aria-label": "What it would change" }, ...content);
    const yes = canBring ? "Bring in" : "";
    const isSure = await asked({ title: `What ${file.name} would change`, content: [scroll], yes, no: canBring ? "Leave it" : "Close" });
    if (!isSure) return;
    const brought = await this.#put(file, type, "no");
    if (!brought.data.done) return this.#tell(["The file could not be read; nothing was changed."]);
    await this.#done();
  }

  #put(file, type, isDry) {
    return this.#api.send("PUT", `${this.#draft.path}/content?dry_run=${isDry}`, { file, type, match: this.#draft.tag });
  }

  #flawsShown(flaws) {
    if (!flaws.length) return element("p", {}, "The file has no faults.");
    const items = flaws.slice(0, MOST_FLAWS).map((flaw) => this.#flawShown(flaw));
    const rest = flaws.length - items.length;
    const more = rest > 0 ? element("p", { class: "quiet" }, `and ${rest} more`) : null;
    return element("section", {}, element("h3", {}, counted(flaws.length, "fault")), element("ul", { class: "flaws" }, ...items), more);
  }

  #flawShown(flaw) {
    const cell = sheetCell(flaw, this.#columns[flaw.table] ?? []);
    const where = cell || [flaw.table, flaw.row ? `row ${flaw.row}` : "", flaw.column].filter(Boolean).join(" · ");
    const value = flaw.value ? [element("q", {}, flaw.value), ": "] : [];
    const suggestion = flaw.suggestion ? element("span", { class: "suggestion" }, flaw.suggestion) : null;
    const name = element("strong", {}, where);
    return element("li", { class: "mark fault" }, name, element("span", { class: "said" }, ...value, flaw.message), suggestion);
  }
}
