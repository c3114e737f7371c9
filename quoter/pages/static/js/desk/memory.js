/** What was typed survives a reload of this tab; which shop it is, this browser. */

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

export function forget() {
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
