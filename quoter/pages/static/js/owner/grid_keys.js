/** What keys do on the table. While a cell is written its field has the keys, but for those that end the writing. */

import { led, neighbour } from "./selection.js";

const ENDS_TYPING = ["ArrowUp", "ArrowDown"];

export class GridKeys {
  #grid;
  #editor;
  #isLeaving = false;

  constructor(grid, editor) {
    this.#grid = grid;
    this.#editor = editor;
    grid.view.body.addEventListener("keydown", (event) => this.#pressed(event));
  }

  #pressed(event) {
    const isDone = this.#editor.isOpen ? this.#whileWriting(event) : this.#whileMoving(event);
    if (!isDone) return;
    event.preventDefault();
    event.stopPropagation();
  }

  /** @returns {boolean} whether the key meant something here */
  #whileWriting(event) {
    if (event.isComposing) return false;
    if (event.key === "Escape") return this.#end(false, null);
    if (event.key === "Enter") return this.#end(true, event.shiftKey ? "ArrowUp" : "ArrowDown");
    if (event.key === "Tab") return this.#end(true, null) && this.#tab(event.shiftKey ? -1 : 1);
    if (this.#editor.isTyping && ENDS_TYPING.includes(event.key)) return this.#end(true, event.key);
    return false;
  }

  #end(keeps, key) {
    this.#editor.close(keeps);
    if (key) this.#grid.move(led(this.#grid.active, key, false, this.#grid.size));
    return true;
  }

  #whileMoving(event) {
    const wasLeaving = this.#isLeaving;
    this.#isLeaving = event.key === "Escape" || (wasLeaving && event.key === "Shift");
    if (event.key === "Tab") return !wasLeaving && this.#tab(event.shiftKey ? -1 : 1);
    return this.#alt(event) || this.#moved(event) || this.#changed(event);
  }

  /** Along the cells; out of the table after the last one, or after Escape. */
  #tab(by) {
    const place = neighbour(this.#grid.active, by, this.#grid.size);
    if (place) this.#grid.move(place);
    return place !== null;
  }

  #alt(event) {
    if (!event.altKey || !["ArrowUp", "ArrowDown"].includes(event.key)) return false;
    this.#grid.moveRows(event.key === "ArrowUp" ? -1 : 1);
    return true;
  }

  #moved(event) {
    if (event.altKey) return false;
    const isFar = event.ctrlKey || event.metaKey;
    if (isFar && event.key.toLowerCase() === "a") return this.#selectAll();
    const place = led(this.#grid.active, event.key, isFar, this.#grid.size);
    if (place) this.#grid.move(place, { isExtending: event.shiftKey });
    return place !== null;
  }

  #selectAll() {
    const { rows, columns } = this.#grid.size;
    this.#grid.anchor = { row: 0, column: 0 };
    this.#grid.move({ row: rows - 1, column: columns - 1 }, { isExtending: true });
    return true;
  }

  #changed(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return false;
    if (event.key === "Enter" || event.key === "F2") this.#editor.open();
    else if (event.key === "Delete" || event.key === "Backspace") this.#grid.clear();
    else if ([...event.key].length === 1) this.#editor.open(event.key);
    else return false;
    return true;
  }
}
