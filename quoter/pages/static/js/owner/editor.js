/** The editor of a draft: puts the parts together. */

import { Api } from "../shared/api.js";
import { CellEditor } from "./cell_editor.js";
import { CellNote } from "./cell_note.js";
import { counted, linesOf } from "../shared/dom.js";
import { Draft } from "./draft.js";
import { FaultTools } from "./fault_tools.js";
import { Grid } from "./grid.js";
import { GridClipboard } from "./grid_clipboard.js";
import { GridKeys } from "./grid_keys.js";
import { GridPointer } from "./grid_pointer.js";
import { Notices } from "./notices.js";
import { PanelCheck } from "./panel_check.js";
import { PanelComparison } from "./panel_comparison.js";
import { PanelDiscard } from "./panel_discard.js";
import { PanelEffect } from "./panel_effect.js";
import { PanelFiles } from "./panel_files.js";
import { PanelPublication } from "./panel_publication.js";
import { addressIn, goTo } from "./places.js";
import { RowTools } from "./row_tools.js";
import { TableList } from "./table_list.js";

const byId = (id) => document.getElementById(id);

class Editor {
  constructor(main) {
    const { code, timezone, newest, openedAt } = main.dataset;
    this.tables = JSON.parse(main.dataset.tables);
    this.api = new Api();
    this.draft = new Draft(this.api, code);
    this.notices = new Notices(byId("notices"));
    this.grid = new Grid(byId("grid"), this.draft);
    this.cell = new CellEditor(this.grid, (table) => this.#codes(table));
    this.list = new TableList(byId("tables"), this.draft, this.tables);
    this.#equip();
    this.#furnish({ newest: Number(newest), timezone, openedAt });
    this.#listen();
  }

  #equip() {
    new GridKeys(this.grid, this.cell);
    new GridPointer(this.grid, this.cell);
    new GridClipboard(this.grid, this.cell);
    new RowTools(this.grid, this.cell);
    new CellNote(byId("note"), this.grid, this.draft);
    new FaultTools(this.draft, (hash) => this.#follow(hash));
  }

  #furnish({ openedAt, ...facts }) {
    const columns = Object.fromEntries(this.tables.map((table) => [table.name, table.columns]));
    this.check = new PanelCheck(byId("check"), this.draft);
    this.comparison = new PanelComparison(byId("comparison"), this.draft, this.api);
    new PanelEffect(byId("effect"), this.draft, this.api, openedAt);
    new PanelPublication(byId("publication"), this.draft, this.api, facts);
    new PanelFiles(byId("files"), this.draft, this.api, columns, () => this.#broughtIn());
    new PanelDiscard(byId("discard"), this.draft, this.api);
  }

  #listen() {
    byId("save").addEventListener("click", () => this.save());
    byId("undo").addEventListener("click", () => this.#step("undo"));
    byId("redo").addEventListener("click", () => this.#step("redo"));
    document.addEventListener("keydown", (event) => this.#key(event));
    document.addEventListener("click", (event) => this.#clicked(event));
    this.draft.addEventListener("unsaved", () => this.#showUnsaved());
    this.draft.addEventListener("left", () => (this.hasLeft = true));
    addEventListener("hashchange", () => this.#open(location.hash));
    addEventListener("beforeunload", (event) => this.#leaving(event));
  }

  async start() {
    const first = addressIn(location.hash).table || this.tables[0].name;
    const isKnown = this.tables.some(({ name }) => name === first);
    await this.#guarded("The draft could not be read", () => this.#open(isKnown ? location.hash || `#${first}` : `#${this.tables[0].name}`));
    this.#showUnsaved();
    await this.#check();
  }

  async #guarded(title, action) {
    try {
      await action();
    } catch (error) {
      this.notices.failure(title, linesOf(error));
    }
  }

  /** A link to the cell that is the page's address already leads there once more. */
  #clicked(event) {
    const link = event.target.closest?.('a[href^="#"]:not(.skip)');
    if (link && link.getAttribute("href") === location.hash) this.#open(location.hash);
  }

  #follow(hash) {
    if (location.hash === hash) this.#open(hash);
    else location.hash = hash;
  }

  /** @param {string} hash of a table or a cell */
  async #open(hash) {
    const address = addressIn(hash);
    if (!this.tables.some(({ name }) => name === address.table)) return;
    await this.#guarded("The table could not be read", async () => {
      this.cell.close(true);
      const sheet = await this.draft.table(address.table);
      this.list.open(address.table);
      if (this.grid.sheet?.name !== sheet.name) this.grid.open(sheet);
      if (address.row || address.column) goTo(this.grid, address);
    });
  }

  async #codes(table) {
    const sheet = await this.draft.table(table);
    return sheet.rows.map((row) => row.cells.code).filter(Boolean);
  }

  #key(event) {
    const isCommand = (event.ctrlKey || event.metaKey) && !event.altKey;
    const key = event.key.toLowerCase();
    if (!isCommand || !["s", "z", "y"].includes(key)) return;
    if (key !== "s" && event.target.matches("input, textarea")) return;
    event.preventDefault();
    if (key === "s") this.save();
    else this.#step(key === "z" && !event.shiftKey ? "undo" : "redo");
  }

  async #step(way) {
    this.cell.close(true);
    const step = this.draft[way]();
    if (!step) return;
    if (step.table !== this.grid.sheet.name) await this.#open(`#${encodeURIComponent(step.table)}`);
    this.grid.move(step.place);
  }

  async save() {
    this.cell.close(true);
    if (!this.draft.unsaved || this.draft.isSaving || this.#refusesNameless()) return;
    try {
      await this.draft.save();
      this.notices.clear();
      await Promise.all([this.#check(), this.comparison.show()]);
    } catch (error) {
      if (error.status === 412) await this.#guarded("Not saved", () => this.#catchUp(error));
      else this.notices.failure("Not saved", linesOf(error));
    }
  }

  /** A document with two lines of one key cannot be sent without losing one of them. */
  #refusesNameless() {
    for (const sheet of this.draft.sheets.values()) {
      if (!sheet.nameless) continue;
      const key = sheet.nameless.cells.key.trim();
      this.notices.failure("Not saved", [key ? `Two lines of ${sheet.name} have the key ${key}.` : `A line of ${sheet.name} has a value and no key.`]);
      return true;
    }
    return false;
  }

  async #catchUp(error) {
    const told = await this.draft.catchUp();
    this.notices.conflict(error.problem.meanwhile ?? [], told, error.message);
    await this.#check();
  }

  async #check() {
    this.check.wait();
    try {
      await this.draft.check();
    } catch (error) {
      this.check.fail(linesOf(error));
    }
  }

  async #broughtIn() {
    await this.draft.startOver();
    this.list.show();
    await Promise.all([this.#check(), this.comparison.show()]);
  }

  #showUnsaved() {
    const { unsaved, isSaving, canUndo, canRedo } = this.draft;
    byId("undo").disabled = !canUndo;
    byId("redo").disabled = !canRedo;
    byId("save").disabled = !unsaved || isSaving;
    byId("save").textContent = unsaved ? `Save ${counted(unsaved, "change")}` : "Save";
    byId("unsaved").textContent = isSaving ? "Saving…" : unsaved ? "Not saved" : "All saved";
  }

  #leaving(event) {
    if (this.draft.unsaved && !this.hasLeft) event.preventDefault();
  }
}

new Editor(document.getElementById("main")).start();
