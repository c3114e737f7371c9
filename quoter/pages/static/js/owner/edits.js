/** From what is saved to what is on the screen: the edits that the API needs, as few as will do. */

import { areAlike, difference } from "./rows.js";

/** Of a table with ids: deletions first, then cells, then the order of the old rows, then the new rows. */
export function rowEdits(table, base, rows) {
  const old = new Map(base.map((each) => [each.id, each]));
  const kept = rows.filter((each) => old.has(each.id));
  const here = new Set(kept.map((each) => each.id));
  const gone = base.filter((each) => !here.has(each.id));
  return [
    ...gone.map((each) => ({ do: "delete", table, row: each.id })),
    ...cellEdits(table, old, kept),
    ...moveEdits(table, base.filter((each) => here.has(each.id)), kept),
    ...additions(table, rows, old),
  ];
}

function cellEdits(table, old, kept) {
  const changed = kept.filter((each) => !areAlike(old.get(each.id), each));
  return changed.map((each) => ({ do: "set", table, row: each.id, cells: difference(old.get(each.id), each) }));
}

/** From the last row up, so that the row to stand before is always in its place already. */
function moveEdits(table, before, after) {
  if (before.every((each, place) => each.id === after[place].id)) return [];
  const places = new Map(before.map((each, place) => [each.id, place]));
  const staying = longestAscent(after.map((each) => places.get(each.id)));
  const edits = [];
  for (let place = after.length - 1; place >= 0; place -= 1) {
    if (staying.has(place)) continue;
    edits.push({ do: "move", table, row: after[place].id, before: after[place + 1]?.id ?? null });
  }
  return edits;
}

/** New rows in their order, each before the next row that is saved already. */
function additions(table, rows, old) {
  const edits = [];
  let before = null;
  for (let place = rows.length - 1; place >= 0; place -= 1) {
    if (old.has(rows[place].id)) before = rows[place].id;
    else edits.push({ do: "add", table, cells: rows[place].cells, before });
  }
  return edits.reverse();
}

/** The new rows in the order of their edits. */
export function addedRows(base, rows) {
  const old = new Set(base.map((each) => each.id));
  return rows.filter((each) => !old.has(each.id));
}

/** Of a document of lines: a line is known by its key, and a line without key and value is none. */
export function lineEdits(table, base, rows) {
  const old = new Map(base.map((each) => [each.cells.key, each.cells.value]));
  const now = new Map(rows.filter((each) => each.cells.key.trim()).map((each) => [each.cells.key.trim(), each.cells.value]));
  const gone = [...old.keys()].filter((key) => !now.has(key));
  const changed = [...now].filter(([key, value]) => old.get(key) !== value);
  return [
    ...gone.map((key) => ({ do: "delete", table, key })),
    ...changed.map(([key, value]) => ({ do: "set", table, key, value })),
  ];
}

/** How many changes a person would count: each cell, and each row that came, went or moved. */
export function changeCount(edits) {
  return edits.reduce((sum, edit) => sum + (edit.do === "set" && edit.cells ? Object.keys(edit.cells).length : 1), 0);
}

/** @returns {Set<number>} where the members of a longest ascending subsequence stand */
export function longestAscent(numbers) {
  const tails = [];
  const before = new Array(numbers.length);
  numbers.forEach((number, place) => {
    const length = firstAtLeast(tails, number, numbers);
    before[place] = length ? tails[length - 1] : -1;
    tails[length] = place;
  });
  const members = new Set();
  for (let place = tails.at(-1) ?? -1; place >= 0; place = before[place]) members.add(place);
  return members;
}

function firstAtLeast(tails, number, numbers) {
  let [low, high] = [0, tails.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (numbers[tails[middle]] < number) low = middle + 1;
    else high = middle;
  }
  return low;
}
