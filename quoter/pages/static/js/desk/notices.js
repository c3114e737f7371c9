/** What the law wants the customer to be told before a quote is issued. */

import { element } from "../shared/dom.js";

export class Notices {
  #codes = [];

  /** @param {HTMLFieldSetElement} fieldset @param {(told: string[]) => void} change */
  constructor(fieldset, change) {
    this.fieldset = fieldset;
    this.list = fieldset.querySelector("ul");
    this.list.addEventListener("change", () => change(this.told));
  }

  /** @param {object|null} [law] of a priced job @param {string[]} told @param {string} [language] of the desk */
  show(law, told, language = "en") {
    const due = mustBeTold(law);
    const codes = due.map(({ code }) => code);
    if (codes.join(" ") !== this.#codes.join(" ")) {
      this.#codes = codes;
      this.list.replaceChildren(...due.map(({ code, texts }) => row(code, textIn(texts, language))));
    }
    for (const box of this.list.querySelectorAll("input")) box.checked = told.includes(box.value);
    this.fieldset.hidden = due.length === 0;
  }

  /** Codes of those that have been told. */
  get told() {
    return [...this.list.querySelectorAll("input:checked")].map((box) => box.value);
  }

  /** The first that has not been told. @returns {HTMLInputElement|undefined} */
  get untold() {
    return [...this.list.querySelectorAll("input")].find((box) => !box.checked);
  }
}

/** The notices without which a quote is not issued. */
export function mustBeTold(law) {
  return (law?.notices ?? []).filter((notice) => notice.must_be_told);
}

/** A text in a language, else in English, else in any. @param {Object<string, string>} texts */
export function textIn(texts, language) {
  return texts[language] ?? texts[language.split("-")[0]] ?? texts.en ?? Object.values(texts)[0] ?? "";
}

function row(code, text) {
  return element(
    "li",
    {},
    element(
      "label",
      { class: "toggle" },
      element("input", { type: "checkbox", value: code, "data-row": true }),
      element("span", { class: "title" }, text),
    ),
  );
}
