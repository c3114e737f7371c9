/** Blocks of cells from and to the clipboard, as spreadsheets exchange them. */

import { planned, spread } from "./block.js";
import { asked, blockShown } from "../shared/dialogs.js";
import { counted } from "../shared/dom.js";
import { formatted, parsed } from "./tsv.js";

export class GridClipboard {
  #grid;
  #editor;

  constructor(grid, editor) {
    this.#grid = grid;
    this.#editor = editor;
    document.addEventListener("copy", (event) => this.#copy(event, false));
    document.addEventListener("cut", (event) => this.#copy(event, true));
    document.addEventListener("paste", (event) => this.#paste(event));
  }

  get #isHere() {
    return !this.#editor.isOpen && this.#grid.view.body.contains(document.activeElement);
  }

  #copy(event, clears) {
    if (!this.#isHere) return;
    event.preventDefault();
    event.clipboardData.setData("text/plain", formatted(this.#grid.selectedTexts));
    if (clears) this.#grid.clear();
  }

  async #paste(event) {
    if (!this.#isHere) return;
    event.preventDefault();
    const text = event.clipboardData.getData("text/plain");
    if (text) await this.paste(parsed(text));
  }

  /** @param {string[][]} cells */
  async paste(cells) {
    const { top, bottom, first, last } = this.#grid.block;
    const at = { row: top, column: first };
    const block = spread(cells, bottom - top + 1, last - first + 1);
    const { rows, columns } = this.#grid.size;
    const plan = planned(block, at, { rows, columns, canGrow: !this.#grid.isFiltered });
    if ((plan.lostCells.length || plan.lostRows.length) && !(await this.#accepts(plan, block, at))) return;
    this.#grid.write(at, plan.cells, plan.newRows);
    this.#grid.move(at);
    this.#grid.move({ row: at.row + plan.cells.length - 1, column: at.column + plan.cells[0].length - 1 }, { isExtending: true });
  }

  #accepts({ lostCells, lostRows }, block, at) {
    const room = this.#grid.size.columns - at.column;
    const name = this.#grid.activeColumn.name;
    const content = [];
    if (lostCells.length) {
      const wide = `The block is ${counted(block[0].length, "column")} wide; from ${name} on the table has ${room}. This would be lost:`;
      content.push(wide, blockShown(lostCells, "Cells without a column"));
    }
    if (lostRows.length) {
      content.push("While rows are filtered none are added. This would be lost:", blockShown(lostRows, "Rows without a place"));
    }
    return asked({ title: "The block does not fit", content, yes: "Paste the rest", no: "Paste nothing" });
  }
}
