/** Which enquiry the quote will answer, with what the visitor noticed. */

import { element } from "../shared/dom.js";
import { say } from "../shared/words.js";

/** @param {HTMLElement} place @param {{id: string, reference: string, noticed: string}|null} enquiry */
export function showEnquiry(place, enquiry) {
  place.hidden = !enquiry;
  if (!enquiry) return place.replaceChildren();
  const way = { href: `/desk/enquiries/${encodeURIComponent(enquiry.id)}` };
  const noticed = enquiry.noticed ? element("q", { dir: "auto", class: "noticed" }, enquiry.noticed) : null;
  place.replaceChildren(element("a", way, say("For enquiry {reference}", { reference: enquiry.reference })));
  if (noticed) place.append(" ", noticed);
}
