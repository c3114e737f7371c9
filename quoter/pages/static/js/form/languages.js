/** Which of the shipped languages a form speaks. */

export const LANGUAGES = ["en", "de", "fr", "es", "pl", "ar", "ja"];

/**
 * The first tag in a language that is shipped; English where there is none.
 * @param {...(string|null|undefined)} tags BCP 47, the most wanted first
 */
export function languageOf(...tags) {
  return tags.map(primary).find((code) => LANGUAGES.includes(code)) ?? "en";
}

/** What an answer should be written in: the reader's own variants of the language, then the language. */
export function acceptedTags(language, ...tags) {
  const own = tags.filter((tag) => primary(tag) === language && /^[a-z0-9-]+$/i.test(tag));
  return [...new Set([...own, language])].join(", ");
}

/** Of the words: right to left for Arabic. */
export function directionOf(language) {
  return language === "ar" ? "rtl" : "ltr";
}

function primary(tag) {
  return (tag ?? "").toLowerCase().split("-")[0];
}
