/** One form: what has been chosen and written, passed round between its parts. */

import { DeviceSearch } from "../shared/device_search.js";
import { element } from "../shared/dom.js";
import { Latest } from "../shared/latest.js";
import { Choices } from "./choices.js";
import { contactFields, writtenIn } from "./contact.js";
import { goToFault, tellFaults, textField } from "./fields.js";
import { priceLines, spokenLines } from "./price_view.js";
import { faultSentence, faultsOf, isNotSetUp, lookUpSentence, notSetUp, refusalSentence } from "./refusals.js";
import { Sending } from "./sending.js";
import { sentView } from "./sent_view.js";
import { reachLine, stopLines } from "./stop_view.js";
import { enquiryOf, jobOf, nothingYet, stopping, wrongFields } from "./wish.js";

const PRICING_PAUSE = 120;

export class EnquiryForm {
  #wish = nothingYet();
  #offer = null;
  #priced = null;
  #latest = new Latest(PRICING_PAUSE);
  #offered = new Latest(0);

  /**
   * @param {HTMLElement} place what it is drawn into @param {import("./calls.js").Calls} calls
   * @param {import("../shared/sentences.js").Words} words @param {number|null} keptDays null: unknown
   */
  constructor(place, calls, words, keptDays) {
    [this.place, this.calls, this.words, this.keptDays] = [place, calls, words, keptDays];
  }

  /** An empty form; with a device, what is offered for it. */
  open(device = "") {
    [this.#wish, this.#offer, this.#priced, this.sending] = [nothingYet(), null, null, new Sending(this.calls)];
    this.#draw();
    if (device) this.#choose(device, (refused) => this.#isUnknown(refused));
  }

  #draw() {
    const { say } = this.words;
    const told = { repair: (...change) => this.#repair(...change), finding: (...change) => this.#find(...change) };
    this.choices = new Choices(this.words, told);
    this.price = element("section", { class: "price", part: "summary", "aria-label": say("Price") });
    this.contact = element("div", { class: "contact", hidden: true }, ...contactFields(this.words, this.keptDays));
    this.button = element("button", { type: "submit", part: "button" }, say("Send the enquiry"));
    this.contact.append(this.button);
    this.rest = element("div", { class: "rest", hidden: true }, ...this.choices.elements, this.price, this.contact);
    this.status = element("div", { class: "unseen", role: "status" });
    this.alert = element("p", { class: "told", role: "alert", part: "alert", hidden: true });
    this.form = element("form", { novalidate: true }, this.#deviceField(), this.rest, this.alert, this.status);
    this.form.addEventListener("submit", (event) => this.#send(event));
    this.form.addEventListener("focusin", () => this.#prepare(), { once: true });
    this.place.replaceChildren(element("h2", { part: "heading" }, say("What will the repair cost?")), this.form);
  }

  #deviceField() {
    const { say } = this.words;
    const combobox = { role: "combobox", "aria-autocomplete": "list", "aria-expanded": "false", "aria-controls": "devices" };
    const plain = { autocomplete: "off", autocapitalize: "none", spellcheck: "false", "aria-describedby": "found fault-device" };
    const field = textField("device", say("Your device"), { ...combobox, ...plain, placeholder: say("Maker, model, year or code") });
    const list = element("ul", { id: "devices", role: "listbox", part: "list", "aria-label": say("Devices"), hidden: true });
    const status = element("p", { class: "hint", id: "found", role: "status" });
    field.querySelector("input").after(list, status);
    this.search = new DeviceSearch(field.querySelector("input"), list, status, this.#searching(), this.words);
    return field;
  }

  #searching() {
    const find = async (words, most) => {
      try {
        const found = await this.calls.devices(words, most);
        this.#tell("");
        return found;
      } catch (refused) {
        this.#tell(lookUpSentence(this.words, refused));
        throw Error(""); // it is told above the list already
      }
    };
    return { find, choose: (device) => this.#choose(device.code) };
  }

  /** What is offered for a device; what was written stays. */
  #choose(code, failed = (refused) => this.#tell(lookUpSentence(this.words, refused))) {
    this.#latest.forget();
    [this.#wish, this.#priced] = [{ ...nothingYet(), device: code }, null];
    this.#offered.ask(() => this.calls.device(code), (offer) => this.#show(offer), failed);
  }

  /** The page names a device that is not there: the visitor looks for theirs. */
  #isUnknown(refused) {
    this.#wish = nothingYet();
    if (refused.status !== 404) return this.#tell(lookUpSentence(this.words, refused));
    this.search.note(this.words.say("The device that this page names is not known here. Please search for yours."));
  }

  #show(offer) {
    this.#offer = offer;
    this.search.show(offer);
    this.choices.offer(offer);
    this.rest.hidden = false;
    this.#tell("");
    this.#reprice();
  }

  /** A token before anything is written. Where there is none, it is asked for again when the form is sent. */
  async #prepare() {
    try {
      await this.sending.prepare();
    } catch (refused) {
      if (isNotSetUp(refused)) this.#tell(notSetUp(this.words));
    }
  }

  #repair(procedure, grade) {
    const { [procedure]: _, ...others } = this.#wish.repairs;
    this.#wish = { ...this.#wish, repairs: grade === null ? others : { ...others, [procedure]: grade } };
    this.#reprice();
  }

  #find(code, isSeen) {
    const others = this.#wish.findings.filter((each) => each !== code);
    this.#wish = { ...this.#wish, findings: isSeen ? [...others, code] : others };
    this.#reprice();
  }

  /** The price of what is ticked. Until it is there, the old one is marked as such, and nothing can be sent. */
  #reprice() {
    const job = jobOf(this.#wish, this.#offer);
    this.#priced = null;
    if (stopping(this.#wish, this.#offer).length) return this.#stop();
    if (!job) return this.#wait();
    this.price.setAttribute("aria-busy", "true");
    this.#latest.ask(() => this.calls.price(job), (price) => this.#name(price, job), (refused) => this.#refuse(refused, job));
  }

  #name(price, job) {
    this.#priced = { price, job };
    this.#settle(...priceLines(this.words, price));
    this.status.replaceChildren(...spokenLines(this.words, price));
    this.contact.hidden = false;
    tellFaults(this.form, new Map());
    this.#tell("");
  }

  #wait() {
    this.#latest.forget();
    this.contact.hidden = true;
    this.#settle(element("p", { class: "quiet" }, this.words.say("Tick what shall be repaired, and the price stands here.")));
  }

  #stop() {
    this.#latest.forget();
    this.contact.hidden = true;
    this.status.textContent = "";
    this.#settle(...stopLines(this.words, this.#offer.shop));
  }

  /** No price: why, and at the field that is to blame. */
  #refuse(refused, job) {
    this.contact.hidden = true;
    const isJob = refused.status === 422;
    const reason = isJob ? this.words.say("There is no price for this together.") : lookUpSentence(this.words, refused);
    this.#settle(element("p", {}, reason), reachLine(this.words, this.#offer.shop));
    const faults = refused.errors.map((error) => ({ ...error, pointer: `/job${error.pointer}` }));
    if (isJob) tellFaults(this.form, faultsOf(this.words, { errors: faults }, job));
  }

  #settle(...lines) {
    this.price.removeAttribute("aria-busy");
    this.price.replaceChildren(...lines.filter(Boolean));
  }

  async #send(event) {
    event.preventDefault();
    const written = writtenIn(this.form);
    if (!this.#priced || this.button.ariaDisabled === "true") return;
    const wrong = wrongFields(written).map(({ field, pointer }) => [field, faultSentence(this.words, field, pointer)]);
    tellFaults(this.form, new Map(wrong));
    if (wrong.length) return goToFault(this.form);
    const { job } = this.#priced;
    this.#busy(true, this.words.say("Sending…"));
    try {
      const waits = () => this.#tell(this.words.say("One moment…"));
      this.#sent(await this.sending.send((token) => enquiryOf(job, written, token), waits));
    } catch (refused) {
      this.#fail(refused, job);
    } finally {
      this.#busy(false, this.words.say("Send the enquiry"));
    }
  }

  #busy(isBusy, label) {
    this.button.ariaDisabled = String(isBusy);
    this.button.textContent = label;
    if (isBusy) this.#tell("");
  }

  #fail(refused, job) {
    if (refused.is === undefined) throw refused;
    if (refused.is("looks-automatic")) this.form.querySelector("#homepage").value = "";
    this.#tell(refusalSentence(this.words, refused));
    tellFaults(this.form, faultsOf(this.words, refused, job));
    goToFault(this.form);
  }

  #sent(answer) {
    const again = () => {
      this.open();
      this.form.querySelector("#device").focus();
    };
    const view = sentView(this.words, answer, again);
    this.place.replaceChildren(view);
    view.querySelector("h2").focus();
  }

  #tell(text) {
    this.alert.textContent = text;
    this.alert.hidden = text === "";
  }
}

/** What stands in the place of a form that cannot be used where it is. */
export function unusable(words) {
  return element("p", { class: "told", role: "alert", part: "alert" }, notSetUp(words));
}
