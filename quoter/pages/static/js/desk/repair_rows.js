/** What is offered for the device: a row a repair, with the price of each grade, to be ticked. */

import { element } from "../shared/dom.js";
import { plural, say } from "../shared/words.js";
import { gradesOf } from "./job.js";

export class RepairRows {
  #procedures = [];

  /** @param {HTMLElement} list @param {(procedure: string, grade: string|null) => void} change null takes it off */
  constructor(list, change) {
    [this.list, this.change] = [list, change];
  }

  /** Rows for what is offered for another device. */
  offer(procedures) {
    this.#procedures = procedures;
    this.list.replaceChildren(...procedures.map((each, index) => this.#row(each, index)));
  }

  /** Ticks what is wished for. @param {Object<string, string>} repairs the grade by procedure */
  show(repairs) {
    for (const row of this.list.children) {
      const isOn = row.dataset.code in repairs;
      row.classList.toggle("on", isOn);
      row.querySelector("input[type=checkbox]").checked = isOn;
      for (const radio of row.querySelectorAll("input[type=radio]")) {
        radio.checked = isOn && radio.value === repairs[row.dataset.code];
        radio.tabIndex = isOn ? 0 : -1;
      }
    }
  }

  /** Writes what each would cost. @param {{procedure: string, grade: string, text: string, why: string}[]} prices */
  price(prices) {
    for (const { procedure, grade, text, why } of prices) {
      const place = this.list.querySelector(`[data-price="${CSS.escape(`${procedure} ${grade}`)}"]`);
      if (!place) continue;
      place.textContent = text;
      place.title = why;
    }
  }

  #row(each, index) {
    const grades = gradesOf(each);
    const box = element("input", { type: "checkbox", id: `repair-${each.procedure}`, "data-row": true });
    box.addEventListener("change", () => this.change(each.procedure, box.checked ? (grades[0]?.grade ?? "") : null));
    const label = element(
      "label",
      { class: "toggle" },
      box,
      element("span", { class: "title" }, each.title),
      digit(index),
    );
    const only = grades.length ? null : element("span", { class: "alone" }, priceOf(each.procedure, ""));
    return element(
      "li",
      { class: "row", "data-code": each.procedure },
      label,
      only,
      this.#grades(each, grades),
      fault(`fault-${box.id}`),
    );
  }

  #grades({ procedure, title }, grades) {
    if (!grades.length) return null;
    const chips = grades.map(({ grade, called, days }) => {
      const radio = element("input", { type: "radio", name: `grade-${procedure}`, value: grade, tabindex: -1 });
      radio.addEventListener("change", () => this.change(procedure, grade));
      const wait = days ? element("span", { class: "quiet" }, plural("{n} day", "{n} days", days)) : null;
      return element(
        "label",
        { class: "chip" },
        radio,
        element("span", { class: "grade" }, called, wait),
        priceOf(procedure, grade),
      );
    });
    return element(
      "span",
      { class: "chips", role: "radiogroup", "aria-label": say("Grade: {procedure}", { procedure: title }) },
      ...chips,
    );
  }
}

function priceOf(procedure, grade) {
  return element("bdi", { class: "price", "data-price": `${procedure} ${grade}` }, "…");
}

/** The key that ticks a row, for those that have one. */
export function digit(index) {
  return index < 9 ? element("kbd", { "aria-hidden": "true" }, String(index + 1)) : null;
}

/** Where a refusal is told, beside what it is about. */
export function fault(id) {
  return element("p", { class: "fault", id, hidden: true });
}
