/** The check: every fault and warning as a link to its cell. */

import { counted, element } from "../shared/dom.js";
import { hashOfFlaw } from "./places.js";

const MOST_SHOWN = 200;

export class PanelCheck {
  #section;
  #draft;

  constructor(section, draft) {
    [this.#section, this.#draft] = [section, draft];
    for (const type of ["checked", "unsaved"]) draft.addEventListener(type, () => this.show());
  }

  get #inside() {
    return this.#section.querySelector(".inside");
  }

  #tally(text) {
    this.#section.querySelector(".tally").textContent = text;
  }

  wait() {
    this.#tally("checking…");
  }

  fail(lines) {
    this.#tally("");
    this.#inside.replaceChildren(element("p", { class: "notice bad", role: "alert" }, ...lines));
  }

  show() {
    const { flaws, warnings } = this.#draft.faults;
    const parts = [flaws.length ? counted(flaws.length, "fault") : "", warnings.length ? counted(warnings.length, "warning") : ""];
    this.#tally(parts.filter(Boolean).join(", ") || "nothing found");
    if (this.#draft.unsaved) {
      this.#tally("as last saved");
    }
    const fine = flaws.length ? "" : this.#draft.unsaved ? "What is not saved yet has not been checked." : `No faults${warnings.length ? "" : " and nothing odd"}: this can be published.`;
    const rest = flaws.length ? element("p", { class: "quiet" }, "Warnings are looked for once there are no faults.") : null;
    this.#inside.replaceChildren(
      element("p", { role: "status" }, fine || `${counted(flaws.length, "fault")} must be mended before this can be published.`),
      ...group("Faults", flaws, "fault"),
      ...group("Warnings", warnings, "warning"),
      ...(rest ? [rest] : []),
    );
  }
}

function group(title, flaws, kind) {
  if (!flaws.length) return [];
  const items = flaws.slice(0, MOST_SHOWN).map((flaw) => element("li", { class: `mark ${kind}` }, ...flawShown(flaw)));
  const rest = flaws.length - MOST_SHOWN;
  const more = rest > 0 ? [element("p", { class: "quiet" }, `and ${rest} more`)] : [];
  return [element("h3", {}, title), element("ul", { class: "flaws" }, ...items), ...more];
}

/** @param {import("./faults.js").Flaw} flaw */
function flawShown(flaw) {
  const where = [flaw.table, flaw.row ? `row ${flaw.row}` : "", flaw.key, flaw.column].filter(Boolean).join(" · ");
  const value = flaw.value ? element("q", {}, flaw.value) : null;
  const suggestion = flaw.suggestion ? element("span", { class: "suggestion" }, flaw.suggestion) : null;
  const said = [value, value ? ": " : null, flaw.message].filter((part) => part !== null);
  return [element("a", { href: hashOfFlaw(flaw) }, where), element("span", { class: "said" }, ...said), suggestion];
}
