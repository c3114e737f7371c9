/** Whether something is looked for. */

/** @param {string} words all that is said of it @param {string} wanted words or beginnings of words, all of which occur */
export function matches(words, wanted) {
  const said = words.toLowerCase();
  return wanted
    .toLowerCase()
    .split(/\s+/)
    .every((word) => said.includes(word));
}
