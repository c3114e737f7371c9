/**
 * Names for what is sent and must not be done twice. The same content keeps its name until it is answered, also over a
 * reload of this tab; what is changed, or sent again after an answer, gets a new one.
 */

const PLACE = "quoter: unanswered";

/** A little less than the service keeps names. */
const LONGEST = 23 * 60 * 60 * 1000;

/** @param {string} content everything that the request says @returns {string} */
export function nameFor(content) {
  const unanswered = kept();
  const found = unanswered.find((each) => each.content === content);
  if (found) return found.name;
  const name = randomName();
  keep([...unanswered, { content, name, at: Date.now() }]);
  return name;
}

/** The service has said yes or no: the next time it is another request. */
export function answered(content) {
  keep(kept().filter((each) => each.content !== content));
}

/** What follows is for somebody else. */
export function abandon() {
  sessionStorage.removeItem(PLACE);
}

function kept() {
  try {
    const all = JSON.parse(sessionStorage.getItem(PLACE)) ?? [];
    return all.filter(({ at }) => Date.now() - at < LONGEST);
  } catch {
    return [];
  }
}

function keep(unanswered) {
  if (unanswered.length) sessionStorage.setItem(PLACE, JSON.stringify(unanswered));
  else abandon();
}

/** A shop's own network may be without TLS, and there crypto.randomUUID is missing. */
function randomName() {
  return [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}
