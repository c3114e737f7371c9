/** Pointing at cells: a press moves the focus, a drag or Shift selects, a second press on the same cell writes. */

export class GridPointer {
  #grid;
  #editor;
  #isDragging = false;

  constructor(grid, editor) {
    this.#grid = grid;
    this.#editor = editor;
    const { body } = grid.view;
    body.addEventListener("pointerdown", (event) => this.#down(event));
    body.addEventListener("pointerover", (event) => this.#over(event));
    body.addEventListener("dblclick", (event) => this.#grid.view.placeOf(event.target) && this.#editor.open());
    body.addEventListener("click", (event) => this.#click(event));
    addEventListener("pointerup", () => (this.#isDragging = false));
  }

  /** A mouse acts at once; a finger may be about to scroll. */
  #down(event) {
    const place = this.#grid.view.placeOf(event.target);
    if (!place || event.button !== 0 || event.pointerType !== "mouse" || this.#isWriting(event)) return;
    event.preventDefault();
    this.#editor.close(true);
    this.#isDragging = true;
    this.#grid.move(place, { isExtending: event.shiftKey });
  }

  #over(event) {
    const place = this.#isDragging && this.#grid.view.placeOf(event.target);
    if (place) this.#grid.move(place, { isExtending: true });
  }

  #click(event) {
    const place = this.#grid.view.placeOf(event.target);
    if (!place || event.pointerType === "mouse" || this.#isWriting(event)) return;
    const { row, column } = this.#grid.active;
    const isAgain = place.row === row && place.column === column && document.activeElement === this.#grid.view.cell(place);
    this.#editor.close(true);
    this.#grid.move(place);
    if (isAgain) this.#editor.open();
  }

  #isWriting(event) {
    return event.target.closest("input") !== null;
  }
}
