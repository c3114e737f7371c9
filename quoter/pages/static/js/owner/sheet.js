/** A table of the draft: what is saved of it, and what is on the screen. */

import { addedRows, changeCount, lineEdits, rowEdits } from "./edits.js";
import { placeById, row } from "./rows.js";

export class Sheet {
  #counted = {};
  #saved = {};

  /** @param {{table: string, columns: object[], rows: object[]}} data as the API gives it */
  constructor(data) {
    this.name = data.table;
    this.columns = data.columns;
    this.isDocument = data.columns.length === 2 && data.columns[0].name === "key";
    this.helps = new Map(data.rows.map(({ cells, help }) => [cells.key, help]));
    this.base = savedRows(data);
    this.rows = this.base;
  }

  /** What the column of a cell is for; of a document, what its line is for. */
  helpOf(each, column) {
    return (this.isDocument && column.name === "value" && this.helps.get(each.cells.key)) || column.help;
  }

  get columnNames() {
    return this.columns.map((column) => column.name);
  }

  /** What saving would send. */
  get edits() {
    if (this.#counted.rows !== this.rows || this.#counted.base !== this.base) {
      const edits = (this.isDocument ? lineEdits : rowEdits)(this.name, this.base, this.rows);
      this.#counted = { rows: this.rows, base: this.base, edits };
    }
    return this.#counted.edits;
  }

  get changes() {
    return this.rows === this.base ? 0 : changeCount(this.edits);
  }

  savedRow(id) {
    if (this.#saved.base !== this.base) {
      this.#saved = { base: this.base, byId: new Map(this.base.map((each) => [each.id, each])) };
    }
    return this.#saved.byId.get(id);
  }

  /** Whether a cell says something else than what is saved. */
  isChanged(each, column) {
    const saved = this.savedRow(each.id);
    if (!saved) return Boolean(each.cells[column]);
    return saved !== each && (saved.cells[column] ?? "") !== (each.cells[column] ?? "");
  }

  /** How many lines of a document have a key. */
  keyCount(key) {
    return this.rows.filter((each) => each.cells.key.trim() === key).length;
  }

  /** The first line of a document that could not be told from another, or has a value and no key. */
  get nameless() {
    if (!this.isDocument || this.rows === this.base) return undefined;
    return this.rows.find(({ cells }) => (cells.key.trim() ? this.keyCount(cells.key.trim()) > 1 : cells.value.trim()));
  }

  placeOf(id) {
    return placeById(this.rows).get(id) ?? -1;
  }

  /**
   * Rows that were sent are what is saved now, without spaces around texts, as the service keeps it. What was changed
   * since they were sent stays unsaved.
   * @param {object[]} sent @param {number[]} ids of the new rows, in the order of their edits
   */
  settle(sent, ids) {
    const given = this.#givenIds(sent, ids);
    const settled = new Map(sent.map((each) => [each, settledRow(each, given)]));
    this.base = sent.map((each) => settled.get(each)).filter((each) => !this.isDocument || each.cells.key);
    const rows = this.rows.map((each) => settled.get(each) ?? row(given.get(each.id) ?? each.id, each.cells));
    this.rows = this.rows === sent ? this.base : rows;
  }

  #givenIds(sent, ids) {
    if (this.isDocument) return new Map(sent.map((each) => [each.id, lineId(this.name, each.cells.key.trim())]));
    return new Map(addedRows(this.base, sent).map((each, place) => [each.id, ids[place]]));
  }
}

function savedRows({ rows, table }) {
  return rows.map(({ id, cells }) => row(id ?? lineId(table, cells.key), cells));
}

function lineId(table, key) {
  return `${table}:${key}`;
}

function settledRow(each, given) {
  const id = given.get(each.id) ?? each.id;
  const entries = Object.entries(each.cells);
  if (id === each.id && entries.every(([, text]) => text === text.trim())) return each;
  return row(id, Object.fromEntries(entries.map(([name, text]) => [name, text.trim()])));
}
