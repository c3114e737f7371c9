/** What a refusal means, in the page's language. In English the service's own sentence says more. */

import { say } from "./words.js";

const MEANINGS = {
  "unknown-code": () => say("The rate book does not have this."),
  "not-offered": () => say("The shop does not offer this for the device."),
  "given-twice": () => say("This is named twice."),
  "part-does-not-fit": () => say("This part does not fit."),
  "grade-not-available": () => say("There is no part of this grade for the device."),
  "part-required": () => say("A part is needed, and there is none."),
  "stopped-by-finding": () => say("We cannot work on the device as it is."),
  contradiction: () => say("Two of these wishes exclude each other."),
  "out-of-range": () => say("This number is not possible."),
  "needs-owner": () => say("Only the owner may issue this. Ask for the owner's key."),
  "no-tax-rate": () => say("There is no tax rate for this day."),
  "steps-in-a-circle": () => say("These findings together cannot be worked on."),
  "invalid-value": () => say("Something is missing here, or not written as it should be."),
  "notice-required": () => say("Tell the customer first, and tick it."),
  "consent-required": () => say("The customer must agree to the higher price first."),
  "nothing-changed": () => say("The revision would change nothing."),
};

const isEnglish = (document.documentElement.lang || "en").startsWith("en");

/** @param {{reason?: string, detail?: string}} error a member of a problem document's errors */
export function meaning({ reason, detail = "" }) {
  return (!isEnglish && MEANINGS[reason]?.()) || detail;
}
