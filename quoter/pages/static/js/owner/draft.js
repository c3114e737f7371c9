/**
 * The draft on the screen: tables that were fetched, changes that are not saved, what can be undone.
 *
 * Events: "rows" (detail: table), "unsaved", "checked", "collided", "replaced" (everything was fetched again).
 */

import { Refusal } from "../shared/api.js";
import { Faults } from "./faults.js";
import { ownChanges, rebased } from "./merge.js";
import { Sheet } from "./sheet.js";
import { Undo } from "./undo.js";

const MOST_EDITS = 20_000;
const MOST_ATTEMPTS = 5;

export class Draft extends EventTarget {
  #api;
  #next = -1;
  #undo = new Undo();
  #saving = null;
  sheets = new Map();
  collisions = new Map();
  faults = new Faults();

  constructor(api, code) {
    super();
    this.#api = api;
    this.code = code;
    this.path = `/v1/books/${encodeURIComponent(code)}/draft`;
    this.tag = null;
  }

  /** An id for a row that is not saved. */
  freshId() {
    return this.#next--;
  }

  /** The table, fetched where it was not yet. If the draft has moved on, what was fetched earlier is fetched again. */
  async table(name) {
    if (this.sheets.has(name)) return this.sheets.get(name);
    await this.#saving?.catch(() => {});
    const { data, tag } = await this.#fetch(name);
    const isOutdated = this.tag !== null && tag !== this.tag;
    if (!this.sheets.has(name)) this.sheets.set(name, new Sheet(data));
    if (isOutdated) await this.catchUp();
    this.tag ??= tag;
    return this.sheets.get(name);
  }

  #fetch(name) {
    return this.#api.get(`${this.path}/tables/${encodeURIComponent(name)}`);
  }

  get unsaved() {
    return [...this.sheets.values()].reduce((sum, sheet) => sum + sheet.changes, 0);
  }

  get isSaving() {
    return this.#saving !== null;
  }

  get canUndo() {
    return this.#undo.canGoBack;
  }

  get canRedo() {
    return this.#undo.canGoForth;
  }

  /** Shows other rows in a table, so that it can be undone. @param {object} place where the focus was */
  apply(name, rows, place) {
    const sheet = this.sheets.get(name);
    if (rows === sheet.rows) return;
    this.#undo.record({ table: name, before: sheet.rows, after: rows, place });
    this.#show(name, rows);
  }

  undo() {
    const step = this.#undo.back();
    if (step) this.#show(step.table, step.before);
    return step;
  }

  redo() {
    const step = this.#undo.forth();
    if (step) this.#show(step.table, step.after);
    return step;
  }

  #show(name, rows) {
    this.sheets.get(name).rows = rows;
    this.#tell("rows", name);
    this.#tell("unsaved");
  }

  #tell(type, detail) {
    this.dispatchEvent(new CustomEvent(type, { detail }));
  }

  /** Sends what is not saved. Raises Refusal; on 412 the caller catches up. */
  async save() {
    if (this.#saving) return;
    this.#saving = this.#save();
    this.#tell("unsaved");
    try {
      await this.#saving;
    } finally {
      this.#saving = null;
      this.#tell("unsaved");
    }
  }

  async #save() {
    const changed = [...this.sheets.values()].filter((sheet) => sheet.changes);
    const parts = changed.map((sheet) => ({ sheet, rows: sheet.rows, edits: sheet.edits }));
    const added = await this.#sent(parts.flatMap(({ edits }) => edits));
    for (const { sheet, rows, edits } of parts) {
      sheet.settle(rows, added.splice(0, edits.filter((edit) => edit.do === "add").length));
      this.#tell("rows", sheet.name);
    }
    this.#undo.clear();
    this.collisions.clear();
  }

  async #sent(edits) {
    const added = [];
    for (let first = 0; first < edits.length; first += MOST_EDITS) {
      const json = { edits: edits.slice(first, first + MOST_EDITS) };
      const { data, tag } = await this.#api.send("PATCH", this.path, { json, match: this.tag });
      this.tag = tag ?? data.draft.tag;
      added.push(...data.added);
    }
    return added;
  }

  /**
   * Fetches all tables again and carries the unsaved changes over.
   * @returns {{collisions: object[], homeless: object[], reordered: string[]}} what did not go smoothly
   */
  async catchUp() {
    const opened = openingOf(this.tag);
    const fetched = await this.#fetchAll();
    const told = { collisions: [], homeless: [], reordered: [] };
    const isAnother = opened !== openingOf(this.tag);
    for (const data of fetched) {
      const sheet = this.sheets.get(data.table);
      if (isAnother) this.#giveUp(sheet, data, told);
      else this.#carryOver(sheet, data, told);
    }
    this.#undo.clear();
    this.#tell("replaced");
    this.#tell("unsaved");
    if (told.collisions.length || told.homeless.length || told.reordered.length) this.#tell("collided", told);
    return told;
  }

  /** All at one and the same state of the draft. */
  async #fetchAll() {
    for (let attempt = 1; attempt <= MOST_ATTEMPTS; attempt += 1) {
      const answers = await Promise.all([...this.sheets.keys()].map((name) => this.#fetch(name)));
      const tags = new Set(answers.map(({ tag }) => tag));
      if (tags.size > 1) continue;
      this.tag = answers[0]?.tag ?? this.tag;
      return answers.map(({ data }) => data);
    }
    throw new Refusal(0, { detail: "The draft is being changed all the time. Try again in a moment." });
  }

  #carryOver(sheet, data, told) {
    const fresh = new Sheet(data);
    const result = rebased(sheet.base, sheet.rows, fresh.base);
    const isUntouched = sheet.rows === sheet.base;
    sheet.base = fresh.base;
    sheet.rows = isUntouched ? fresh.base : result.rows;
    if (isUntouched) return;
    for (const each of result.collisions) {
      this.collisions.set(collisionName(sheet.name, each.row, each.column), each);
      told.collisions.push({ ...each, table: sheet.name, name: rowName(sheet, each.row) });
    }
    told.homeless.push(...result.homeless.map((each) => ({ ...each, table: sheet.name })));
    if (result.orderLost) told.reordered.push(sheet.name);
  }

  /** In another draft the same ids are other rows: what was done here is told, and done to none of them. */
  #giveUp(sheet, data, told) {
    told.homeless.push(...ownChanges(sheet.base, sheet.rows).map((each) => ({ ...each, table: sheet.name })));
    sheet.base = sheet.rows = new Sheet(data).base;
  }

  collision(table, rowId, column) {
    return this.collisions.get(collisionName(table, rowId, column));
  }

  /** A collision is looked at and done with. */
  resolve(table, rowId, column) {
    this.collisions.delete(collisionName(table, rowId, column));
    this.#tell("rows", table);
  }

  /** Everything is fetched again, and what was not saved is given up. */
  async startOver() {
    for (const data of await this.#fetchAll()) this.sheets.set(data.table, new Sheet(data));
    this.#undo.clear();
    this.collisions.clear();
    this.#tell("replaced");
    this.#tell("unsaved");
  }

  /** Faults and warnings of what is saved. */
  async check() {
    const { data } = await this.#api.get(`${this.path}/check`);
    this.faults = new Faults(data);
    this.#tell("checked");
  }
}

/** Which draft a tag is of: its first part is when that was opened. */
function openingOf(tag) {
  return tag?.split(".")[0];
}

function collisionName(table, rowId, column) {
  return JSON.stringify([table, rowId, column]);
}

function rowName(sheet, id) {
  const place = sheet.placeOf(id);
  return place < 0 ? "" : `row ${place + 2}, ${Object.values(sheet.rows[place].cells)[0]}`;
}
