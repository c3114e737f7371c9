/** The desk: a device, what is wished for and seen, the price at once, and the quote. */

import { Api } from "../shared/api.js";
import { DeviceSearch } from "../shared/device_search.js";
import { asked } from "../shared/dialogs.js";
import { linesOf } from "../shared/dom.js";
import { plural, say } from "../shared/words.js";
import { CustomerView } from "./customer_view.js";
import { showEnquiry } from "./enquiry_note.js";
import { Fields } from "./fields.js";
import { FindingRows } from "./finding_rows.js";
import { customerLocale, issueBody, nothingYet, offeredOf } from "./job.js";
import { forget, recall, remember, rememberShop, shopAmong } from "./memory.js";
import { Notices } from "./notices.js";
import { Pricing } from "./pricing.js";
import { QuoteView } from "./quote_view.js";
import { placed, tellAtFields } from "./refusals.js";
import { RepairRows } from "./repair_rows.js";
import { ledByKeys } from "./row_keys.js";
import { TotalView } from "./total_view.js";

const MATTERS_TO_OPTIONS = ["findings", "customer", "urgency", "discount"];
const byId = (id) => document.getElementById(id);

class Desk {
  #offer = null;
  #answer = null;
  #isIssuing = false;

  constructor(main) {
    this.main = main;
    this.books = JSON.parse(main.dataset.books);
    this.isOwner = main.dataset.scope === "owner";
    this.api = new Api();
    this.pricing = new Pricing(this.api, main.dataset.locale);
    this.form = byId("wish");
    this.#views();
    this.#buttons();
    ledByKeys(this.form);
  }

  #views() {
    const calls = { find: (words, most) => this.#find(words, most), choose: (device) => this.#open(device.code, true) };
    this.search = new DeviceSearch(byId("device"), byId("devices"), byId("devices-found"), calls, { plural, say });
    this.repairs = new RepairRows(byId("repairs"), (procedure, grade) => this.#wish(procedure, grade));
    this.findings = new FindingRows(byId("findings"), (finding, isSeen) => this.#see(finding, isSeen));
    this.fields = new Fields(this.form, (changed) => this.change(changed));
    this.total = new TotalView(byId("total"));
    this.quote = new QuoteView(byId("quote"), ({ procedure, grade }) => this.#wish(procedure, grade));
    this.notices = new Notices(byId("told"), (told) => this.change({ told }));
    this.customer = new CustomerView(byId("facing"), () => this.#unface());
  }

  #buttons() {
    byId("issue").addEventListener("click", () => this.#issue());
    byId("face").addEventListener("click", () => this.#face());
    byId("clear").addEventListener("click", () => this.#clear());
    byId("shop")?.addEventListener("change", ({ target }) => this.#move(target.value));
    this.form.addEventListener("submit", (event) => event.preventDefault());
    document.querySelector('form[action="/sign-out"]')?.addEventListener("submit", forget);
    document.addEventListener("keydown", (event) => this.#key(event));
  }

  /** Goes on where this tab was left. */
  async start() {
    const book = shopAmong(this.books.map(({ code }) => code));
    const fresh = nothingYet(book, this.#languageOf(book));
    const left = await this.#left();
    this.wish = left && this.#bookNamed(left.book) ? { ...fresh, ...left } : fresh;
    if (byId("shop")) byId("shop").value = this.wish.book;
    this.#show();
    this.#unprice();
    if (this.wish.device) await this.#open(this.wish.device.code, false);
    if (this.wish.enquiry) byId("contact-name").closest("details").open = true;
    if (this.wish.isFacing) this.#face();
  }

  /** What this tab was left with, or the enquiry that it was opened for. */
  async #left() {
    const left = recall();
    const wanted = JSON.parse(this.main.dataset.wish ?? "null");
    if (!wanted) return left;
    history.replaceState(null, "", location.pathname);
    const isFree = !left?.device || left.enquiry?.id === wanted.enquiry.id;
    return isFree || (await this.#mayReplace(wanted)) ? wanted : left;
  }

  #mayReplace({ enquiry: { reference } }) {
    return asked({
      title: say("Replace what was typed here?"),
      content: [say("A quote was begun in this tab and is not issued. Enquiry {reference} takes its place.", { reference })],
      yes: say("Open the enquiry"),
      no: say("Keep what was typed"),
    });
  }

  /** Something was ticked or typed. @param {object} changed members of the wish */
  change(changed) {
    this.wish = { ...this.wish, ...changed };
    this.#show();
    this.#price();
    if (this.#offer && MATTERS_TO_OPTIONS.some((name) => name in changed)) this.#priceOptions();
  }

  #show() {
    remember(this.wish);
    this.repairs.show(this.wish.repairs);
    this.findings.show(this.wish.findings);
    this.fields.show(this.wish);
    showEnquiry(byId("for-enquiry"), this.wish.enquiry);
  }

  #bookNamed(code) {
    return this.books.find((book) => book.code === code);
  }

  #languageOf(book) {
    const language = this.#bookNamed(book).locale.split("-")[0];
    return [...byId("customer-language").options].some(({ value }) => value === language) ? language : "en";
  }

  get #locale() {
    return customerLocale(this.wish.language, this.#bookNamed(this.wish.book).locale);
  }

  #path(path, query = {}) {
    return `${path}?${new URLSearchParams({ ...query, book: this.wish.book })}`;
  }

  async #find(words, most) {
    const { data } = await this.api.get(this.#path("/v1/devices", { words, limit: most }));
    return data.devices;
  }

  async #offerOf(code, locale) {
    const { data } = await this.api.get(this.#path(`/v1/devices/${encodeURIComponent(code)}`, { locale }));
    return data;
  }

  async #open(code, isNew) {
    try {
      const data = await this.#offerOf(code, this.main.dataset.locale);
      this.#offer = data;
      this.repairs.offer(data.procedures);
      this.findings.offer(data.findings);
      this.form.classList.add("known");
      this.wish = offeredOf(this.wish, data);
      this.search.show(data);
      this.change({ findings: this.wish.findings });
      if (isNew) byId("repairs").querySelector("input")?.focus();
    } catch (error) {
      this.#forgetDevice();
      this.total.empty(linesOf(error));
    }
  }

  #forgetDevice() {
    this.#offer = null;
    this.#answer = null;
    this.pricing.forget();
    this.notices.show(null, []);
    this.wish = { ...this.wish, device: null, repairs: {}, findings: [], told: [] };
    this.form.classList.remove("known");
    this.repairs.offer([]);
    this.findings.offer([]);
    this.search.show(null);
    this.#show();
    this.#unprice();
  }

  #wish(procedure, grade) {
    const { [procedure]: _, ...others } = this.wish.repairs;
    this.change({ repairs: grade === null ? others : { ...others, [procedure]: grade } });
  }

  #see(finding, isSeen) {
    const others = this.wish.findings.filter((each) => each !== finding);
    this.change({ findings: isSeen ? [...others, finding] : others });
  }

  #price() {
    const answered = (answer) => this.#answered(answer);
    if (this.pricing.ask(this.wish, this.#offer, this.#locale, answered, (error) => this.#failed(error))) {
      this.#wait();
    } else {
      this.#unprice();
    }
  }

  #priceOptions() {
    const answered = (prices) => this.repairs.price(prices);
    this.pricing.askOptions(this.wish, this.#offer, answered, (error) => this.total.empty(linesOf(error)));
  }

  #wait() {
    this.#answer = null;
    this.total.wait();
    byId("quote").setAttribute("aria-busy", "true");
    this.#allow();
  }

  #unprice() {
    this.#answer = null;
    this.quote.clear();
    this.#settle();
    this.total.begin();
  }

  #failed(error) {
    this.#unprice();
    this.total.empty(linesOf(error));
  }

  #answered(answer) {
    const { desk, job } = answer;
    if (!desk.totals) return this.#refused(desk.errors ?? [desk], job);
    this.#answer = answer;
    this.total.show(desk, this.isOwner);
    this.quote.show(desk);
    this.notices.show(desk.law, this.wish.told, this.main.dataset.locale);
    return this.#settle();
  }

  #refused(errors, job) {
    const isStopped = errors.some(({ reason }) => reason === "stopped-by-finding");
    const others = errors.filter(({ reason }) => reason !== "stopped-by-finding");
    this.quote.clear();
    const untold = this.#settle(others, job);
    if (isStopped) this.#stop(job);
    else this.total.empty(untold);
  }

  /** Says what to do now: to the desk at once, to the customer in their own words. */
  async #stop(job) {
    this.total.stop(stoppingIn(this.#offer, job));
    try {
      const offer = await this.#offerOf(job.device, this.#locale);
      this.customer.show({ doc: null, stops: stoppingIn(offer, job), language: this.#locale });
    } catch (error) {
      this.total.refuse(linesOf(error));
    }
  }

  #settle(errors = [], job = null) {
    byId("quote").removeAttribute("aria-busy");
    this.#allow();
    this.customer.show({ doc: this.#answer?.customer ?? null, stops: [], language: this.#locale });
    return tellAtFields(this.form, placed(errors, job));
  }

  /** What may be done with the price that is shown. */
  #allow() {
    const mayIssue = this.#answer && (this.isOwner || !this.#answer.desk.needs_owner?.length);
    byId("issue").setAttribute("aria-disabled", String(!mayIssue || this.#isIssuing));
    byId("face").disabled = !this.#offer;
  }

  async #issue() {
    if (byId("issue").getAttribute("aria-disabled") === "true") return;
    if (this.notices.untold) return this.#askToTell();
    this.#isIssuing = true;
    this.#allow();
    try {
      const body = issueBody({ ...this.wish, told: this.notices.told }, this.#offer, this.#locale);
      const { data } = await this.api.send("POST", this.#path("/v1/quotes"), { json: body, once: true });
      forget();
      location.assign(`/desk/quotes/${encodeURIComponent(data.id)}`);
    } catch (error) {
      this.#isIssuing = false;
      this.#allow();
      this.#notIssued(error);
    }
  }

  #notIssued(error) {
    const lines = linesOf(error);
    const { fields, others } = placed(error.problem.errors ?? [], this.#answer?.job);
    const untold = tellAtFields(this.form, { fields, others });
    this.total.refuse(untold.length || !fields.size ? lines : [say("Not issued. See the marked field.")]);
    this.form.querySelector("[aria-invalid=true]")?.focus();
  }

  #askToTell() {
    tellAtFields(this.form, {
      fields: new Map([["told", [say("Tick what you have told the customer.")]]]),
      others: [],
    });
    this.notices.untold.focus();
  }

  async #clear() {
    const isSure = await asked({
      title: say("Clear everything that was typed?"),
      content: [],
      yes: say("Clear"),
      no: say("Keep it"),
    });
    if (isSure) this.#begin(this.wish.book);
  }

  /** Begins anew, in a shop. */
  #begin(book) {
    this.wish = nothingYet(book, this.#languageOf(book));
    this.#forgetDevice();
    forget();
    byId("device").focus();
  }

  #move(book) {
    rememberShop(book);
    this.#begin(book);
  }

  #face() {
    if (!this.#offer) return;
    this.wish = { ...this.wish, isFacing: true };
    remember(this.wish);
    this.customer.enter();
  }

  #unface() {
    this.wish = { ...this.wish, isFacing: false };
    remember(this.wish);
    byId("face").focus();
  }

  /** Opens the contact to be written; there is none before there is a device. */
  #contact() {
    if (!this.#offer) return;
    byId("contact-name").closest("details").open = true;
    byId("contact-name").focus();
  }

  #key(event) {
    if (this.customer.isOpen || document.querySelector("dialog[open]")) return;
    if (event.key === "F2") byId("device").focus();
    else if (event.key === "F4") byId("findings").querySelector("[data-row]")?.focus();
    else if (event.key === "F9") this.#contact();
    else if (event.key === "F8") this.#face();
    else if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) this.#issue();
    else return;
    event.preventDefault();
  }
}

function stoppingIn(offer, job) {
  return offer.findings.filter(({ code, stops }) => stops && job.findings.includes(code));
}

const desk = new Desk(byId("main"));
addEventListener("pageshow", ({ persisted }) => persisted && location.reload());
await desk.start();
