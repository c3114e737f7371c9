/** Questions that must be answered before anything happens. */

import { element } from "./dom.js";

/**
 * @param {{title: string, content: (Node|string)[], yes: string, no?: string, danger?: boolean}} question
 * @returns {Promise<boolean>}
 */
export function asked({ title, content, yes, no = "Leave it", danger = false }) {
  const heading = element("h2", { id: "question" }, title);
  const buttons = element(
    "p",
    { class: "actions" },
    yes ? element("button", { class: danger ? "danger" : "main", value: "yes" }, yes) : null,
    element("button", { value: "no", formnovalidate: true, autofocus: true }, no),
  );
  const form = element("form", { method: "dialog" }, heading, ...content, buttons);
  const dialog = element("dialog", { "aria-labelledby": "question" }, form);
  document.body.append(dialog);
  dialog.showModal();
  return new Promise((resolve) => {
    dialog.addEventListener("close", () => {
      dialog.remove();
      resolve(dialog.returnValue === "yes");
    });
  });
}

/** A few cells of a block as a table. @param {string[][]} block */
export function blockShown(block, label) {
  const rows = block.slice(0, 8).map((cells) => element("tr", {}, ...cells.map((cell) => element("td", {}, cell))));
  const rest = block.length > 8 ? element("p", { class: "quiet" }, `and ${block.length - 8} rows more`) : null;
  const table = element("table", { class: "block" }, element("tbody", {}, ...rows));
  return element("div", {}, element("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": label }, table), rest);
}
