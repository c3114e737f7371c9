/** Finds a device while somebody types: a field with a list under it, led by the arrow keys (ARIA combobox). */

import { element } from "./dom.js";
import { Latest } from "./latest.js";

const PAUSE = 200;
const MOST = 9;

export class DeviceSearch {
  #latest = new Latest(PAUSE);
  #found = [];
  #active = -1;
  #device = null;
  #answered = new Map();
  #isAsking = false;
  #takesFirst = false;

  /**
   * @param {HTMLInputElement} field @param {HTMLElement} list @param {HTMLElement} status says how many were found
   * @param {{find: (words: string, most: number) => Promise<object[]>, choose: (device: object) => void}} calls
   * @param {import("./sentences.js").Words} words
   */
  constructor(field, list, status, { find, choose }, words) {
    [this.field, this.list, this.status, this.words] = [field, list, status, words];
    [this.find, this.choose] = [find, choose];
    field.addEventListener("input", () => this.#search());
    field.addEventListener("keydown", (event) => this.#key(event));
    field.addEventListener("blur", () => this.#giveUp());
    field.addEventListener("focus", () => field.select());
    list.addEventListener("mousedown", (event) => event.preventDefault());
    list.addEventListener("click", (event) => this.#take(this.#indexOf(event.target.closest("[role=option]"))));
  }

  /** The device that the work is about, or none. */
  show(device) {
    this.#device = device;
    if (!device) this.#answered.clear(); // other rates may know other devices
    this.field.value = device ? nameOf(device) : "";
    this.#close();
  }

  /** Notes something where the number of devices stands, until somebody types. */
  note(text) {
    this.#tell(text);
  }

  /** What was typed and not taken says nothing of the device that the work is about. */
  #giveUp() {
    if (this.#device) this.field.value = nameOf(this.#device);
    this.#close();
  }

  #search() {
    const words = this.field.value.trim().replace(/\s+/g, " ").toLowerCase();
    if (!words) return this.#close();
    [this.#isAsking, this.#takesFirst] = [true, false];
    const known = this.#answered.get(words);
    if (known) return this.#open(known);
    this.#latest.ask(
      () => this.find(words, MOST),
      (found) => this.#open(this.#keep(words, found)),
      (error) => this.#fail(error),
    );
  }

  #keep(words, found) {
    this.#answered.set(words, found);
    return found;
  }

  #fail(error) {
    this.#isAsking = false;
    this.#tell(error.message);
  }

  #open(found) {
    this.#latest.forget();
    [this.#found, this.#isAsking] = [found, false];
    this.list.replaceChildren(...found.map((device, index) => option(device, index, this.words)));
    this.list.hidden = found.length === 0;
    this.field.setAttribute("aria-expanded", String(found.length > 0));
    this.#lead(found.length ? 0 : -1);
    const { plural, say } = this.words;
    this.#tell(
      found.length ? plural("{n} device found", "{n} devices found", found.length) : say("No device has these words."),
    );
    if (this.#takesFirst) this.#take(0);
  }

  #tell(text) {
    this.status.textContent = text;
  }

  #close() {
    this.#latest.forget();
    [this.#found, this.#isAsking, this.#takesFirst] = [[], false, false];
    this.list.hidden = true;
    this.field.setAttribute("aria-expanded", "false");
    this.#lead(-1);
    this.#tell("");
  }

  #lead(index) {
    this.#active = index;
    [...this.list.children].forEach((each, at) => each.setAttribute("aria-selected", String(at === index)));
    const active = this.list.children[index];
    if (active) this.field.setAttribute("aria-activedescendant", active.id);
    else this.field.removeAttribute("aria-activedescendant");
    active?.scrollIntoView({ block: "nearest" });
  }

  #key(event) {
    const last = this.#found.length - 1;
    if (event.isComposing) return;
    if (event.key === "Enter" && !event.ctrlKey && this.#isAsking) this.#takesFirst = true; // not of an older list
    else if (event.key === "Enter" && !event.ctrlKey) this.#take(this.#active);
    else if (event.key === "ArrowDown" && last < 0) this.#search();
    else if (event.key === "ArrowDown") this.#lead(this.#active === last ? 0 : this.#active + 1);
    else if (event.key === "ArrowUp" && last >= 0) this.#lead(this.#active <= 0 ? last : this.#active - 1);
    else if (event.key === "Escape") this.#giveUp();
    else return;
    event.preventDefault();
  }

  #indexOf(shown) {
    return [...this.list.children].indexOf(shown);
  }

  #take(index) {
    const device = this.#found[index];
    if (!device) return;
    this.show(device);
    this.choose(device);
  }
}

export function nameOf({ maker, model }) {
  return `${maker} ${model}`;
}

const KINDS = {
  phone: ({ say }) => say("Smartphone"),
  tablet: ({ say }) => say("Tablet"),
  wearable: ({ say }) => say("Wearable"),
};

/** What kind of device it is; a kind that only this shop has, as the shop calls it. */
export function kindOf({ kind }, words) {
  return KINDS[kind]?.(words) ?? kind;
}

function option(device, index, words) {
  return element(
    "li",
    { role: "option", id: `device-${index}`, "aria-selected": "false" },
    element(
      "span",
      { class: "device" },
      element("span", { class: "quiet" }, device.maker),
      " ",
      element("strong", {}, device.model),
    ),
    element("span", { class: "quiet about" }, [kindOf(device, words), device.year].filter(Boolean).join(", ")),
  );
}
