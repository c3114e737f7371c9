/** Sentences in the page's language. The templates are English and the keys of the catalogues; {places} are filled. */

import { sentences, wordList } from "./sentences.js";

/** The words of another language than the page's. @param {string} language @returns {Promise<import("./sentences.js").Words>} */
export async function wordsIn(language) {
  const code = language.split("-")[0];
  return sentences(language, code === "en" ? { said: {}, counted: {} } : await wordList(`/words/${code}.json`));
}

export const { say, plural } = await wordsIn(document.documentElement.lang || "en");
