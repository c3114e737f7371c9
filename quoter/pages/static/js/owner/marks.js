/** What is to be said about a cell: faults, warnings, what somebody else wrote meanwhile, that it is not saved. */

import { ownFault } from "./faults.js";

/** @typedef {{kind: string, text: string, suggestion: string}} Mark */

/** @returns {Mark[]} */
export function marksOf(draft, sheet, row, column) {
  const isChanged = sheet.isChanged(row, column.name);
  const checked = isChanged ? [] : draft.faults.at(sheet.name, row, column.name);
  const found = checked.map(({ kind, message, suggestion }) => ({ kind, text: message, suggestion }));
  const isTouched = sheet.savedRow(row.id) !== row;
  const own = isTouched && !found.length ? ownFault(sheet, row, column) : null;
  if (own) found.push({ kind: "fault", text: own.message, suggestion: own.suggestion });
  const collision = draft.collision(sheet.name, row.id, column.name);
  if (collision) found.push({ kind: "collision", text: `meanwhile somebody wrote “${collision.theirs}” here`, suggestion: "" });
  if (isChanged) found.push({ kind: "changed", text: "not saved", suggestion: "" });
  return found;
}

const WORDS = { fault: "Fault", warning: "Warning", collision: "Collision", changed: "" };

/** @param {Mark} mark */
export function markText({ kind, text, suggestion }) {
  const word = WORDS[kind] ? `${WORDS[kind]}: ` : "";
  return `${word}${text}${suggestion ? ` (${suggestion})` : ""}.`;
}
