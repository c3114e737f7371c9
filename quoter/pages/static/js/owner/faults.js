/**
 * What the check found, by table, row and column. A fault belongs to the text that was checked: once the cell says
 * something else it is not shown there any more, until the next check.
 *
 * @typedef {{table: string, row: number|null, row_id: number|null, column: string, key: string, value: string,
 *   message: string, suggestion: string}} Flaw
 */

/** A profile is named by its file where flaws and differences are told; here it is the document "tax" or "law". */
export function tableOf(name) {
  return /^(tax|law)\//.exec(name)?.[1] ?? name;
}

export class Faults {
  #byTable = new Map();

  /** @param {{flaws: Flaw[], warnings: Flaw[]}} checked */
  constructor(checked = { flaws: [], warnings: [] }) {
    this.flaws = checked.flaws;
    this.warnings = checked.warnings;
    for (const flaw of this.flaws) this.#enter(flaw, "fault");
    for (const flaw of this.warnings) this.#enter(flaw, "warning");
  }

  #enter(flaw, kind) {
    const table = tableOf(flaw.table);
    const cells = this.#byTable.get(table) ?? new Map();
    const at = cellName(flaw);
    cells.set(at, [...(cells.get(at) ?? []), { ...flaw, kind }]);
    this.#byTable.set(table, cells);
  }

  /** Of a cell: of a row by its id and column, of a line by its key. */
  at(table, row, column) {
    const cells = this.#byTable.get(table);
    if (!cells) return [];
    const isLine = typeof row.id === "string" || "key" in row.cells;
    if (isLine) return column === "value" ? (cells.get(`:${row.cells.key}`) ?? []) : [];
    return cells.get(`${row.id}:${column}`) ?? [];
  }

  count(table) {
    return this.flaws.filter((flaw) => tableOf(flaw.table) === table).length;
  }

  warningCount(table) {
    return this.warnings.filter((flaw) => tableOf(flaw.table) === table).length;
  }
}

function cellName(flaw) {
  return `${flaw.row_id ?? ""}:${flaw.column}`;
}

/** What can be told before it is saved: blanks where there must be text, lines that share a key. */
export function ownFault(sheet, row, column) {
  const text = (row.cells[column.name] ?? "").trim();
  if (sheet.isDocument && column.name === "key" && text && sheet.keyCount(text) > 1) {
    return { message: "another line has this key", suggestion: "one line for a key" };
  }
  const isNeeded = column.required && !text && Object.values(row.cells).some(Boolean);
  return isNeeded ? { message: "this must not be blank", suggestion: column.help } : null;
}

/** "Parts!F17", as a spreadsheet would name the cell, if it is known. */
export function sheetCell(flaw, columns) {
  const place = columns.indexOf(flaw.column);
  return flaw.row && place >= 0 ? `${flaw.table}!${letters(place)}${flaw.row}` : "";
}

function letters(place) {
  const rest = place >= 26 ? letters(Math.floor(place / 26) - 1) : "";
  return rest + String.fromCharCode(65 + (place % 26));
}
