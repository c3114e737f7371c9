/** Does something only after a key or a button has been held for a while, so that nobody does it by accident. */

const LONG = 900;

export class Holding {
  #timer = 0;

  /** @param {HTMLElement} button shows how far it has been held @param {() => void} done */
  constructor(button, done) {
    [this.button, this.done] = [button, done];
    button.addEventListener("pointerdown", () => this.begin());
    for (const type of ["pointerup", "pointerleave", "pointercancel"]) button.addEventListener(type, () => this.end());
    // Who has no pointer had to look for the button first.
    button.addEventListener("click", ({ detail }) => detail === 0 && done());
    button.addEventListener("contextmenu", (event) => event.preventDefault());
  }

  begin() {
    if (this.#timer) return;
    this.button.classList.add("held");
    this.#timer = setTimeout(() => {
      this.end();
      this.done();
    }, LONG);
  }

  end() {
    clearTimeout(this.#timer);
    this.#timer = 0;
    this.button.classList.remove("held");
  }
}
