/** What is offered for the device and what may be noticed on it, each to be ticked. */

import { element } from "../shared/dom.js";
import { fault, tickBox } from "./fields.js";
import { gradesOf } from "./wish.js";

export class Choices {
  /**
   * @param {import("../shared/sentences.js").Words} words
   * @param {{repair: (procedure: string, grade: string|null) => void, finding: (code: string, isSeen: boolean) => void}} told
   *   the grade is null where a repair is taken off
   */
  constructor(words, told) {
    [this.words, this.told] = [words, told];
    this.repairs = element("div", { class: "rows" });
    this.findings = element("div", { class: "rows" });
  }

  /** Both lists, each under its question. */
  get elements() {
    const { say } = this.words;
    return [
      element("fieldset", {}, element("legend", {}, say("What shall be repaired?")), this.repairs),
      element("fieldset", {}, element("legend", {}, say("What have you noticed?")), this.findings),
    ];
  }

  /** Rows for another device. */
  offer({ procedures, findings }) {
    this.repairs.replaceChildren(...procedures.map((each) => this.#repair(each)));
    this.findings.replaceChildren(...findings.map((each) => this.#finding(each)));
    this.findings.closest("fieldset").hidden = findings.length === 0;
  }

  #repair(offered) {
    const { procedure, title } = offered;
    const grades = gradesOf(offered);
    const label = tickBox(`repair-${procedure}`, title);
    const box = label.querySelector("input");
    const choice = grades.length > 1 ? this.#grades(title, procedure, grades) : null;
    const chosen = () => choice?.querySelector(":checked").value ?? grades[0]?.grade ?? "";
    box.addEventListener("change", () => {
      if (choice) choice.hidden = !box.checked;
      this.told.repair(procedure, box.checked ? chosen() : null);
    });
    choice?.addEventListener("change", () => this.told.repair(procedure, chosen()));
    return element("div", { class: "row" }, label, choice, fault(`repair-${procedure}`));
  }

  /** Radio buttons, the preferred grade first and chosen. */
  #grades(title, procedure, grades) {
    const { say, plural } = this.words;
    const options = grades.map(({ grade, called, days }, index) => {
      const id = `grade-${procedure}`;
      const radio = element("input", { type: "radio", name: id, value: grade, checked: index === 0 });
      const wait = days ? element("span", { class: "quiet" }, " ", plural("part here in {n} day", "part here in {n} days", days)) : null;
      return element("label", { class: "tick", part: "choice" }, radio, element("span", {}, called, wait));
    });
    const label = say("Grade: {procedure}", { procedure: title });
    return element("div", { class: "grades", role: "radiogroup", "aria-label": label, hidden: true }, ...options);
  }

  /** With its warning, which is read out when it is ticked. */
  #finding({ code, title, stops, caution_for_customer: caution }) {
    const label = tickBox(`finding-${code}`, title);
    const box = label.querySelector("input");
    const warning = element("div", { class: stops ? "alarm" : "caution", part: "caution", role: stops ? "alert" : "status" });
    box.addEventListener("change", () => {
      const isTold = box.checked && caution;
      warning.replaceChildren(...(isTold ? this.#warning(caution, stops) : []));
      this.told.finding(code, box.checked);
    });
    return element("div", { class: "row" }, label, warning, fault(`finding-${code}`));
  }

  #warning(caution, stops) {
    const { say } = this.words;
    const heading = stops ? element("strong", {}, say("Stop. Do this now.")) : null;
    return [heading, element("p", { dir: "auto" }, caution)].filter(Boolean);
  }
}
