/** The fields that are the same for every device: who asks, how soon, how it is paid, the discount, the contact. */

const CONTACT = ["name", "phone", "email"];
const TEXTS = ["discount", "reason"];
const CHOICES = ["customer", "urgency", "payment"];

export class Fields {
  /** @param {HTMLFormElement} form @param {(changed: object) => void} change members of the wish that are new */
  constructor(form, change) {
    this.form = form;
    form.addEventListener("input", ({ target }) => {
      if ([...CHOICES, ...TEXTS, "language"].includes(target.name)) change({ [target.name]: target.value });
      if (target.name?.startsWith("contact-")) change({ contact: this.#contact() });
    });
  }

  /** What is in the wish. */
  show(wish) {
    const { elements } = this.form;
    for (const name of [...CHOICES, ...TEXTS, "language"]) elements[name].value = wish[name];
    for (const name of CONTACT) elements[`contact-${name}`].value = wish.contact[name];
  }

  #contact() {
    return Object.fromEntries(CONTACT.map((name) => [name, this.form.elements[`contact-${name}`].value]));
  }
}
