/** Beside the table: what the column or line of the cell with the focus is for, its whole text, and what is wrong with it. */

import { element } from "../shared/dom.js";
import { markText, marksOf } from "./marks.js";

export class CellNote {
  #place;
  #grid;
  #draft;

  constructor(place, grid, draft) {
    [this.#place, this.#grid, this.#draft] = [place, grid, draft];
    grid.addEventListener("moved", () => this.show());
    draft.addEventListener("checked", () => this.show());
  }

  show() {
    const { sheet, activeRow: row, activeColumn: column } = this.#grid;
    if (!row) return this.#place.replaceChildren();
    const marks = marksOf(this.#draft, sheet, row, column);
    this.#place.replaceChildren(
      element("p", { class: "where" }, element("strong", {}, sheet.isDocument ? row.cells.key : column.name), ` ${explained(column, sheet.helpOf(row, column))}`),
      element("p", { class: "text" }, row.cells[column.name] || element("span", { class: "quiet" }, "blank")),
      ...marks.map((mark) => this.#shownMark(mark, row, column)),
    );
  }

  #shownMark(mark, row, column) {
    const saved = this.#grid.sheet.savedRow(row.id)?.cells[column.name];
    const before = mark.kind === "changed" && saved !== undefined ? ` Saved is “${saved}”.` : "";
    const button = mark.kind === "collision" ? this.#takeTheirs(row, column) : null;
    return element("p", { class: `mark ${mark.kind}` }, markText(mark) + before, button ? " " : "", button);
  }

  /** Their text has been the saved one since they wrote it. */
  #takeTheirs(row, column) {
    const take = () => {
      const { sheet, active } = this.#grid;
      this.#draft.resolve(sheet.name, row.id, column.name);
      this.#grid.write(active, [[sheet.savedRow(row.id).cells[column.name] ?? ""]]);
      this.#grid.move(active);
    };
    return element("button", { type: "button", class: "small", on: { click: take } }, "Take theirs");
  }
}

function explained({ required, refers }, help) {
  const parts = [help, required ? "required" : "", refers ? `codes of ${refers}` : ""].filter(Boolean);
  return parts.join("; ");
}
