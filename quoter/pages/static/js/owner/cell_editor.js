/** A field in the place of a cell while it is written. */

import { element } from "../shared/dom.js";

const LONGEST = 2000;

export class CellEditor {
  #grid;
  #codes;
  #field = null;

  /** @param {(table: string) => Promise<string[]>} codes what a column that refers to a table may say */
  constructor(grid, codes) {
    this.#grid = grid;
    this.#codes = codes;
  }

  get isOpen() {
    return this.#field !== null;
  }

  /** Opens the cell with the focus; `typed` takes the place of its text. */
  open(typed = null) {
    const { sheet, active, view, activeRow, activeColumn } = this.#grid;
    const cell = view.cell(active);
    if (!cell || this.isOpen) return;
    this.isTyping = typed !== null;
    this.#field = this.#made(sheet, activeRow, activeColumn, typed ?? activeRow.cells[activeColumn.name] ?? "");
    view.editing = cell;
    cell.dataset.writing = "yes";
    cell.replaceChildren(this.#field);
    this.#field.focus({ preventScroll: true });
    if (activeColumn.refers) this.#suggest(activeColumn.refers);
  }

  #made(sheet, row, column, text) {
    const label = `${column.name}, row ${this.#grid.active.row + 2}`;
    const field = element("input", { class: "writing", "aria-label": label, maxlength: LONGEST, spellcheck: "false", autocomplete: "off" });
    field.value = text;
    field.addEventListener("blur", () => this.close(true));
    return field;
  }

  async #suggest(table) {
    const field = this.#field;
    const codes = await this.#codes(table);
    if (field !== this.#field) return;
    field.after(element("datalist", { id: "codes" }, ...codes.map((code) => element("option", { value: code }))));
    field.setAttribute("list", "codes");
  }

  /** Ends the writing; keeps what was written or leaves the cell as it was. */
  close(keeps) {
    if (!this.isOpen) return;
    const { view, active } = this.#grid;
    const [field, cell] = [this.#field, view.editing];
    const hadFocus = document.activeElement === field;
    this.#field = view.editing = null;
    view.forget(cell);
    delete cell.dataset.writing;
    const text = field.value.trim();
    const isNew = text !== this.#grid.activeRow.cells[this.#grid.activeColumn.name];
    if (keeps && isNew) this.#grid.write(active, [[text]]);
    else this.#grid.draw();
    if (hadFocus) view.focus(active);
  }
}
