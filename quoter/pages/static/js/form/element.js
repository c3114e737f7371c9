/** The element that a page holds: <repair-enquiry key="…">. */

import { element } from "../shared/dom.js";
import { sentences, wordList } from "../shared/sentences.js";
import { Calls } from "./calls.js";
import { EnquiryForm, unusable } from "./enquiry_form.js";
import { acceptedTags, directionOf, languageOf } from "./languages.js";
import { isNotSetUp } from "./refusals.js";
import { STYLE } from "./style.js";

export const NAME = "repair-enquiry";

/** Where the form comes from, and what its script tag says for forms that do not say it themselves. */
export const origin = { service: "", key: "", book: "", language: "", device: "" };

export class RepairEnquiry extends HTMLElement {
  connectedCallback() {
    if (!this.shadowRoot) this.#draw();
  }

  async #draw() {
    const root = this.attachShadow({ mode: "open" });
    root.adoptedStyleSheets = [sheet()];
    const tags = [this.#said("language"), this.closest("[lang]")?.lang, ...navigator.languages];
    const language = languageOf(...tags);
    const place = element("section", { class: "frame", part: "frame", lang: language, dir: directionOf(language) });
    root.append(place);
    const service = this.#said("service");
    const list = await wordList(new URL(`form/words/${language}.json`, service));
    const words = sentences(language, list);
    const key = this.#said("key");
    if (!key) {
      console.warn(`<${NAME}> has no key: give it one, from "quoter key new --scope form".`);
      return place.append(unusable(words));
    }
    if (this.closest("head")) console.warn(`<${NAME}> stands in the head, where nothing is shown. Put the script tag into the body.`);
    const languages = acceptedTags(language, ...tags.map((tag) => tag ?? ""));
    const calls = new Calls({ service, key, book: this.#said("book"), languages });
    const form = new EnquiryForm(place, calls, words, list.kept_days ?? null);
    form.open(this.#said("device"));
    await warnDevelopers(form, service);
  }

  #said(name) {
    const said = this.getAttribute(name) ?? origin[name];
    return name === "service" ? `${said.replace(/\/+$/, "")}/` : said;
  }
}

/** What keeps the form from working here, told to who puts it into the page and not to visitors. */
async function warnDevelopers(form, service) {
  try {
    await form.sending.prepare();
  } catch (refused) {
    if (isNotSetUp(refused)) {
      console.warn(`<${NAME}>: ${service} takes no calls with this key from ${location.origin}. See "quoter key list".`);
    } else if (!refused.status) console.warn(`<${NAME}>: ${service} does not answer.`);
  }
}

/** One for all forms of a page. It is constructed, so that no site needs 'unsafe-inline' for it. */
let shared = null;

function sheet() {
  if (!shared) {
    shared = new CSSStyleSheet();
    shared.replaceSync(STYLE);
  }
  return shared;
}
