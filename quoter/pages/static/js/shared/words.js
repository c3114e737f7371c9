/** Sentences in the page's language. The templates are English and the keys of the catalogues; {places} are filled. */

/**
 * @typedef {object} Words
 * @property {(template: string, places?: Object<string, string>) => string} say
 * @property {(one: string, other: string, n: number, places?: Object<string, string>) => string} plural the form for a
 *   number of things; {n} is the number
 */

/** The words of another language than the page's. @param {string} language @returns {Promise<Words>} */
export async function wordsIn(language) {
  const { said, counted } = await loaded(language.split("-")[0]);
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

export const { say, plural } = await wordsIn(document.documentElement.lang || "en");

async function loaded(language) {
  const none = { said: {}, counted: {} };
  if (language === "en") return none;
  try {
    const response = await fetch(`/words/${language}.json`);
    return response.ok ? await response.json() : none;
  } catch {
    return none; // English is better than no page
  }
}

function filled(template, places) {
  return template.replace(/\{(\w+)\}/g, (place, name) => (name in places ? places[name] : place));
}
