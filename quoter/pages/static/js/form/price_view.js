/** The price as the service writes it. Nothing here computes or formats an amount. */

import { element } from "../shared/dom.js";

/**
 * @param {import("../shared/sentences.js").Words} words @param {object} price an answer with `formatted`
 * @returns {HTMLElement[]} what a customer should know of it, the amount first
 */
export function priceLines({ say }, price) {
  const { totals, ceiling, cautions = [] } = price.formatted;
  return [
    element("p", { class: "amount", part: "price" }, say("About {amount}", { amount: totals.gross })),
    element("p", { class: "quiet" }, taxWords(say, price)),
    ...timeLines(say, price),
    element("p", {}, indicationWords(say, ceiling.gross)),
    cautions.length ? cautionList(say, cautions) : null,
  ].filter(Boolean);
}

/** How much of it is tax, in the way that prices are shown at the shop's place. */
export function taxWords(say, { display, law, totals, formatted }) {
  if (/^0*(\.0*)?$/.test(totals.tax)) return "";
  const { net, tax } = formatted.totals;
  if (law?.tax_in_price ?? display === "inclusive") return say("including {tax} tax", { tax });
  return say("{net} and {tax} tax", { net, tax });
}

/** That the price binds nobody yet, and how far it may go. @param {string|undefined} ceiling none where work would stop */
export function indicationWords(say, ceiling) {
  if (!ceiling) return say("This price is an indication. The shop makes you a quote once it knows what the device needs.");
  return say(
    "This price is an indication: with what may come to light on the bench it can be up to {ceiling}. " +
      "The shop makes you a quote once it knows what the device needs.",
    { ceiling },
  );
}

/** When it is ready, and whether parts must come first: each by itself, since no language joins them alike. */
export function timeWords(say, { lead_days: days, formatted }) {
  const time = formatted.time.elapsed;
  if (!days) return [say("Ready in about {time}", { time })];
  const parts = say("All parts are here in {time}", { time: formatted.lead_time });
  return [parts, say("Once all parts are here, ready in about {time}", { time })];
}

/** The same, a paragraph each. */
export function timeLines(say, price) {
  return timeWords(say, price).map((line) => element("p", {}, line));
}

/** The price and the time, to be read out. */
export function spokenLines({ say }, price) {
  return [element("p", {}, say("About {amount}", { amount: price.formatted.totals.gross })), ...timeLines(say, price)];
}

function cautionList(say, cautions) {
  const texts = cautions.map((each) => element("li", { dir: "auto" }, each.customer ?? each.text));
  return element("details", {}, element("summary", {}, say("What to know before the repair")), element("ul", {}, ...texts));
}
