/** What was typed survives a reload of this tab; which shop it is, this browser. */

import { abandon } from "../shared/attempts.js";

const WISH = "quoter: new quote";
const SHOP = "quoter: shop";

export function remember(wish) {
  sessionStorage.setItem(WISH, JSON.stringify(wish));
}

/** @returns {object|null} */
export function recall() {
  try {
    return JSON.parse(sessionStorage.getItem(WISH));
  } catch {
    return null;
  }
}

/** What was typed is of no use any more: it was issued, or the next customer comes. */
export function forget() {
  abandon();
  sessionStorage.removeItem(WISH);
}

export function rememberShop(code) {
  localStorage.setItem(SHOP, code);
}

/** The shop of this browser, if it is still one of these. */
export function shopAmong(codes) {
  const known = localStorage.getItem(SHOP);
  return codes.includes(known) ? known : codes[0];
}
