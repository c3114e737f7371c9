/** What an effect comes to, in words and tables. Members that are missing are left out. */

import { element } from "../shared/dom.js";

const COUNTS = {
  up: "dearer",
  down: "cheaper",
  same: "the same",
  newly_refused: "newly refused",
  newly_possible: "newly possible",
  still_refused: "still refused",
  gone: "gone",
  new: "new",
};

/** @param {Object<string, number>} [counts] @returns {string} "3 dearer, 1 cheaper" */
export function countsText(counts = {}) {
  const known = Object.entries(COUNTS).filter(([name]) => counts[name]);
  return known.map(([name, word]) => `${counts[name].toLocaleString("en")} ${word}`).join(", ") || "nothing counted";
}

/** A share as a percentage; other texts as they are. */
export function percent(share) {
  const number = Number(share);
  if (share === null || share === undefined || Number.isNaN(number)) return "–";
  return `${(number * 100).toFixed(1)} %`;
}

/** What a picture of the price changes shows, for those who do not see it. */
export function changesAlt({ counts, median, smallest, largest } = {}) {
  const spread = [
    median != null && `median ${median}`,
    smallest != null && `smallest ${smallest}`,
    largest != null && `largest ${largest}`,
  ].filter(Boolean);
  return `How far prices change: ${countsText(counts)}${spread.length ? `; ${spread.join(", ")}` : ""}.`;
}

export function marginsAlt({ margin, below_floor: floor } = {}) {
  const parts = [
    margin && `margin before ${percent(margin.before)}, after ${percent(margin.after)}`,
    floor && `below the floor before ${floor.before}, after ${floor.after}`,
  ].filter(Boolean);
  return `Margins before and after: ${parts.join("; ") || "no figures"}.`;
}

/** @returns {HTMLElement[]} */
export function pricesShown(prices, path) {
  const rows = [
    ["Median change", prices.median],
    ["Smallest change", prices.smallest],
    ["Largest change", prices.largest],
  ].filter(([, value]) => value !== null && value !== undefined);
  return [
    element("h3", {}, "The whole price list"),
    element("p", {}, [prices.entries !== undefined && `${Number(prices.entries).toLocaleString("en")} entries`, countsText(prices.counts)].filter(Boolean).join(": ")),
    ...pairTable(rows),
    ...sidesTable([
      ["Below the floor", prices.below_floor, String],
      ["Margin", prices.margin, percent],
    ]),
    picture(`${path}/changes.svg`, changesAlt(prices)),
    picture(`${path}/margins.svg`, marginsAlt(prices)),
    element("p", { class: "links" }, element("a", { href: `${path}/prices.csv`, download: true }, "Every price as CSV")),
  ];
}

/** @returns {HTMLElement[]} */
export function quotesShown(quotes, path) {
  return [
    element("h3", {}, "Issued quotes, as they were issued and under the draft"),
    element("p", {}, [quotes.jobs !== undefined && `${Number(quotes.jobs).toLocaleString("en")} jobs`, countsText(quotes.counts)].filter(Boolean).join(": ")),
    ...sidesTable([
      ["Net", quotes.net, String],
      ["Margin", quotes.margin, percent],
    ]),
    element("p", { class: "links" }, element("a", { href: `${path}/quotes.csv`, download: true }, "Every quote as CSV")),
  ];
}

function picture(source, alt) {
  return element("img", { class: "picture", src: source, alt, loading: "lazy" });
}

function pairTable(rows) {
  if (!rows.length) return [];
  const body = rows.map(([name, value]) => element("tr", {}, element("th", { scope: "row" }, name), element("td", { class: "figure" }, `${value}`)));
  return [element("table", { class: "figures" }, element("tbody", {}, ...body))];
}

function sidesTable(rows) {
  const known = rows.filter(([, sides]) => sides);
  if (!known.length) return [];
  const head = ["", "Before", "After"].map((text) => (text ? element("th", { scope: "col" }, text) : element("td")));
  const body = known.map(([name, sides, shown]) => {
    const cells = [sides.before, sides.after].map((value) => element("td", { class: "figure" }, shown(value ?? "–")));
    return element("tr", {}, element("th", { scope: "row" }, name), ...cells);
  });
  return [element("table", { class: "figures" }, element("thead", {}, element("tr", {}, ...head)), element("tbody", {}, ...body))];
}
