/** Blocks of cells as spreadsheets put them on the clipboard: tabs between cells, quotes around what needs them. */

const QUOTED = /^"([^"]*(?:""[^"]*)*)"(?=\t|\n|$)/;

/** @returns {string[][]} rows of cells, all as wide as the widest; line breaks within a cell become spaces */
export function parsed(text) {
  const rows = [[]];
  let rest = text.replace(/\r\n?/g, "\n").replace(/\n$/, "");
  for (;;) {
    const quoted = QUOTED.exec(rest);
    const raw = quoted ? quoted[0] : /^[^\t\n]*/.exec(rest)[0];
    rows.at(-1).push(oneLine(quoted ? quoted[1].replaceAll('""', '"') : raw));
    const separator = rest[raw.length];
    if (separator === undefined) break;
    if (separator === "\n") rows.push([]);
    rest = rest.slice(raw.length + 1);
  }
  const width = Math.max(...rows.map((cells) => cells.length));
  return rows.map((cells) => [...cells, ...Array(width - cells.length).fill("")]);
}

function oneLine(text) {
  return text.replace(/\s*\n\s*/g, " ").trim();
}

/** @param {string[][]} block */
export function formatted(block) {
  return block.map((cells) => cells.map(quotedWhereNeeded).join("\t")).join("\n");
}

function quotedWhereNeeded(text) {
  return /[\t\n"]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
