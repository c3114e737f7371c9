/**
 * The table on the screen: which rows, which cell has the focus, what is selected, and every change that is made there.
 *
 * Events: "moved" (another cell or table), "filtered".
 */

import { matches } from "./filter.js";
import { GridView } from "./grid_view.js";
import { markText, marksOf } from "./marks.js";
import { blankRow, inserted, shifted, withCells, without } from "./rows.js";
import { holds, rectangle, within } from "./selection.js";
import { columnWidths } from "./widths.js";

export class Grid extends EventTarget {
  #draft;
  #places = [];
  #kept = null;
  sheet = null;
  active = { row: 0, column: 0 };
  anchor = { row: 0, column: 0 };

  constructor(root, draft) {
    super();
    this.root = root;
    this.#draft = draft;
    this.view = new GridView(root);
    draft.addEventListener("rows", ({ detail }) => detail === this.sheet?.name && this.#refresh());
    draft.addEventListener("replaced", () => this.#replaced());
    draft.addEventListener("checked", () => this.draw());
  }

  /** Shows a table from its first row. */
  open(sheet) {
    this.sheet = sheet;
    this.#kept = null;
    this.active = this.anchor = { row: 0, column: 0 };
    this.#frame();
    this.#tell("filtered");
    this.#refresh();
  }

  #frame() {
    const widths = columnWidths(this.sheet.columns, this.sheet.rows);
    this.view.frame(this.sheet.columns.map((column, place) => ({ ...column, ...widths[place] })));
    this.widths = widths;
  }

  #replaced() {
    if (!this.sheet) return;
    this.sheet = this.#draft.sheets.get(this.sheet.name);
    this.#refresh();
  }

  /** After rows have changed: what is shown is found anew, and the focus stays as near as it can. */
  #refresh() {
    const rows = this.sheet.rows;
    this.#places = rows.map((_, place) => place).filter((place) => !this.#kept || this.#kept.has(rows[place].id));
    this.active = within(this.active, this.size);
    this.anchor = within(this.anchor, this.size);
    this.draw();
    this.#tell("moved");
  }

  #tell(type) {
    this.dispatchEvent(new CustomEvent(type));
  }

  get size() {
    return { rows: this.#places.length, columns: this.sheet.columns.length, page: this.view.page };
  }

  get isFiltered() {
    return this.#kept !== null;
  }

  /** Whether rows of this table have an order that can be changed, and can be here now. */
  get canOrder() {
    return !this.sheet.isDocument && !this.isFiltered;
  }

  get block() {
    return rectangle(this.active, this.anchor);
  }

  rowAt(place) {
    return this.sheet.rows[this.#places[place]];
  }

  get activeRow() {
    return this.#places.length ? this.rowAt(this.active.row) : undefined;
  }

  get activeColumn() {
    return this.sheet.columns[this.active.column];
  }

  draw() {
    if (!this.sheet) return;
    const block = this.block;
    const isMany = block.top !== block.bottom || block.first !== block.last;
    this.view.draw({
      count: this.#places.length,
      columns: this.widths,
      active: this.active,
      label: `${this.sheet.name}${this.isFiltered ? ", filtered" : ""}`,
      empty: this.isFiltered ? "No row has these words." : "This table has no rows.",
      head: (place) => (this.sheet.isDocument ? `${place + 1}` : `${this.#places[place] + 2}`),
      cell: (place, column) => this.#shown(place, column, isMany ? block : null),
    });
  }

  #shown(place, column, block) {
    const [row, declared] = [this.rowAt(place), this.sheet.columns[column]];
    const marks = marksOf(this.#draft, this.sheet, row, declared);
    const isActive = place === this.active.row && column === this.active.column;
    return {
      text: row.cells[declared.name] ?? "",
      kind: marks.map(({ kind }) => kind).join(" "),
      notes: marks.map(markText),
      isActive,
      isSelected: block ? holds(block, place, column) : isActive,
    };
  }

  /** Puts the focus on a cell; with `extends` the other corner of the selection stays. */
  move(place, { isExtending = false, focuses = true } = {}) {
    if (!this.#places.length) return;
    this.active = within(place, this.size);
    if (!isExtending) this.anchor = this.active;
    this.view.reveal(this.active);
    this.draw();
    if (focuses) this.view.focus(this.active);
    this.#tell("moved");
  }

  /** Puts the focus on a cell that is known by its row's id; without a column, on the row. */
  goTo(rowId, columnName) {
    const place = this.sheet.placeOf(rowId);
    if (place < 0) return false;
    if (this.#kept && !this.#kept.has(rowId)) this.filter("");
    const column = Math.max(0, this.sheet.columnNames.indexOf(columnName));
    this.move({ row: this.#places.indexOf(place), column });
    return true;
  }

  /** Shows the rows that have these words; those that are changed then stay where they are. */
  filter(words) {
    const rows = this.sheet.rows;
    this.#kept = words.trim() ? new Set(matches(rows, words).map((place) => rows[place].id)) : null;
    this.active = this.anchor = { row: 0, column: this.active.column };
    this.root.scrollTop = 0;
    this.#refresh();
    this.#tell("filtered");
  }

  get selectedTexts() {
    const { top, bottom, first, last } = this.block;
    const names = this.sheet.columnNames.slice(first, last + 1);
    return range(top, bottom).map((place) => names.map((name) => this.rowAt(place).cells[name] ?? ""));
  }

  #change(rows) {
    this.#draft.apply(this.sheet.name, rows, { row: this.active.row, column: this.active.column });
  }

  /** Writes texts from a cell on; `newRows` are added at the end for what runs over it. */
  write(at, texts, newRows = 0) {
    const added = range(1, newRows).map(() => blankRow(this.#draft.freshId(), this.sheet.columnNames));
    const places = [...this.#places, ...added.map((_, number) => this.sheet.rows.length + number)];
    const names = this.sheet.columnNames.slice(at.column);
    const changes = texts.map((cells, down) => [
      places[at.row + down],
      Object.fromEntries(cells.map((text, across) => [names[across], text])),
    ]);
    const rows = newRows ? [...this.sheet.rows, ...added] : this.sheet.rows;
    this.#change(withCells(rows, new Map(changes)));
  }

  clear() {
    const { top, first } = this.block;
    this.write({ row: top, column: first }, this.selectedTexts.map((cells) => cells.map(() => "")));
  }

  /** A blank row above (by 0) or below (by 1) the focus. */
  insertRow(by) {
    if (this.isFiltered) return;
    const isAppended = this.sheet.isDocument || !this.#places.length;
    const at = isAppended ? this.sheet.rows.length : by ? this.block.bottom + 1 : this.block.top;
    this.#change(inserted(this.sheet.rows, at, [blankRow(this.#draft.freshId(), this.sheet.columnNames)]));
    this.move({ row: at, column: 0 });
  }

  deleteRows() {
    if (!this.#places.length) return;
    const { top, bottom } = this.block;
    this.#change(without(this.sheet.rows, new Set(range(top, bottom).map((place) => this.#places[place]))));
    this.move({ row: top, column: this.active.column });
  }

  moveRows(by) {
    if (!this.canOrder || !this.#places.length) return;
    const { top, bottom } = this.block;
    const rows = shifted(this.sheet.rows, top, bottom, by);
    if (rows === this.sheet.rows) return;
    const anchor = { ...this.anchor, row: this.anchor.row + by };
    this.#change(rows);
    this.anchor = anchor;
    this.move({ row: this.active.row + by, column: this.active.column }, { isExtending: true });
  }
}

function range(first, last) {
  return Array.from({ length: Math.max(0, last - first + 1) }, (_, number) => first + number);
}
