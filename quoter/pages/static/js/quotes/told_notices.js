/** Notices that the law has a customer told before a revision is issued: asked for only where they are missing. */

import { element } from "../shared/dom.js";

/** @param {object} after the document of the revision as it would be */
export function askNotices(after) {
  const place = document.querySelector("#notices");
  const ticked = toldNotices();
  const asked = (after.law?.notices ?? []).filter((each) => each.must_be_told && !isTold(each, after, ticked));
  place.hidden = asked.length === 0;
  place.querySelector(".list").replaceChildren(...asked.map((each) => notice(each, after, ticked)));
}

/** Codes of what was ticked. */
export function toldNotices() {
  return [...document.querySelectorAll("#notices [name=told]:checked")].map((box) => box.value);
}

/** The first notice that waits for its tick, if any. */
export function untoldNotice() {
  return document.querySelector("#notices:not([hidden]) [name=told]:not(:checked)");
}

/** What is ticked on this page counts as told in the preview, but stays to be seen. */
function isTold({ code }, after, ticked) {
  return after.told.includes(code) && !ticked.includes(code);
}

/** In the customer's language, since it is for them to read. */
function notice({ code, texts }, { job: { locale } }, ticked) {
  const language = [locale, locale.split("-")[0], "en", ...Object.keys(texts)].find((each) => each in texts);
  const box = element("input", { type: "checkbox", name: "told", value: code, checked: ticked.includes(code) });
  return element("label", { class: "tick" }, box, element("span", { lang: language, dir: "auto" }, texts[language]));
}
