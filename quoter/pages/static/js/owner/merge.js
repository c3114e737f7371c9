/**
 * Own unsaved changes carried over to rows that somebody else has changed meanwhile. Nothing is dropped without a word:
 * what collides keeps the own text and is marked, what has no place any more is listed.
 *
 * @typedef {{row: number|string, column: string, theirs: string, mine: string}} Collision a blank column: the row
 * @typedef {{row: import("./rows.js").Row, cells: Object<string, string>}} Homeless own changes of a row that is gone
 */

import { areAlike, difference, row } from "./rows.js";

/** @returns {{rows: import("./rows.js").Row[], collisions: Collision[], homeless: Homeless[], orderLost: boolean}} */
export function rebased(base, mine, theirs) {
  const [old, own, now] = [base, mine, theirs].map(byId);
  const collisions = [];
  const merged = new Map();
  for (const each of theirs) {
    const result = mergedRow(old.get(each.id), own.get(each.id), each, collisions);
    if (result) merged.set(each.id, result);
  }
  for (const each of mine) if (!old.has(each.id)) merged.set(each.id, each);
  const { order, orderLost } = mergedOrder(base, mine, theirs, merged, old, now);
  return { rows: order.map((id) => merged.get(id)), collisions, homeless: homelessChanges(mine, old, now), orderLost };
}

function byId(rows) {
  return new Map(rows.map((each) => [each.id, each]));
}

/** All that was done here, for where nothing of it can be carried over. @returns {Homeless[]} without cells: deleted */
export function ownChanges(base, mine) {
  const [old, own] = [byId(base), byId(mine)];
  const changed = mine.filter((each) => !old.has(each.id) || !areAlike(old.get(each.id), each));
  const gone = base.filter((each) => !own.has(each.id));
  return [
    ...changed.map((each) => ({ row: each, cells: old.has(each.id) ? difference(old.get(each.id), each) : each.cells })),
    ...gone.map((each) => ({ row: each, cells: {} })),
  ];
}

/** Null for a row that was deleted here and not touched there. */
function mergedRow(old, own, theirs, collisions) {
  if (!old) return theirs;
  if (!own) return deletedHere(old, theirs, collisions);
  const [here, there] = [difference(old, own), difference(old, theirs)];
  for (const [column, mine] of Object.entries(here)) {
    if (column in there && there[column] !== mine) {
      collisions.push({ row: theirs.id, column, theirs: there[column], mine });
    }
  }
  return Object.keys(here).length ? row(theirs.id, { ...theirs.cells, ...here }) : theirs;
}

function deletedHere(old, theirs, collisions) {
  if (areAlike(old, theirs)) return null;
  collisions.push({ row: theirs.id, column: "", theirs: "changed", mine: "deleted" });
  return theirs;
}

function homelessChanges(mine, old, now) {
  const gone = mine.filter((each) => old.has(each.id) && !now.has(each.id));
  const changed = gone.filter((each) => !areAlike(old.get(each.id), each));
  return changed.map((each) => ({ row: each, cells: difference(old.get(each.id), each) }));
}

/** One's own order counts where only oneself has moved rows. */
function mergedOrder(base, mine, theirs, merged, old, now) {
  const ids = (rows) => rows.map((each) => each.id);
  const present = (list) => list.filter((id) => merged.has(id));
  const iMoved = isReordered(ids(base), ids(mine));
  const theyMoved = isReordered(ids(base), ids(theirs));
  const [here, there] = [present(ids(mine)), present(ids(theirs))];
  const order = iMoved && !theyMoved ? woven(here, there) : woven(there, here);
  return { order, orderLost: iMoved && theyMoved };
}

function isReordered(before, after) {
  const [was, is] = [new Set(before), new Set(after)];
  const stayed = before.filter((id) => is.has(id));
  return after.filter((id) => was.has(id)).some((id, place) => id !== stayed[place]);
}

/** The first list, with what only the second has put after what it follows there. */
function woven(first, second) {
  const known = new Set(first);
  const following = new Map([[null, []]]);
  let last = null;
  for (const id of second) {
    if (known.has(id)) last = id;
    else following.set(last, [...(following.get(last) ?? []), id]);
  }
  return [...following.get(null), ...first.flatMap((id) => [id, ...(following.get(id) ?? [])])];
}
