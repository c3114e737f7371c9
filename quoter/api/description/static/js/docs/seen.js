/** What answers have told so far, to be filled in next: ids of things that were made, and their ETags. */

const ids = new Map();
const tags = new Map();
const listeners = new Set();

/** @param {string} url the path that was asked @param {Headers} headers of its answer */
export function notice(url, headers) {
  const place = headers.get("Location") ?? url;
  const location = headers.get("Location");
  if (location) ids.set(parent(location), decodeURIComponent(location.split("/").pop()));
  if (headers.get("ETag")) tags.set(thing(place), headers.get("ETag"));
  for (const listener of listeners) listener();
}

/** The id that came last in the place of a parameter of a path, such as {quote_id} in /v1/quotes/{quote_id}/history. */
export function idFor(path, name) {
  return ids.get(path.slice(0, path.indexOf(`/{${name}}`))) ?? "";
}

/** The ETag of the thing that a path is about. */
export function tagFor(path) {
  return tags.get(thing(path)) ?? "";
}

/** Calls a function after each answer. */
export function whenNoticed(listener) {
  listeners.add(listener);
}

function parent(path) {
  return path.slice(0, path.lastIndexOf("/"));
}

/** /v1/quotes/ID of /v1/quotes/ID/decisions?locale=de */
function thing(path) {
  return path.split("?")[0].split("/").slice(0, 4).join("/");
}
