/** The effect of the draft on prices and margins: asked for, watched while it is measured, shown. */

import { pricesShown, quotesShown } from "./effect_figures.js";
import { counted, element, linesOf, tell } from "../shared/dom.js";

const PAUSE = 700;
const UNDER_WAY = ["waiting", "running"];
const FAR = { waiting: "Waits for its turn.", cancelled: "Cancelled.", failed: "It failed." };

export class PanelEffect {
  #section;
  #draft;
  #api;
  #timer = 0;
  #shownState = "";

  /** @param {string} openedAt when the draft was opened: what was measured before is of another one */
  constructor(section, draft, api, openedAt) {
    [this.#section, this.#draft, this.#api, this.openedAt] = [section, draft, api, openedAt];
    this.form = askForm((event) => this.#ask(event));
    this.told = element("p", { class: "told notice bad", role: "alert", hidden: true });
    this.place = element("div", { class: "loaded" });
    section.querySelector(".inside").append(this.form, this.told, this.place);
    this.id = localStorage.getItem(this.#memory);
    if (this.id) this.#look();
  }

  /** Where a measurement is remembered, so that a page that is loaded again goes on watching it. */
  get #memory() {
    return `effect of ${this.#draft.code}`;
  }

  get #path() {
    return `/v1/effects/${encodeURIComponent(this.id)}`;
  }

  async #ask(event) {
    event.preventDefault();
    tell(this.told);
    try {
      const { data, location: where } = await this.#api.send("POST", `${this.#draft.path}/effects`, { json: wanted(this.form), once: true });
      this.#remember(data?.id ?? where.split("/").at(-1));
      this.#shownState = "";
      await this.#look();
    } catch (error) {
      tell(this.told, linesOf(error));
    }
  }

  #remember(id) {
    this.id = id;
    if (id) localStorage.setItem(this.#memory, id);
    else localStorage.removeItem(this.#memory);
  }

  async #look() {
    clearTimeout(this.#timer);
    try {
      const { data } = await this.#api.get(this.#path);
      if (data.asked_at && data.asked_at < this.openedAt) return this.#forget();
      this.#show(data);
      if (UNDER_WAY.includes(data.state)) this.#timer = setTimeout(() => this.#look(), PAUSE);
    } catch (error) {
      if (error.status === 404) this.#forget();
      else tell(this.told, linesOf(error));
      if (error.status === 0) this.#timer = setTimeout(() => this.#look(), 10 * PAUSE);
    }
  }

  #forget() {
    this.#remember(null);
    this.place.replaceChildren();
    this.#section.querySelector(".tally").textContent = "";
  }

  #show(effect) {
    const isUnderWay = UNDER_WAY.includes(effect.state);
    this.#section.querySelector(".tally").textContent = isUnderWay ? progressText(effect) : effect.state;
    if (effect.state === this.#shownState && isUnderWay) return this.#progress(effect);
    this.#shownState = effect.state;
    this.place.replaceChildren(...(isUnderWay ? this.#waiting() : this.#result(effect)));
    if (isUnderWay) this.#progress(effect);
    else if (this.#section.open) this.place.querySelector("[role=status]")?.focus?.();
  }

  #waiting() {
    const label = element("label", { for: "progress" }, "Measuring");
    this.bar = element("progress", { id: "progress", max: 1 });
    this.far = element("p", { role: "status", class: "quiet" });
    const cancel = element("button", { type: "button", class: "small", on: { click: () => this.#cancel() } }, "Cancel the measurement");
    return [element("p", { class: "measuring" }, label, this.bar), this.far, element("p", {}, cancel)];
  }

  #progress(effect) {
    const { done = 0, total = 0 } = effect;
    if (total) this.bar.setAttribute("value", done / total);
    else this.bar.removeAttribute("value");
    this.far.textContent = FAR[effect.state] ?? progressText(effect);
  }

  async #cancel() {
    clearTimeout(this.#timer);
    try {
      await this.#api.send("DELETE", this.#path);
      this.#show({ state: "cancelled" });
    } catch (error) {
      tell(this.told, linesOf(error));
      this.#timer = setTimeout(() => this.#look(), PAUSE);
    }
  }

  #result(effect) {
    if (effect.state !== "done") {
      return [element("p", { role: "status" }, [FAR[effect.state] ?? effect.state, effect.detail].filter(Boolean).join(" "))];
    }
    const revision = this.#draft.tag?.split(".").at(-1).replace('"', "");
    const isOld = effect.revision !== undefined && revision && `${effect.revision}` !== revision;
    const old = isOld ? [element("p", { class: "notice" }, "The draft has been changed since this was measured.")] : [];
    const against = effect.old_version === undefined ? "" : ` Against version ${effect.old_version}.`;
    return [
      element("p", { role: "status" }, `Measured.${against}`),
      ...old,
      ...(effect.prices ? pricesShown(effect.prices, this.#path) : []),
      ...(effect.quotes ? quotesShown(effect.quotes, this.#path) : []),
    ];
  }
}

function progressText({ state, done = 0, total = 0 }) {
  if (state === "waiting") return "waiting";
  return total ? `${done.toLocaleString("en")} of ${total.toLocaleString("en")}` : `${counted(done, "price")} so far`;
}

function askForm(submit) {
  const number = element("input", { id: "last-quotes", type: "number", min: 0, max: 100000, value: 200, required: true });
  const since = element("input", { id: "since", type: "date" });
  const until = element("input", { id: "until", type: "date" });
  return element(
    "form",
    { class: "fields", on: { submit } },
    element("p", { class: "quiet" }, "Prices everything under the version in force and under the saved draft."),
    element("label", { for: "last-quotes" }, "Last quotes to price again"),
    number,
    element("div", { class: "pair" }, element("div", {}, element("label", { for: "since" }, "Issued since"), since), element("div", {}, element("label", { for: "until" }, "until"), until)),
    element("p", { class: "actions" }, element("button", {}, "Measure the effect")),
  );
}

function wanted(form) {
  const value = (id) => form.querySelector(`#${id}`).value;
  return { quotes: Number(value("last-quotes")), since: value("since") || null, until: value("until") || null };
}
