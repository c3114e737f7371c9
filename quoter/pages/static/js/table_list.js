/** The way from table to table, with how many rows, faults and unsaved changes each has. */

import { counted, element } from "./dom.js";
import { hashOf } from "./places.js";

export class TableList {
  #place;
  #draft;
  #tables;
  current = "";

  /** @param {{name: string, title: string, rows: number}[]} tables */
  constructor(place, draft, tables) {
    [this.#place, this.#draft, this.#tables] = [place, draft, tables];
    for (const type of ["unsaved", "checked", "replaced"]) draft.addEventListener(type, () => this.show());
  }

  show() {
    const items = this.#tables.map((table) => element("li", {}, this.#link(table)));
    this.#place.replaceChildren(element("ul", {}, ...items));
  }

  #link({ name, title, rows }) {
    const sheet = this.#draft.sheets.get(name);
    const { faults } = this.#draft;
    const current = name === this.current ? "page" : null;
    return element(
      "a",
      { href: hashOf({ table: name }), "aria-current": current },
      element("span", { class: "title" }, title),
      badge("unsaved", sheet?.changes ?? 0, "unsaved change"),
      badge("warnings", faults.warningCount(name), "warning"),
      badge("faults", faults.count(name), "fault"),
      element("span", { class: "count quiet" }, `${sheet?.rows.length ?? rows}`, element("span", { class: "unseen" }, " rows")),
    );
  }
}

const SIGNS = { unsaved: "•", warnings: "△", faults: "!" };

function badge(kind, count, word) {
  if (!count) return null;
  const sign = element("span", { "aria-hidden": "true" }, `${SIGNS[kind]}${count}`);
  return element("span", { class: `badge ${kind}`, title: counted(count, word) }, sign, element("span", { class: "unseen" }, `, ${counted(count, word)}, `));
}
