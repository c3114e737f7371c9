/** Two revisions beside each other: what changed is marked by a word and a sign, not by colour alone. */

import { element } from "../shared/dom.js";
import { say } from "../shared/words.js";

/** @param {{document: object, comparison: object}} preview @returns {Node[]} */
export function beside({ document: after, comparison }) {
  return [...agreement(after), table(comparison), ...terms(comparison), facts(comparison), ...owner(after)];
}

/** What a screen reader says of a new preview. */
export function summary({ comparison }) {
  const { old, new: now } = comparison.formatted.totals.gross;
  return say("Total with tax: {now} (before: {before})", { now, before: old });
}

function table({ lines, formatted }) {
  const heads = [say("Description"), say("Before"), say("Now"), say("Difference")];
  const rows = lines.map((line, place) => row(line, formatted.lines[place]));
  const region = { class: "scroll", tabindex: "0", role: "region", "aria-labelledby": "preview-heading" };
  return element(
    "div",
    region,
    element(
      "table",
      { class: "beside" },
      element("thead", {}, element("tr", {}, ...heads.map((head, place) => headCell(head, place > 0)))),
      element("tbody", {}, ...rows),
      element("tfoot", {}, ...totals(formatted.totals)),
    ),
  );
}

function headCell(text, isFigure) {
  return element("th", { scope: "col", class: isFigure ? "figure" : null }, text);
}

function row(line, text) {
  const isAsMuch = text.old?.quantity === text.new?.quantity;
  return element(
    "tr",
    { class: line.change },
    element("th", { scope: "row" }, text.description, mark(line.change)),
    figure(text.old, "before", isAsMuch),
    figure(text.new, "now", isAsMuch),
    element("td", { class: "figure" }, line.change === "same" ? "–" : text.difference),
  );
}

/** A change in a word; nothing for what stays the same. */
function mark(change) {
  const words = { changed: say("≠ changed"), added: say("+ new"), removed: say("− gone") };
  return words[change] ? element("span", { class: "change" }, words[change]) : null;
}

/** The quantity stands there only where it is another. */
function figure(side, kind, isAsMuch) {
  if (!side) return element("td", { class: "figure" }, "–");
  const quantity = isAsMuch ? null : element("span", { class: "quiet line" }, side.quantity);
  return element("td", { class: `figure ${kind}` }, element("span", { class: "net" }, side.net), quantity);
}

function totals(formatted) {
  const labels = { net: say("Total before tax"), tax: say("Tax"), gross: say("Total with tax") };
  return Object.entries(labels).map(([name, label]) => {
    const { old, new: now, difference } = formatted[name];
    const cells = [old, now, difference].map((text) => element("td", { class: "figure" }, text));
    return element("tr", { class: name }, element("th", { scope: "row" }, label), ...cells);
  });
}

function facts({ formatted }) {
  const { old, new: now } = formatted.time.elapsed;
  const changed = say("{now} (before: {before})", { now, before: old });
  const time = old === now ? say("{time}, as before", { time: now }) : changed;
  return element("dl", { class: "facts" }, fact(say("Time"), time));
}

/** A warranty that becomes another is as much of a change as a price. @returns {Node[]} */
function terms({ formatted, warranty }) {
  const rows = formatted.warranty.filter((_, place) => !equal(warranty[place].old, warranty[place].new)).map(term);
  if (!rows.length) return [];
  const heads = [say("Warranty"), say("Before"), say("Now")].map((head) => headCell(head, false));
  const head = element("thead", {}, element("tr", {}, ...heads));
  return [element("table", { class: "beside terms" }, head, element("tbody", {}, ...rows))];
}

function term({ procedure, old, new: now }) {
  const change = old?.length ? (now?.length ? "changed" : "removed") : "added";
  const cells = Object.entries({ before: old, now }).map(([kind, sides]) => element("td", { class: kind }, listed(sides)));
  return element("tr", { class: change }, element("th", { scope: "row" }, procedure, mark(change)), ...cells);
}

function listed(sides) {
  return sides?.length ? sides.join(", ") : "–";
}

function fact(label, text) {
  return element("div", {}, element("dt", {}, label), element("dd", {}, text));
}

/** What was agreed, and whether this passes it. */
function agreement({ agreement: agreed, needs_consent: consent, state, formatted }) {
  if (!agreed) return [paragraph("quiet", say("Nothing is agreed yet: the customer is asked about this price."))];
  const amounts = { revision: String(agreed.revision), ...formatted.agreement };
  const so =
    agreed.of === "net"
      ? say("Agreed: revision {revision}, {gross}. Without asking again, up to {limit} before tax.", amounts)
      : say("Agreed: revision {revision}, {gross}. Without asking again, up to {limit}.", amounts);
  if (consent) {
    const passes = say("This passes what was agreed by {extra}: the customer must consent.", formatted.needs_consent);
    return [element("div", { class: "consent" }, paragraph(null, so), element("strong", {}, passes))];
  }
  const within =
    state === "accepted"
      ? say("What was agreed covers this: it is accepted without asking again.")
      : say("The price is within what was agreed, but not all is as it was agreed: the customer is asked again.");
  return [paragraph(null, so), paragraph(null, element("strong", {}, within))];
}

function owner({ needs_owner: reasons }) {
  return (reasons ?? []).map((reason) => paragraph("notice bad", reason));
}

function paragraph(kind, ...content) {
  return element("p", { class: kind }, ...content);
}

function equal(one, other) {
  return JSON.stringify(one) === JSON.stringify(other);
}
