/** Buttons for what keys do with rows, and the filter. */

import { counted, element } from "../shared/dom.js";

const WHY_NOT = {
  filtered: "While rows are filtered none are added or moved: clear the filter first.",
  document: "These lines have no order of their own; new ones stand at the end.",
};

const TOOLS = [
  { sign: "+", label: "above", unseen: "Insert a row ", does: (grid) => grid.insertRow(0), orders: true },
  { sign: "+", label: "below", unseen: "Insert a row ", does: (grid) => grid.insertRow(1), orders: true, adds: true },
  { sign: "↑", label: "up", unseen: "Move the row ", keys: "Alt+ArrowUp", does: (grid) => grid.moveRows(-1), orders: true },
  { sign: "↓", label: "down", unseen: "Move the row ", keys: "Alt+ArrowDown", does: (grid) => grid.moveRows(1), orders: true },
  { sign: "−", label: "delete", unseen: "The row: ", does: (grid) => grid.deleteRows() },
];

export class RowTools {
  #grid;
  #buttons;

  constructor(grid, editor) {
    this.#grid = grid;
    this.#buttons = TOOLS.map((tool) => button(tool, grid, editor));
    document.getElementById("row-tools").append(...this.#buttons);
    this.filter = document.getElementById("filter");
    this.filter.addEventListener("input", () => grid.filter(this.filter.value));
    this.filter.addEventListener("keydown", (event) => this.#key(event));
    grid.addEventListener("filtered", () => this.show());
    grid.addEventListener("moved", () => this.show());
  }

  #key(event) {
    if (event.key !== "Enter" && event.key !== "ArrowDown") return;
    event.preventDefault();
    this.#grid.move({ row: 0, column: 0 });
  }

  show() {
    const { isFiltered, sheet, size } = this.#grid;
    if (!isFiltered && document.activeElement !== this.filter) this.filter.value = "";
    const found = isFiltered ? `${size.rows.toLocaleString("en")} of ${counted(sheet.rows.length, "row")}.` : "";
    setText(document.getElementById("found"), found);
    TOOLS.forEach((tool, place) => (this.#buttons[place].disabled = !this.#canUse(tool)));
    const why = isFiltered ? WHY_NOT.filtered : sheet.isDocument ? WHY_NOT.document : "";
    setText(document.getElementById("order-note"), why);
  }

  #canUse({ orders, adds }) {
    if (orders && this.#grid.isFiltered) return false;
    return !orders || Boolean(adds) || this.#grid.canOrder;
  }
}

function button({ sign, label, unseen, keys, does }, grid, editor) {
  const click = () => {
    editor.close(true);
    does(grid);
  };
  const attributes = { type: "button", class: "small", title: unseen + label, "aria-keyshortcuts": keys, on: { click } };
  const shown = [element("span", { "aria-hidden": "true" }, `${sign} `), element("span", { class: "unseen" }, unseen), label];
  return element("button", attributes, ...shown);
}

/** A status that says the same again is not to be read out again. */
function setText(place, text) {
  if (place.textContent !== text) place.textContent = text;
}
