/** The quote as the customer may see it, in the customer's words, with everything else of the page out of sight. */

import { element } from "../shared/dom.js";
import { wordsIn } from "../shared/words.js";
import { Holding } from "./holding.js";
import {
  cautionsSection,
  contingenciesSection,
  gradesSection,
  lawSection,
  linesTable,
  plainRow,
  promises,
  section,
  warrantySection,
} from "./quote_tables.js";

const DESK = document.querySelectorAll("header.frame, .skip, #main");

export class CustomerView {
  #shown = 0;

  /** @param {HTMLElement} section @param {() => void} left */
  constructor(section, left) {
    [this.section, this.left] = [section, left];
    this.content = section.querySelector(".content");
    this.holding = new Holding(section.querySelector("button"), () => this.leave());
    document.addEventListener("keydown", (event) => this.isOpen && event.key === "Escape" && this.holding.begin());
    document.addEventListener("keyup", ({ key }) => key === "Escape" && this.holding.end());
  }

  get isOpen() {
    return !this.section.hidden;
  }

  enter() {
    for (const each of DESK) each.hidden = true;
    this.section.hidden = false;
    scrollTo(0, 0);
    this.content.focus();
  }

  leave() {
    this.section.hidden = true;
    for (const each of DESK) each.hidden = false;
    this.left();
  }

  /**
   * Shows a price, or why there is none.
   * @param {{doc: object|null, stops: object[], language: string}} state document and findings in that language
   */
  async show({ doc, stops, language }) {
    const turn = ++this.#shown;
    const words = await wordsIn(language);
    if (turn !== this.#shown) return;
    this.content.lang = language;
    this.content.dir = new Intl.Locale(language).language === "ar" ? "rtl" : "ltr";
    this.content.replaceChildren(...(doc ? priced(doc, words) : unpriced(stops, words)));
  }
}

function unpriced(stops, words) {
  if (!stops.length) return [element("p", { class: "promises" }, words.say("There is no price yet."))];
  const cautions = stops.map(({ title, caution_for_customer: caution }) =>
    element("p", { dir: "auto" }, caution ?? title),
  );
  return [
    element(
      "div",
      { class: "alarm" },
      element("h1", {}, words.say("We cannot work on the device as it is.")),
      ...cautions,
    ),
  ];
}

function priced(doc, words) {
  return [
    element("p", { class: "quiet" }, doc.shop.name),
    element("h1", {}, doc.formatted.device),
    element(
      "p",
      { class: "amount" },
      element("bdi", {}, doc.formatted.totals.gross),
      " ",
      element("span", { class: "quiet" }, words.say("with tax")),
    ),
    element("ul", { class: "promises" }, ...promises(doc, words).map((line) => element("li", {}, line))),
    element("div", { class: "columns" }, ...details(doc, words).filter(Boolean)),
  ];
}

function details(doc, words) {
  return [
    section(
      words.say("What it is made of"),
      linesTable(doc, words, (_, index) => [plainRow(doc, index)]),
    ),
    contingenciesSection(doc, words),
    gradesSection(doc, words),
    warrantySection(doc, words),
    cautionsSection(doc, words, ({ customer }) => customer),
    lawSection(doc, words),
  ];
}
