/** What may be seen on the device: a row a finding, with the warning that comes with it. */

import { element } from "../shared/dom.js";
import { say } from "../shared/words.js";
import { digit, fault } from "./repair_rows.js";

export class FindingRows {
  /** @param {HTMLElement} list @param {(finding: string, isSeen: boolean) => void} change */
  constructor(list, change) {
    [this.list, this.change] = [list, change];
  }

  /** Rows for what may be found on another device. */
  offer(findings) {
    this.list.replaceChildren(...findings.map((each, index) => this.#row(each, index)));
  }

  /** Ticks what has been seen. */
  show(findings) {
    for (const row of this.list.children) {
      const isOn = findings.includes(row.dataset.code);
      row.classList.toggle("on", isOn);
      row.querySelector("input").checked = isOn;
    }
  }

  #row({ code, title, stops, caution }, index) {
    const id = `finding-${code}`;
    const warning = caution ? element("p", { class: "caution", id: `${id}-caution`, dir: "auto" }, caution) : null;
    const box = element("input", {
      type: "checkbox",
      id,
      "data-row": true,
      "aria-describedby": caution ? `${id}-caution` : null,
    });
    box.addEventListener("change", () => this.change(code, box.checked));
    const mark = stops ? element("span", { class: "stops" }, say("stops the job")) : null;
    const label = element(
      "label",
      { class: "toggle" },
      box,
      element("span", { class: "title" }, title),
      mark,
      digit(index),
    );
    return element(
      "li",
      { class: stops ? "row stopping" : "row", "data-code": code },
      label,
      warning,
      fault(`fault-${id}`),
    );
  }
}
