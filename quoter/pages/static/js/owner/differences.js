/** Differences between two texts of a book, as lists by table. */

import { counted, element } from "../shared/dom.js";

const MOST_SHOWN = 300;
const KINDS = ["changed", "added", "removed", "moved"];

/** @param {{differences: object[], counts: Object<string, number>}} comparison */
export function differencesShown({ differences, counts }) {
  if (!differences.length) return [element("p", {}, "Nothing differs.")];
  const told = KINDS.filter((kind) => counts[kind]).map((kind) => `${counts[kind].toLocaleString("en")} ${kind}`);
  const shown = differences.slice(0, MOST_SHOWN);
  const rest = differences.length - shown.length;
  const more = rest > 0 ? [element("p", { class: "quiet" }, `and ${counted(rest, "difference")} more; an export shows all`)] : [];
  return [element("p", {}, told.join(", ")), ...byTable(shown).map(([table, of]) => tableShown(table, of)), ...more];
}

function byTable(differences) {
  const tables = new Map();
  for (const each of differences) tables.set(each.table, [...(tables.get(each.table) ?? []), each]);
  return [...tables];
}

function tableShown(table, differences) {
  const items = differences.map((each) => element("li", { class: `difference ${each.kind}` }, ...differenceShown(each)));
  return element("section", { class: "table-differences" }, element("h3", {}, table), element("ul", {}, ...items));
}

function differenceShown({ key, column, kind, old, new: now }) {
  const place = element("span", { class: "place" }, [key, column].filter(Boolean).join(" · "), " ");
  if (kind === "changed") return [place, value("del", old), " → ", value("ins", now)];
  if (kind === "moved") return [place, element("span", { class: "quiet" }, "moved: "), `${old ?? "?"} → ${now ?? "?"}`];
  return [place, element("span", { class: "quiet" }, `${kind}: `), value(kind === "added" ? "ins" : "del", kind === "added" ? now : old)];
}

function value(tag, text) {
  return element(tag, {}, text === null || text === "" ? "blank" : text);
}
