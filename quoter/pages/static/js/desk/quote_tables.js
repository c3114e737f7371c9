/** The parts of a quote that the desk and the customer both see, in the words of whoever reads. Prices nothing. */

import { element } from "../shared/dom.js";
import { textIn } from "./notices.js";

/** @typedef {import("../shared/words.js").Words} Words */

export function figure(text) {
  return element("td", { class: "figure" }, element("bdi", {}, text));
}

export function section(title, ...content) {
  return element("section", {}, element("h2", {}, title), ...content);
}

/** What a line is about, and how much of it. */
export function lineHead({ description, quantity }, isMany) {
  return [description, isMany ? element("span", { class: "quiet quantity" }, element("bdi", {}, quantity)) : null];
}

/** The lines with tax and totals under them. @param {(line: object, index: number) => Node[]} rowsOf */
export function linesTable(doc, words, rowsOf) {
  const body = element("tbody", {}, ...doc.lines.flatMap((line, index) => rowsOf(line, index)));
  return element("table", { class: "lines" }, caption(words.say("Lines, before tax")), body, sums(doc, words));
}

/** A line as a customer reads it. */
export function plainRow(doc, index) {
  const shown = doc.formatted.lines[index];
  return element(
    "tr",
    {},
    element("th", { scope: "row" }, ...lineHead(shown, isCounted(doc.lines[index]))),
    figure(shown.net),
  );
}

/** Whether the quantity says anything. */
export function isCounted({ quantity, unit }) {
  return quantity !== "1" || unit !== "each";
}

function sums({ formatted, totals, tax, deposit, job }, words) {
  const taxes = formatted.tax.map(({ name, rate, tax: amount }) => sum(rate ? `${name} ${rate}` : name, amount));
  return element(
    "tfoot",
    {},
    sum(words.say("Before tax"), formatted.totals.net),
    ...(tax.length ? taxes : []),
    sum(words.say("Total"), formatted.totals.gross, "whole"),
    job.payment === "cash" && totals.cash !== totals.gross ? sum(words.say("In cash"), formatted.totals.cash) : null,
    Number(deposit) ? sum(words.say("Deposit"), formatted.deposit) : null,
  );
}

function sum(name, amount, kind = null) {
  return element("tr", { class: kind }, element("th", { scope: "row" }, name), figure(amount));
}

function caption(text) {
  return element("caption", { class: "unseen" }, text);
}

/** When it is ready and until when the price holds, a line each. @param {Words} words */
export function promises(doc, words) {
  const { formatted } = doc;
  return [
    doc.lead_days
      ? words.say("Once all parts are here, ready in about {time}", { time: formatted.time.elapsed })
      : words.say("Ready in about {time}", { time: formatted.time.elapsed }),
    doc.lead_days ? words.say("All parts are here in {time}", { time: formatted.lead_time }) : null,
    words.say("Valid until {date}", { date: formatted.valid_until }),
  ].filter(Boolean);
}

/** What the price becomes with every other grade. @param {((alternative: object, shown: object) => Node)|null} choice */
export function gradesSection(doc, words, choice = null) {
  if (!doc.alternatives.length) return null;
  const rows = doc.alternatives.map((each, index) => {
    const shown = doc.formatted.alternatives[index];
    const name = words.say("{procedure}: {grade}", { procedure: shown.procedure, grade: shown.grade });
    return outcomeRow(
      name,
      each,
      shown,
      choice ? element("td", { class: "choice" }, each.refused ? null : choice(each, shown)) : null,
    );
  });
  return section(
    words.say("Other grades of part"),
    outcomes(words, words.say("Total with another grade of part"), rows, Boolean(choice)),
  );
}

/** What the price becomes if the bench finds more, and the most that it can come to. */
export function contingenciesSection(doc, words) {
  if (!doc.contingencies.length) return null;
  const rows = doc.contingencies.map((each, index) => {
    const shown = doc.formatted.contingencies[index];
    return outcomeRow(shown.finding, each, shown, null);
  });
  const most = doc.ceiling.refused
    ? []
    : [outcomeRow(words.say("With all of these, at most"), doc.ceiling, doc.formatted.ceiling, null)];
  most[0]?.classList.add("whole");
  return section(
    words.say("If we find more on opening"),
    outcomes(words, words.say("Total if the bench finds more"), [...rows, ...most], false),
  );
}

function outcomes(words, title, rows, hasChoice) {
  const heads = [words.say("Total"), words.say("Difference")].map((text) =>
    element("th", { scope: "col", class: "figure" }, text),
  );
  const head = element("tr", {}, element("td"), ...heads, hasChoice ? element("td") : null);
  return element(
    "table",
    { class: "outcomes" },
    caption(title),
    element("thead", {}, head),
    element("tbody", {}, ...rows),
  );
}

function outcomeRow(name, { refused }, shown, choice) {
  const heading = element("th", { scope: "row" }, name);
  if (refused) return element("tr", {}, heading, element("td", { colspan: 2, class: "quiet" }, refused), choice);
  return element("tr", {}, heading, figure(shown.gross), figure(shown.difference), choice);
}

export function warrantySection(doc, words) {
  const given = doc.formatted.warranty.filter(({ terms }) => terms.length);
  if (!given.length) return null;
  const lists = given.flatMap(({ procedure, terms }) => [
    element("dt", {}, procedure),
    ...terms.map((term) => element("dd", {}, term)),
  ]);
  return section(words.say("Warranty"), element("dl", { class: "warranty" }, ...lists));
}

/** @param {(caution: {text: string, customer: string}) => string} textOf */
export function cautionsSection(doc, words, textOf) {
  if (!doc.formatted.cautions.length) return null;
  const items = doc.formatted.cautions.map((each) => element("li", { dir: "auto" }, textOf(each)));
  return section(words.say("Cautions"), element("ul", { class: "cautions" }, ...items));
}

/** What the law wants the customer to read, marked where nobody of the shop has reviewed it. */
export function lawSection({ law, locale }, words) {
  if (!law?.notices.length) return null;
  const items = law.notices.map(({ texts }) => element("li", { dir: "auto" }, textIn(texts, locale)));
  const mark = law.reviewed
    ? null
    : element(
        "p",
        { class: "quiet mark-of-template" },
        words.say("Template: to be reviewed by the shop's own adviser"),
      );
  return section(words.say("Your rights and our terms"), element("ul", { class: "cautions" }, ...items), mark);
}
