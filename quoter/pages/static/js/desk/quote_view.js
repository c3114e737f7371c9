/** A quote as the desk reads it: lines with their reasons, what else it could become, and what only some keys see. */

import { element } from "../shared/dom.js";
import * as words from "../shared/words.js";
import { derivation } from "./derivation.js";
import {
  cautionsSection,
  contingenciesSection,
  figure,
  gradesSection,
  isCounted,
  lawSection,
  lineHead,
  linesTable,
  section,
  warrantySection,
} from "./quote_tables.js";

const { say } = words;

export class QuoteView {
  #opened = new Set();

  /** @param {HTMLElement} place @param {(alternative: object) => void} choose another grade */
  constructor(place, choose) {
    [this.place, this.choose] = [place, choose];
  }

  /** Shows a priced job; what has the keyboard keeps it. */
  show(doc) {
    const held = document.activeElement?.dataset?.hold;
    this.place.replaceChildren(
      ...[
        economicsSection(doc),
        section(
          say("What it is made of"),
          linesTable(doc, words, (line, index) => this.#rows(doc, line, index)),
        ),
        gradesSection(doc, words, (each, shown) => this.#choice(each, shown)),
        contingenciesSection(doc, words),
        warrantySection(doc, words),
        cautionsSection(doc, words, ({ text }) => text),
        lawSection(doc, words),
      ].filter(Boolean),
    );
    if (held) this.#hold(held);
  }

  /** Nothing to show. */
  clear() {
    this.place.replaceChildren();
  }

  #hold(name) {
    const again = this.place.querySelector(`[data-hold="${CSS.escape(name)}"]`);
    (again ?? this.place.querySelector("[data-hold^='grade ']"))?.focus({ preventScroll: true });
  }

  #rows(doc, line, index) {
    const shown = doc.formatted.lines[index];
    const key = `why ${line.kind} ${line.ref}`;
    const reasons = line.because
      ? element(
          "tr",
          { class: "because", hidden: !this.#opened.has(key) },
          element("td", { colspan: 2 }, derivation(line.because)),
        )
      : null;
    const why = reasons ? this.#why(key, shown.description, reasons) : null;
    const head = element("th", { scope: "row" }, ...lineHead(shown, isCounted(line)), why, sku(line));
    return [element("tr", {}, head, figure(shown.net)), reasons].filter(Boolean);
  }

  #why(key, description, reasons) {
    const button = element(
      "button",
      { type: "button", class: "small plain why", "data-hold": key, "aria-expanded": String(!reasons.hidden) },
      say("Why"),
    );
    button.setAttribute("aria-label", say("Why this price: {line}", { line: description }));
    button.addEventListener("click", () => {
      reasons.hidden = !reasons.hidden;
      button.setAttribute("aria-expanded", String(!reasons.hidden));
      if (reasons.hidden) this.#opened.delete(key);
      else this.#opened.add(key);
    });
    return button;
  }

  #choice(alternative, shown) {
    const { procedure, grade } = alternative;
    const properties = {
      type: "button",
      class: "small",
      "data-hold": `grade ${procedure} ${grade}`,
      on: { click: () => this.choose(alternative) },
    };
    return element(
      "button",
      { ...properties, "aria-label": say("Choose {procedure}: {grade}", { procedure: shown.procedure, grade: shown.grade }) },
      say("Choose"),
    );
  }
}

function sku({ kind, ref }) {
  return kind === "part" ? element("span", { class: "quiet code" }, ref) : null;
}

function economicsSection({ economics, formatted }) {
  if (!economics) return null;
  const { margin, cost, floor } = formatted.economics;
  const known = [
    [say("Margin"), margin ?? "–"],
    [say("Cost"), cost],
    [say("Floor"), floor],
  ].map(([name, text]) => element("div", {}, element("dt", {}, name), element("dd", {}, element("bdi", {}, text))));
  return element(
    "section",
    { class: "economics" },
    element("h2", { class: "unseen" }, say("For the shop alone")),
    element("dl", { class: "results" }, ...known),
  );
}
