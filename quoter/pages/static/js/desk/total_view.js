/** The total, what is promised with it, and why it cannot be issued; what was there stays until the answer comes. */

import { sound } from "../shared/alarm.js";
import { element, tell } from "../shared/dom.js";
import * as words from "../shared/words.js";
import { promises } from "./quote_tables.js";

const { say } = words;

export class TotalView {
  /** @param {HTMLElement} place */
  constructor(place) {
    this.place = place;
    for (const name of ["amount", "with-tax", "promises", "alarm", "refused", "needs-owner", "spoken"]) {
      this[name] = document.getElementById(name);
    }
  }

  /** An answer is on its way. */
  wait() {
    this.place.setAttribute("aria-busy", "true");
  }

  /** @param {object} doc @param {boolean} isOwner who looks may issue what the desk may not */
  show(doc, isOwner) {
    const total = doc.formatted.totals.gross;
    this.#write(total, say("with tax"), promises(doc, words));
    tell(this["needs-owner"], ownerLines(doc.needs_owner ?? [], isOwner));
    this.#speak(say("Total {total}, ready in about {time}", { total, time: doc.formatted.time.elapsed }));
  }

  /** There is nothing to price yet. */
  begin() {
    this.#write("–", "", [say("Find the device, then tick what is to be done.")]);
    this.#speak("");
  }

  /** What was asked is refused, or not answered. @param {string[]} lines that are told nowhere else */
  empty(lines) {
    this.#write("–", say("No price"), []);
    tell(this.refused, lines);
    this.#speak(say("No price"));
  }

  /** The device must not be worked on. @param {{title: string, caution: string|null}[]} stops */
  stop(stops) {
    this.#write("–", say("No price"), []);
    sound(this.alarm, stops);
    this.#speak("");
  }

  /** The price stands, but it was not issued. @param {string[]} lines */
  refuse(lines) {
    tell(this.refused, lines);
  }

  #write(amount, note, lines) {
    this.place.removeAttribute("aria-busy");
    this.amount.textContent = amount;
    this["with-tax"].textContent = note;
    this.promises.replaceChildren(...lines.map((line) => element("li", {}, line)));
    this.alarm.hidden = true;
    tell(this.refused);
    tell(this["needs-owner"]);
  }

  #speak(text) {
    this.spoken.textContent = text;
  }
}

function ownerLines(reasons, isOwner) {
  if (!reasons.length) return [];
  const who = isOwner
    ? say("Only the owner may issue this. You are signed in as the owner.")
    : say("Only the owner may issue this. Ask for the owner's key.");
  return [who, ...reasons];
}
