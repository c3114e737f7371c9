/** What can be taken back until it is saved: whole lists of rows, which share all that did not change. */

/** @typedef {{table: string, before: object[], after: object[], place: object|null}} Step */

export class Undo {
  #done = [];
  #undone = [];

  /** @param {Step} step */
  record(step) {
    this.#done.push(step);
    this.#undone = [];
  }

  /** @returns {Step|undefined} */
  back() {
    const step = this.#done.pop();
    if (step) this.#undone.push(step);
    return step;
  }

  /** @returns {Step|undefined} */
  forth() {
    const step = this.#undone.pop();
    if (step) this.#done.push(step);
    return step;
  }

  clear() {
    this.#done = [];
    this.#undone = [];
  }

  get canGoBack() {
    return this.#done.length > 0;
  }

  get canGoForth() {
    return this.#undone.length > 0;
  }
}
