/** How a line came about: the cells it was worked out from, and every sum. */

import { element } from "../shared/dom.js";
import { say } from "../shared/words.js";

export function derivation({ inputs, working }) {
  return element(
    "div",
    { class: "derivation" },
    inputs.length ? cells(inputs) : null,
    element("ol", {}, ...working.map(sum)),
  );
}

function cells(inputs) {
  const heads = [say("Table"), say("Row"), say("Column"), say("Value")];
  const rows = inputs.map(({ table, row, column, value }) => {
    const [first, ...others] = [table, row, column];
    return element(
      "tr",
      {},
      element("th", { scope: "row" }, first),
      ...others.map((text) => element("td", {}, text)),
      element("td", { class: "figure" }, value),
    );
  });
  const head = element("tr", {}, ...heads.map((text) => element("th", { scope: "col" }, text)));
  const table = element("table", {}, element("thead", {}, head), element("tbody", {}, ...rows));
  return element(
    "div",
    { class: "scroll", tabindex: "0", role: "region", "aria-label": say("Cells of the rate book") },
    table,
  );
}

function sum({ name, formula, value }) {
  const isTold = formula !== value;
  return element(
    "li",
    {},
    element("span", { class: "quiet" }, name),
    " ",
    element("bdi", { dir: "ltr", class: "sum" }, isTold ? `${formula} = ${value}` : value),
  );
}
