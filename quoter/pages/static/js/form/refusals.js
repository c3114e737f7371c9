/** What a refusal means for whoever fills in the form, in their language and at the field. */

import { fieldOf } from "./wish.js";

const SECONDS_IN_A_MINUTE = 60;

const NOT_SET_UP = ["origin-not-allowed", "key-required", "not-allowed"];

/**
 * What to say of a refusal as a whole.
 * @param {import("../shared/sentences.js").Words} words @param {import("./calls.js").Refused} refused
 */
export function refusalSentence({ say, plural }, refused) {
  if (!refused.status) return say("The line dropped. Nothing you wrote is lost: send it again, it arrives only once.");
  if (isNotSetUp(refused)) return notSetUp({ say });
  if (refused.status === 429) return [say("Too much has been sent from here."), laterSentence(plural, refused.seconds)].join(" ");
  if (refused.is("form-used")) return say("What you sent before has arrived. Send again, and what you changed arrives as well.");
  if (refused.is("looks-automatic")) return say("Something had filled in a hidden field. It is empty again: please send once more.");
  if (refused.status >= 500) return say("This does not work just now. Nothing you wrote is lost: try again in a while.");
  return say("Not sent yet: please look at the marked fields.");
}

/** The same of a question that sends nothing of what was written: where it is not understood, the page asks wrongly. */
export function lookUpSentence(words, refused) {
  const isOfThePage = refused.status >= 400 && refused.status < 500 && refused.status !== 429;
  return isOfThePage ? notSetUp(words) : refusalSentence(words, refused);
}

/** Whether only the shop can do something about it. */
export function isNotSetUp(refused) {
  return NOT_SET_UP.some((code) => refused.is(code));
}

/** Where the form stands on a site that its key is not for. */
export function notSetUp({ say }) {
  return say("This form is not set up for this site. Please call the shop or write to it.");
}

/** When to try again. @param {number|null} seconds */
export function laterSentence(plural, seconds) {
  const minutes = Math.max(1, Math.ceil((seconds ?? 0) / SECONDS_IN_A_MINUTE));
  return plural("Please try again in {n} minute.", "Please try again in {n} minutes.", minutes);
}

const MEANINGS = {
  phone: (say) => say("Please write a phone number or an email address, so that we can reach you."),
  email: (say) => say("Please write an email address such as name@example.org."),
  agreed: (say) => say("Please tick that you agree; without it we may not keep what you write."),
};

/** What is wrong with a field that a pointer is about; nothing where it needs the reason to be told. */
export function faultSentence({ say }, field, pointer) {
  return pointer === "/contact/phone" ? say("Please write the number in digits.") : MEANINGS[field]?.(say);
}

/** What is wrong, by field; "" holds what is about none. @returns {Map<string, string>} */
export function faultsOf(words, refused, job) {
  const faults = new Map();
  for (const { pointer = "", reason } of refused.errors) {
    const field = fieldOf(pointer, job);
    if (!field) continue;
    faults.set(field, faultSentence(words, field, pointer) ?? meaning(words.say, reason));
  }
  return faults;
}

function meaning(say, reason) {
  if (reason === "grade-not-available" || reason === "part-required") return say("There is no part for this just now.");
  if (reason === "stopped-by-finding") return say("We cannot work on the device as it is.");
  if (reason === "contradiction") return say("This does not go together with something else that you ticked.");
  return say("Something is missing here, or not written as it should be.");
}
