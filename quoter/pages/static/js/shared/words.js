/** Sentences in the page's language. The templates are English and the keys of the catalogues; {places} are filled. */

const LANGUAGE = document.documentElement.lang || "en";
const PLURALS = new Intl.PluralRules(LANGUAGE);
const NUMBERS = new Intl.NumberFormat(LANGUAGE, { numberingSystem: "latn" });
const WORDS = await loaded(LANGUAGE.split("-")[0]);

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

/** @param {string} template @param {Object<string, string>} [places] */
export function say(template, places = {}) {
  return filled(WORDS.said[template] ?? template, places);
}

/** The form for a number of things; {n} is the number. */
export function plural(one, other, n, places = {}) {
  const forms = WORDS.counted[one];
  const form = forms ? forms[PLURALS.select(n)] ?? forms.other : n === 1 ? one : other;
  return filled(form, { n: NUMBERS.format(n), ...places });
}

function filled(template, places) {
  return template.replace(/\{(\w+)\}/g, (place, name) => (name in places ? places[name] : place));
}
