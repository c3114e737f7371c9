/**
 * Rows of a table as values that never change: every function gives a new list and shares the rows that stay.
 *
 * @typedef {Object<string, string>} Cells by column
 * @typedef {{readonly id: number|string, readonly cells: Readonly<Cells>}} Row an id below zero is not saved yet
 */

/** @returns {Row} */
export function row(id, cells) {
  return Object.freeze({ id, cells: Object.freeze(cells) });
}

/** @returns {Row} */
export function blankRow(id, columns) {
  return row(id, Object.fromEntries(columns.map((name) => [name, ""])));
}

/** The same list where nothing differs. @param {Map<number, Cells>} changes by the place of a row the cells to set */
export function withCells(rows, changes) {
  const differing = [...changes].filter(([place, cells]) => says(rows[place], cells));
  if (!differing.length) return rows;
  const result = rows.slice();
  for (const [place, cells] of differing) result[place] = row(rows[place].id, { ...rows[place].cells, ...cells });
  return result;
}

function says(old, cells) {
  return Object.entries(cells).some(([name, text]) => (old.cells[name] ?? "") !== text);
}

export function inserted(rows, at, added) {
  return [...rows.slice(0, at), ...added, ...rows.slice(at)];
}

/** @param {Set<number>} places */
export function without(rows, places) {
  return rows.filter((_, place) => !places.has(place));
}

/** The rows from `first` to `last` one place up (by -1) or down (by 1); the same list at an end. */
export function shifted(rows, first, last, by) {
  const neighbour = by < 0 ? first - 1 : last + 1;
  if (neighbour < 0 || neighbour >= rows.length) return rows;
  const rest = without(rows, new Set([neighbour]));
  return inserted(rest, by < 0 ? last : first, [rows[neighbour]]);
}

export function placeById(rows) {
  return new Map(rows.map((each, place) => [each.id, place]));
}

/** @returns {Cells} of two rows the cells that differ, as the second has them */
export function difference(old, now) {
  const names = new Set([...Object.keys(old.cells), ...Object.keys(now.cells)]);
  const changed = [...names].filter((name) => (old.cells[name] ?? "") !== (now.cells[name] ?? ""));
  return Object.fromEntries(changed.map((name) => [name, now.cells[name] ?? ""]));
}

export function areAlike(one, other) {
  return one === other || Object.keys(difference(one, other)).length === 0;
}
