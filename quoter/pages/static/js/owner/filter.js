/** Rows that have all of some words, each in any cell, whatever the case and the accents. */

export function plain(text) {
  return text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase();
}

/** @returns {number[]} the places of the rows that match */
export function matches(rows, wanted) {
  const words = plain(wanted).split(/\s+/).filter(Boolean);
  const places = rows.map((_, place) => place);
  return words.length ? places.filter((place) => hasAll(rows[place], words)) : places;
}

/** Rows never change, so each is made plain once. */
const plainRows = new WeakMap();

function hasAll(row, words) {
  if (!plainRows.has(row)) plainRows.set(row, plain(Object.values(row.cells).join("\n")));
  return words.every((word) => plainRows.get(row).includes(word));
}
