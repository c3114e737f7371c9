/** Prices of the wish and of everything that could be wished for instead; the last answer wins. */

import { jobOf, optionJobs } from "./job.js";
import { Latest } from "../shared/latest.js";

const PAUSE = 90;
const LONGER_PAUSE = 220;

export class Pricing {
  #job = new Latest(PAUSE);
  #options = new Latest(LONGER_PAUSE);

  /** @param {import("../shared/api.js").Api} api @param {string} deskLocale */
  constructor(api, deskLocale) {
    [this.api, this.deskLocale] = [api, deskLocale];
  }

  /**
   * The price in the words of the desk and of the customer.
   * @returns {boolean} whether there is anything to price
   */
  ask(wish, offer, locale, answered, failed) {
    const job = jobOf(wish, offer, this.deskLocale);
    if (!job) {
      this.#job.forget();
      return false;
    }
    const jobs = locale === this.deskLocale ? [job] : [job, { ...job, locale }];
    const question = () => this.#prices(wish.book, jobs);
    this.#job.ask(question, (prices) => answered({ job, desk: prices[0], customer: prices.at(-1) }), failed);
    return true;
  }

  /** What each repair with each grade costs alone. */
  askOptions(wish, offer, answered, failed) {
    const options = optionJobs(wish, offer, this.deskLocale);
    const question = () =>
      this.#prices(
        wish.book,
        options.map(({ job }) => job),
      );
    this.#options.ask(
      question,
      (prices) => answered(options.map((option, index) => priced(option, prices[index]))),
      failed,
    );
  }

  /** What was asked no longer matters. */
  forget() {
    this.#job.forget();
    this.#options.forget();
  }

  async #prices(book, jobs) {
    const { data } = await this.api.send("POST", `/v1/prices?book=${encodeURIComponent(book)}`, { json: jobs });
    return data;
  }
}

function priced({ procedure, grade }, price) {
  const text = price.formatted?.totals.gross ?? "–";
  return { procedure, grade, text, why: price.detail ?? "" };
}
