/** The way from table to table, with how many rows, faults and unsaved changes each has. */

import { counted, element } from "../shared/dom.js";
import { hashOf } from "./places.js";

export class TableList {
  #links = new Map();
  #draft;
  #tables;
  current = "";

  /** @param {{name: string, title: string, rows: number}[]} tables */
  constructor(place, draft, tables) {
    [this.#draft, this.#tables] = [draft, tables];
    for (const { name } of tables) this.#links.set(name, element("a", { href: hashOf({ table: name }) }));
    place.replaceChildren(element("ul", {}, ...[...this.#links.values()].map((link) => element("li", {}, link))));
    for (const type of ["unsaved", "checked", "replaced"]) draft.addEventListener(type, () => this.show());
    this.show();
  }

  /** Another table is on the screen. */
  open(name) {
    this.current = name;
    this.show();
    this.#links.get(name).scrollIntoView({ block: "nearest", inline: "nearest" });
  }

  /** The links stay, so that none loses the focus. */
  show() {
    for (const table of this.#tables) {
      const link = this.#links.get(table.name);
      if (table.name === this.current) link.setAttribute("aria-current", "page");
      else link.removeAttribute("aria-current");
      link.replaceChildren(...this.#told(table).filter(Boolean));
    }
  }

  #told({ name, title, rows }) {
    const sheet = this.#draft.sheets.get(name);
    const { faults } = this.#draft;
    const count = `${sheet?.rows.length ?? rows}`;
    return [
      element("span", { class: "title" }, title),
      badge("unsaved", sheet?.changes ?? 0, "unsaved change"),
      badge("warnings", faults.warningCount(name), "warning"),
      badge("faults", faults.count(name), "fault"),
      element("span", { class: "count quiet" }, count, element("span", { class: "unseen" }, " rows")),
    ];
  }
}

const SIGNS = { unsaved: "•", warnings: "△", faults: "!" };

function badge(kind, count, word) {
  if (!count) return null;
  const sign = element("span", { "aria-hidden": "true" }, `${SIGNS[kind]}${count}`);
  return element("span", { class: `badge ${kind}`, title: counted(count, word) }, sign, element("span", { class: "unseen" }, `, ${counted(count, word)}, `));
}
