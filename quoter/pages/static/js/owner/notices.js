/** What must not be missed: who changed what meanwhile, and what became of the own changes. */

import { counted, element } from "../shared/dom.js";
import { hashOf } from "./places.js";

const MOST_LINES = 40;

export class Notices {
  #place;

  constructor(place) {
    this.#place = place;
  }

  clear() {
    this.#place.replaceChildren();
  }

  /** @param {(Node|string)[]} content */
  show(title, content, { isBad = false } = {}) {
    const close = element("button", { type: "button", class: "small", on: { click: () => notice.remove() } }, "Dismiss");
    const heading = element("h2", { tabindex: "-1" }, title);
    const notice = element("div", { class: isBad ? "notice bad" : "notice", role: "alert" }, heading, ...content, close);
    this.#place.replaceChildren(notice);
    return notice;
  }

  failure(title, lines) {
    this.show(title, lines.map((line) => element("p", {}, line)), { isBad: true });
  }

  /** Somebody else was quicker. @param {string[]} meanwhile @param {object} told what catching up came to */
  conflict(meanwhile, told, detail) {
    const theirs = list("What was changed meanwhile", meanwhile.map((line) => [line]));
    const collisions = list("Cells that you both changed: your text is kept here and marked, not saved", told.collisions.map(collisionLine));
    const homeless = list("Your changes that have no place any more", told.homeless.map((each) => [homelessLine(each)]));
    const order = list("Rows that you both moved: theirs counts", told.reordered.map((table) => [table]));
    const isLost = told.homeless.length && !told.collisions.length;
    const next = isLost
      ? "What could not be carried over is listed below; write it again where it belongs."
      : told.collisions.length ? "Look at the marked cells, then save again." : "Your changes are still here, on top of theirs. Save again.";
    const why = meanwhile.length ? "" : `${detail}. `;
    const content = [element("p", {}, `${why}Nothing was overwritten. ${next}`), ...theirs, ...collisions, ...homeless, ...order];
    this.show("Somebody else was quicker", content);
  }
}

function list(title, lines) {
  if (!lines.length) return [];
  const items = lines.slice(0, MOST_LINES).map((line) => element("li", {}, ...line));
  const rest = lines.length > MOST_LINES ? [element("p", { class: "quiet" }, `and ${counted(lines.length - MOST_LINES, "line")} more`)] : [];
  return [element("h3", {}, title), element("ul", {}, ...items), ...rest];
}

function collisionLine({ table, row, name, column, theirs, mine }) {
  const link = element("a", { href: hashOf({ table, row: `${row}`, column }) }, [table, name, column].filter(Boolean).join(" · "));
  return [link, column ? `: theirs “${theirs}”, yours “${mine}”` : ": they changed this row, you deleted it; it is back"];
}

function homelessLine({ table, row, cells }) {
  const name = Object.values(row.cells)[0];
  const written = Object.entries(cells).map(([column, text]) => `${column} “${text}”`);
  return `${table} · ${name}: ${written.join(", ") || "deleted"}`;
}
