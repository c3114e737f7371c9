/** Questions that overtake each other: only the answer to the last one counts. */

export class Latest {
  #pause;
  #turn = 0;
  #timer = 0;

  /** @param {number} pause milliseconds of rest before a question is asked */
  constructor(pause) {
    this.#pause = pause;
  }

  /**
   * @template Answer
   * @param {() => Promise<Answer>} question
   * @param {(answer: Answer) => void} answered @param {(error: Error) => void} failed
   */
  ask(question, answered, failed) {
    const turn = this.forget();
    this.#timer = setTimeout(async () => {
      try {
        const answer = await question();
        if (turn === this.#turn) answered(answer);
      } catch (error) {
        if (turn === this.#turn) failed(error);
      }
    }, this.#pause);
  }

  /** Whatever was asked no longer matters. */
  forget() {
    clearTimeout(this.#timer);
    this.#turn += 1;
    return this.#turn;
  }
}
