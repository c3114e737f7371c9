/** How wide columns should be, from what is in them. */

const SAMPLE = 400;
const NARROWEST = 6;
const WIDEST = 34;
const WIDEST_OF_TWO = 64;

/** @returns {{name: string, characters: number, isNumber: boolean}[]} */
export function columnWidths(columns, rows) {
  const step = Math.max(1, Math.ceil(rows.length / SAMPLE));
  const sample = rows.filter((_, place) => place % step === 0);
  const most = columns.length > 2 ? WIDEST : WIDEST_OF_TWO;
  return columns.map(({ name }) => {
    const texts = sample.map((row) => row.cells[name] ?? "").filter(Boolean);
    const longest = Math.max(name.length + 3, ...texts.map((text) => text.length + 1));
    return { name, characters: Math.min(most, Math.max(NARROWEST, longest)), isNumber: areNumbers(texts) };
  });
}

function areNumbers(texts) {
  return texts.length > 0 && texts.every((text) => /^-?[0-9]+([.,][0-9]+)?$/.test(text));
}
