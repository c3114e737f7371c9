/** The element that a page holds: <repair-enquiry key="…">. */

import { element } from "../shared/dom.js";
import { sentences, wordList } from "../shared/sentences.js";
import { Calls } from "./calls.js";
import { EnquiryForm, unusable } from "./enquiry_form.js";
import { acceptedTags, directionOf, languageOf } from "./languages.js";
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
    if (!key) return place.append(unusable(words));
    const languages = acceptedTags(language, ...tags.map((tag) => tag ?? ""));
    const calls = new Calls({ service, key, book: this.#said("book"), languages });
    new EnquiryForm(place, calls, words, list.kept_days ?? 0).open(this.#said("device"));
  }

  #said(name) {
    const said = this.getAttribute(name) ?? origin[name];
    return name === "service" ? `${said.replace(/\/+$/, "")}/` : said;
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
