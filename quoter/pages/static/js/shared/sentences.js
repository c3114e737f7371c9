/** Sentences in one language, from a word list that has been fetched. */

/**
 * @typedef {object} Words
 * @property {(template: string, places?: Object<string, string>) => string} say
 * @property {(one: string, other: string, n: number, places?: Object<string, string>) => string} plural the form for a
 *   number of things; {n} is the number
 */

/**
 * The templates are English and the keys of the list; {places} are filled.
 * @param {string} language @param {{said: Object<string, string>, counted: Object<string, object>}} list @returns {Words}
 */
export function sentences(language, { said, counted }) {
  const categories = new Intl.PluralRules(language);
  const numbers = new Intl.NumberFormat(language, { numberingSystem: "latn" });
  return {
    say: (template, places = {}) => filled(said[template] ?? template, places),
    plural(one, other, n, places = {}) {
      const forms = counted[one];
      const form = forms ? (forms[categories.select(n)] ?? forms.other) : n === 1 ? one : other;
      return filled(form, { n: numbers.format(n), ...places });
    },
  };
}

/** The word list at an address; an empty one where there is none: English is better than no page. */
export async function wordList(address) {
  try {
    const response = await fetch(address, { credentials: "omit" });
    if (response.ok) return await response.json();
  } catch {
    // As if there were none.
  }
  return { said: {}, counted: {} };
}

function filled(template, places) {
  return template.replace(/\{(\w+)\}/g, (place, name) => (name in places ? places[name] : place));
}
