/** Cells as addresses within the page, so that a list of faults is a list of links. */

import { tableOf } from "./faults.js";

/** @typedef {{table: string, row: string, column: string}} Address `row` is an id, or blank for lines and whole tables */

/** @param {Address} address */
export function hashOf({ table, row = "", column = "" }) {
  const parts = row || column ? [table, row, column] : [table];
  return `#${parts.map((part) => encodeURIComponent(part)).join(":")}`;
}

/** @returns {Address} */
export function addressIn(hash) {
  const [table = "", row = "", column = ""] = hash.slice(1).split(":").map(decoded);
  return { table, row, column };
}

function decoded(text) {
  try {
    return decodeURIComponent(text);
  } catch {
    return "";
  }
}

/** Where a flaw is. @param {import("./faults.js").Flaw} flaw */
export function hashOfFlaw(flaw) {
  return hashOf({ table: tableOf(flaw.table), row: flaw.row_id === null ? "" : `${flaw.row_id}`, column: flaw.column });
}

/** Puts the focus on the cell of an address, if it is there. */
export function goTo(grid, { row, column }) {
  if (row) return grid.goTo(Number(row), column);
  const line = grid.sheet.rows.find(({ cells }) => grid.sheet.isDocument && cells.key === column);
  return line ? grid.goTo(line.id, "value") : false;
}
