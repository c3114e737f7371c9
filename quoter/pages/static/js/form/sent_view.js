/** What the visitor is told once their enquiry has arrived. */

import { element } from "../shared/dom.js";
import { timeLines } from "./price_view.js";

/** @param {import("../shared/sentences.js").Words} words @param {object} answer @param {() => void} again begins another one */
export function sentView({ say }, answer, again) {
  const button = element("button", { type: "button", class: "plain", part: "button", on: { click: again } }, say("Ask about another repair"));
  return element(
    "div",
    { class: "sent" },
    element("h2", { tabindex: "-1", part: "heading" }, say("Thank you, your enquiry has arrived.")),
    element("p", {}, say("Your reference:"), " ", element("strong", { class: "reference", dir: "ltr", part: "reference" }, answer.reference)),
    element("p", {}, element("bdi", {}, answer.formatted.device)),
    element("p", { class: "amount", part: "price" }, say("About {amount}", { amount: answer.formatted.price.gross })),
    ...timeLines(say, answer),
    element("p", {}, answer.formatted.indicative),
    element("p", {}, say("We look at it and get in touch with you.")),
    button,
  );
}
