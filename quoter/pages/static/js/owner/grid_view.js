/** Draws a table: only the rows that can be seen, and the one with the focus. It knows nothing of what they mean. */

import { element } from "../shared/dom.js";

const MARGIN = 6;
const FINE_ROW = 29;
const COARSE_ROW = 40;
const CHARACTER = 0.92;
const PADDING = "1.1rem";

/**
 * @typedef {{text: string, number: string, id: number|string}} RowHead
 * @typedef {{text: string, kind: string, notes: string[], isSelected: boolean, isActive: boolean}} CellShown
 * @typedef {{count: number, total: number, columns: object[], cell: (row: number, column: number) => CellShown,
 *   head: (row: number) => string, active: {row: number, column: number}, label: string, empty: string}} Picture
 */

export class GridView {
  #root;
  #picture = null;
  #rows = new Map();
  #spare = [];
  #states = new WeakMap();
  #waiting = 0;
  editing = null;

  constructor(root) {
    this.#root = root;
    this.rowHeight = matchMedia("(pointer: coarse)").matches ? COARSE_ROW : FINE_ROW;
    root.style.setProperty("--row", `${this.rowHeight}px`);
    root.setAttribute("role", "grid");
    root.setAttribute("aria-multiselectable", "true");
    this.head = element("div", { role: "row", class: "head", "aria-rowindex": "1" });
    this.body = element("div", { role: "rowgroup", class: "rows" });
    this.nothing = element("p", { class: "nothing quiet", hidden: true });
    root.replaceChildren(element("div", { role: "rowgroup", class: "heads" }, this.head), this.body);
    root.after(this.nothing);
    root.addEventListener("scroll", () => this.#later());
    new ResizeObserver(() => this.#later()).observe(root);
  }

  /** @param {{name: string, help: string, required: boolean, characters: number, isNumber: boolean}[]} columns */
  frame(columns) {
    this.#rows.clear();
    this.#spare = [];
    this.body.replaceChildren();
    this.#root.scrollTo(0, 0);
    const widths = columns.map(({ characters }) => `${(characters * CHARACTER).toFixed(1)}ch + ${PADDING}`);
    const tracks = widths.map((width) => `calc(${width})`);
    tracks.push(`minmax(${tracks.pop()}, 1fr)`);
    this.#root.style.setProperty("--tracks", tracks.join(" "));
    this.#root.style.setProperty("--columns", `calc(${widths.join(" + ")})`);
    this.head.replaceChildren(
      element("div", { role: "columnheader", class: "number" }, element("span", { class: "unseen" }, "Row")),
      ...columns.map(columnHead),
    );
  }

  /** @param {Picture} picture */
  draw(picture) {
    this.#picture = picture;
    this.#root.setAttribute("aria-rowcount", picture.count + 1);
    this.#root.setAttribute("aria-label", picture.label);
    this.body.style.blockSize = `${picture.count * this.rowHeight}px`;
    this.nothing.textContent = picture.empty;
    this.nothing.hidden = picture.count > 0;
    this.#render();
  }

  /** At most once for each picture on the screen. */
  #later() {
    if (this.#waiting) return;
    this.#waiting = requestAnimationFrame(() => {
      this.#waiting = 0;
      if (this.#picture) this.#render();
    });
  }

  get #window() {
    const first = Math.floor(this.#root.scrollTop / this.rowHeight) - MARGIN;
    const last = first + Math.ceil(this.#root.clientHeight / this.rowHeight) + 2 * MARGIN;
    return { first: Math.max(0, first), last: Math.min(last, this.#picture.count - 1) };
  }

  #render() {
    const { first, last } = this.#window;
    const wanted = new Set();
    for (let place = first; place <= last; place += 1) wanted.add(place);
    if (this.#picture.count > 0) wanted.add(this.#picture.active.row);
    for (const [place, row] of this.#rows) {
      if (wanted.has(place)) continue;
      row.remove();
      this.#rows.delete(place);
      this.#spare.push(row);
    }
    this.#place([...wanted].sort((one, other) => one - other));
  }

  /** In order, without moving rows that stay: the focus must not be lost. */
  #place(places) {
    let next = this.body.firstChild;
    for (const place of places) {
      const known = this.#rows.get(place);
      const row = known ?? this.#newRow(place);
      if (known) next = row.nextSibling;
      else this.body.insertBefore(row, next);
      this.#fill(row, place);
    }
  }

  /** A row that is not needed any more is written anew: that is quicker than a new one. */
  #newRow(place) {
    const row = this.#spare.pop() ?? this.#madeRow();
    row.setAttribute("aria-rowindex", place + 2);
    row.style.insetBlockStart = `${place * this.rowHeight}px`;
    this.#rows.set(place, row);
    return row;
  }

  #madeRow() {
    const cells = this.#picture.columns.map(({ isNumber }) =>
      element("div", { role: "gridcell", class: isNumber ? "cell figure" : "cell" }),
    );
    return element("div", { role: "row", class: "row" }, element("div", { role: "rowheader", class: "number" }), ...cells);
  }

  #fill(row, place) {
    const number = this.#picture.head(place);
    if (row.firstChild.textContent !== number) row.firstChild.textContent = number;
    this.#picture.columns.forEach((_, column) => {
      const cell = row.children[column + 1];
      if (cell !== this.editing) this.#fillCell(cell, this.#picture.cell(place, column), `note-${place}-${column}`);
    });
  }

  #fillCell(cell, shown, noteId) {
    const state = `${shown.notes.length ? noteId : ""}${shown.isActive}${shown.isSelected}${shown.kind}\n${shown.text}\n${shown.notes.join("\n")}`;
    if (this.#states.get(cell) === state) return;
    this.#states.set(cell, state);
    cell.tabIndex = shown.isActive ? 0 : -1;
    cell.setAttribute("aria-selected", shown.isSelected);
    cell.dataset.kind = shown.kind;
    cell.toggleAttribute("data-active", shown.isActive);
    setOrRemove(cell, "aria-invalid", shown.kind.includes("fault") ? "true" : null);
    setOrRemove(cell, "aria-describedby", shown.notes.length ? noteId : null);
    const note = shown.notes.length ? [element("span", { id: noteId, hidden: true }, shown.notes.join(" "))] : [];
    cell.replaceChildren(shown.text, ...note);
  }

  /** The element of a cell, if its row is drawn. */
  cell({ row, column }) {
    return this.#rows.get(row)?.children[column + 1] ?? null;
  }

  /** Where on the table an element stands. */
  placeOf(target) {
    const cell = target.closest?.('[role="gridcell"]');
    if (!cell || !this.body.contains(cell)) return null;
    const row = Number(cell.parentElement.getAttribute("aria-rowindex")) - 2;
    return { row, column: [...cell.parentElement.children].indexOf(cell) - 1 };
  }

  get page() {
    return Math.max(1, Math.floor((this.#root.clientHeight - this.rowHeight) / this.rowHeight) - 1);
  }

  /** Scrolls as little as is needed for a cell to be seen beside the columns that stay. */
  reveal({ row, column }) {
    const top = row * this.rowHeight;
    const seen = this.#root.clientHeight - this.head.offsetHeight;
    if (top < this.#root.scrollTop) this.#root.scrollTop = top;
    else if (top + this.rowHeight > this.#root.scrollTop + seen) this.#root.scrollTop = top + this.rowHeight - seen;
    this.#revealColumn(this.head.children[column + 1], column);
  }

  #revealColumn(head, column) {
    if (!head || column === 0) return;
    const [box, frame] = [head.getBoundingClientRect(), this.#root.getBoundingClientRect()];
    const start = this.head.children[1].getBoundingClientRect().right;
    if (box.left < start) this.#root.scrollLeft -= start - box.left;
    else if (box.right > frame.left + this.#root.clientWidth) {
      this.#root.scrollLeft += Math.min(box.right - frame.left - this.#root.clientWidth, box.left - start);
    }
  }

  focus(place) {
    this.cell(place)?.focus({ preventScroll: true });
  }

  /** A cell is to be drawn anew although nothing about it has changed. */
  forget(cell) {
    this.#states.delete(cell);
  }
}

function columnHead({ name, help, required, isNumber }, place) {
  const star = required ? element("span", { class: "star", "aria-hidden": "true" }, "*") : null;
  const described = required ? `${help}. Required.` : help;
  const note = element("span", { id: `help-${place}`, hidden: true }, described);
  const attributes = { role: "columnheader", class: isNumber ? "cell figure" : "cell", title: described };
  return element("div", { ...attributes, "aria-describedby": `help-${place}` }, name, star, note);
}

function setOrRemove(target, name, value) {
  if (value === null) target.removeAttribute(name);
  else target.setAttribute(name, value);
}
