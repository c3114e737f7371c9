/** From fault to fault, through all tables. */

import { element } from "../shared/dom.js";
import { tableOf } from "./faults.js";
import { hashOfFlaw } from "./places.js";

export class FaultTools {
  #draft;
  #open;
  #last = -1;

  /** @param {(hash: string) => void} open puts the focus on the cell of an address */
  constructor(draft, open) {
    [this.#draft, this.#open] = [draft, open];
    this.button = element("button", { type: "button", class: "small", "aria-keyshortcuts": "F8", on: { click: () => this.next() } });
    document.getElementById("fault-tools").append(this.button);
    for (const type of ["checked", "unsaved"]) draft.addEventListener(type, () => this.show());
    document.addEventListener("keydown", (event) => {
      if (event.key !== "F8") return;
      event.preventDefault();
      this.next();
    });
    this.show();
  }

  /** Faults whose cell still says what was checked. */
  get #left() {
    return this.#draft.faults.flaws.filter((flaw) => !isMended(this.#draft, flaw));
  }

  show() {
    const count = this.#left.length;
    this.button.textContent = count ? `Next fault (${count})` : "No faults";
    this.button.disabled = count === 0;
  }

  next() {
    const left = this.#left;
    if (!left.length) return;
    const all = this.#draft.faults.flaws;
    const after = left.find((flaw) => all.indexOf(flaw) > this.#last) ?? left[0];
    this.#last = all.indexOf(after);
    this.#open(hashOfFlaw(after));
  }
}

function isMended(draft, flaw) {
  const sheet = draft.sheets.get(tableOf(flaw.table));
  if (!sheet || sheet.rows === sheet.base) return false;
  if (flaw.row_id === null) return sheet.isDocument && sheet.rows.some((row) => row.cells.key === flaw.column && sheet.isChanged(row, "value"));
  const row = sheet.rows[sheet.placeOf(flaw.row_id)];
  return !row || sheet.isChanged(row, flaw.column);
}
