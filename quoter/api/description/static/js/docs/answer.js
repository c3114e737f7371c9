/** An answer as it is shown: status, how long it took, headers, and the body as far as it is text. */

import { element } from "./elements.js";

const MOST_CHARACTERS = 200_000;

/** @returns {Promise<{line: string, nodes: Node[]}>} what to say at once, and what to show below */
export async function shownAnswer(response, milliseconds, meanings) {
  const meaning = meanings[response.status] ?? response.statusText;
  const line = `${response.status} ${meaning}, after ${Math.round(milliseconds)} ms`;
  return { line, nodes: [await problemLink(response), await body(response), headers(response)].filter(Boolean) };
}

async function problemLink(response) {
  if (response.headers.get("Content-Type") !== "application/problem+json") return null;
  const { type } = await response.clone().json();
  if (!type?.startsWith("/problems/")) return null;
  return element("p", {}, "What it means: ", element("a", { href: type }, type));
}

async function body(response) {
  const type = response.headers.get("Content-Type") ?? "";
  if (response.status === 204 || !type) return element("p", { class: "quiet" }, "No body.");
  const isText = /json|^text\/|\+xml/.test(type);
  if (!isText) return download(await response.blob(), type);
  const text = readable(await response.text(), type);
  const shown = text.length > MOST_CHARACTERS ? `${text.slice(0, MOST_CHARACTERS)}…` : text;
  return element("pre", { tabindex: "0", role: "region", "aria-label": "Body of the answer" }, shown);
}

function readable(text, type) {
  if (!type.includes("json")) return text;
  try {
    return JSON.stringify(JSON.parse(text), null, 2);
  } catch {
    return text;
  }
}

function download(blob, type) {
  const link = element("a", { href: URL.createObjectURL(blob), download: "answer" }, "Save the file");
  return element("p", {}, link, ` (${type}, ${blob.size.toLocaleString("en")} bytes)`);
}

function headers(response) {
  const rows = [...response.headers].map(([name, value]) =>
    element("tr", {}, element("th", { scope: "row" }, name), element("td", {}, value)),
  );
  const table = element("table", {}, element("tbody", {}, ...rows));
  const scroll = element("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Headers" }, table);
  return element("details", {}, element("summary", {}, `Headers (${rows.length})`), scroll);
}
