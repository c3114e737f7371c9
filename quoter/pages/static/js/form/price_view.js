/** The price as the service writes it. Nothing here computes or formats an amount. */

import { element } from "../shared/dom.js";

/**
 * @param {import("../shared/sentences.js").Words} words @param {object} price an answer with `formatted`
 * @returns {HTMLElement[]} what a customer should know of it, the amount first
 */
export function priceLines({ say }, price) {
  const { totals, ceiling, cautions = [] } = price.formatted;
  const isMore = ceiling?.gross && ceiling.gross !== totals.gross;
  return [
    element("p", { class: "amount", part: "price" }, say("About {amount}", { amount: totals.gross })),
    element("p", { class: "quiet" }, taxWords(say, price)),
    element("p", {}, timeWords(say, price)),
    isMore ? element("p", {}, say("If we find more on opening: {amount} at most.", { amount: ceiling.gross })) : null,
    element("p", { class: "quiet" }, say("This is not an offer yet: we name the price once we have seen the device.")),
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

/** When it is ready, and whether parts must come first. */
export function timeWords(say, { lead_days: days, formatted }) {
  const time = formatted.time.elapsed;
  if (!days) return say("Ready in about {time}", { time });
  const parts = say("All parts are here in {time}", { time: formatted.lead_time });
  return `${parts}. ${say("Once all parts are here, ready in about {time}", { time })}.`;
}

/** In one sentence, to be read out. */
export function priceSentence({ say }, price) {
  return `${say("About {amount}", { amount: price.formatted.totals.gross })}. ${timeWords(say, price)}`;
}

function cautionList(say, cautions) {
  const texts = cautions.map((each) => element("li", { dir: "auto" }, each.customer ?? each.text));
  return element("details", {}, element("summary", {}, say("What to know before the repair")), element("ul", {}, ...texts));
}
