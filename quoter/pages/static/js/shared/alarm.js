/** What stops all work: said at once, in red and in full. */

import { element } from "./dom.js";
import { say } from "./words.js";

/** @param {HTMLElement} place with role=alert @param {{title: string, caution: string|null}[]} stops none: silence */
export function sound(place, stops) {
  const told = stops.flatMap(({ title, caution }) => [
    element("p", { class: "quiet" }, title),
    caution ? element("p", { dir: "auto" }, caution) : null,
  ]);
  place.replaceChildren(element("h2", {}, say("Stop. Do this now.")), ...told.filter(Boolean));
  place.hidden = stops.length === 0;
}
