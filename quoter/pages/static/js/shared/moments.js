/** Moments between the clocks of a shop and UTC. */

/** @param {string} local "2026-12-01T09:00" @returns {Date|null} null where the clocks skip that time, or none is given */
export function moment(local, zone) {
  const asUtc = Date.parse(`${local}Z`);
  if (Number.isNaN(asUtc)) return null;
  const candidates = [offsetAt(asUtc - DAY, zone), offsetAt(asUtc + DAY, zone)].map((offset) => asUtc - offset);
  const right = candidates.filter((each) => each + offsetAt(each, zone) === asUtc);
  return right.length ? new Date(Math.min(...right)) : null;
}

const DAY = 86_400_000;

function offsetAt(epoch, zone) {
  return Date.parse(`${localText(new Date(epoch), zone)}Z`) - Math.floor(epoch / 1000) * 1000;
}

/** @returns {string} "2026-12-01T09:00:00" as clocks in a zone show it */
export function localText(date, zone) {
  const options = { timeZone: zone, hourCycle: "h23", year: "numeric", month: "2-digit", day: "2-digit" };
  const clock = { hour: "2-digit", minute: "2-digit", second: "2-digit" };
  const parts = new Intl.DateTimeFormat("en-GB", { ...options, ...clock }).formatToParts(date);
  const part = Object.fromEntries(parts.map(({ type, value }) => [type, value]));
  return `${part.year}-${part.month}-${part.day}T${part.hour}:${part.minute}:${part.second}`;
}

/** @returns {string} "1 Dec 2026, 09:00" */
export function shownMoment(date, zone) {
  const options = { timeZone: zone, day: "numeric", month: "short", year: "numeric", hour: "2-digit", minute: "2-digit" };
  return new Intl.DateTimeFormat("en-GB", { ...options, hourCycle: "h23" }).format(date);
}
