/** A form that changes a quote: sent once, with what stands in its way told in its own place. */

import { element, linesOf, tell } from "../shared/dom.js";
import { say } from "../shared/words.js";
import { refreshed } from "./fresh.js";

const CHANGED_MEANWHILE = 412;

/**
 * @param {HTMLFormElement} form with a place .problem
 * @param {() => Promise<any>} send
 * @returns {Promise<any>} what `send` gave; null where it was refused
 */
export async function sent(form, send) {
  const place = form.querySelector(".problem[role=alert]");
  const button = form.querySelector(".actions button");
  tell(place);
  button.disabled = true;
  try {
    return await send();
  } catch (error) {
    if (error.status === CHANGED_MEANWHILE) tellConflict(place, error.problem.meanwhile ?? []);
    else tell(place, linesOf(error));
    place.scrollIntoView({ block: "nearest" });
    return null;
  } finally {
    button.disabled = false;
  }
}

function tellConflict(place, meanwhile) {
  const look = element("button", { type: "button", class: "look" }, say("Look at the new version"));
  look.addEventListener("click", async () => {
    await refreshed({ keep: true });
    const head = document.querySelector("#head");
    head.tabIndex = -1;
    head.focus();
    tell(place);
  });
  place.replaceChildren(
    element("strong", {}, say("Somebody else was quicker. Nothing was overwritten, and what you wrote is still here.")),
    element("ul", {}, ...meanwhile.map((line) => element("li", {}, line))),
    look,
  );
  place.hidden = false;
}
