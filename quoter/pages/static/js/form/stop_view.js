/** What stands in the place of a price where the device must not be worked on. */

import { element } from "../shared/dom.js";

/** @param {import("../shared/sentences.js").Words} words @param {{phone: string, email: string}} shop */
export function stopLines(words, shop) {
  const { say } = words;
  return [element("p", { class: "amount" }, say("No price")), element("p", {}, say("We cannot work on the device as it is.")), reachLine(words, shop)];
}

/** How the shop is reached; null where the offer does not say. */
export function reachLine({ say }, shop) {
  const phone = shop?.phone && element("a", { href: `tel:${shop.phone.replaceAll(" ", "")}`, dir: "ltr" }, shop.phone);
  const email = shop?.email && element("a", { href: `mailto:${shop.email}`, dir: "ltr" }, shop.email);
  const ways = [phone, email].filter(Boolean);
  return ways.length ? element("p", {}, say("How to reach us:"), ...ways.flatMap((way) => [" ", way])) : null;
}
