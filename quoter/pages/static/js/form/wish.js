/** What has been ticked and written, and what is sent of it. Nothing here knows the page. */

/**
 * @typedef {object} Wish
 * @property {string} device code of it; "" before one is found
 * @property {Object<string, string>} repairs the grade by procedure; "" where there is nothing to choose
 * @property {string[]} findings what was noticed
 */

/** @returns {Wish} */
export function nothingYet() {
  return { device: "", repairs: {}, findings: [] };
}

/** The grades of a procedure's parts, the preferred one first. */
export function gradesOf({ parts }) {
  const first = new Map();
  for (const { grade, grade_title: called, lead_days: days } of parts) if (!first.has(grade)) first.set(grade, { grade, called, days });
  return [...first.values()];
}

/** A job for the API, the repairs in the order of the offer; null where there is nothing to price yet. */
export function jobOf(wish, offer) {
  const repairs = (offer?.procedures ?? [])
    .filter(({ procedure }) => procedure in wish.repairs)
    .map(({ procedure }) => (wish.repairs[procedure] ? { procedure, grade: wish.repairs[procedure] } : { procedure }));
  return wish.device && repairs.length ? { device: wish.device, repairs, findings: wish.findings } : null;
}

/** What was noticed and must stop everything. @returns {object[]} findings of the offer */
export function stopping(wish, offer) {
  return (offer?.findings ?? []).filter(({ code, stops }) => stops && wish.findings.includes(code));
}

/**
 * The body of an enquiry.
 * @param {object} job @param {{name: string, phone: string, email: string, noticed: string, homepage: string, agreed: boolean}} written
 * @param {string} token of this filling-in
 */
export function enquiryOf(job, { name, phone, email, noticed, homepage, agreed }, token) {
  const contact = Object.fromEntries(
    Object.entries({ name, phone, email })
      .map(([member, text]) => [member, text.trim()])
      .filter(([, text]) => text),
  );
  return { job, noticed: noticed.trim(), contact, may_be_contacted: agreed, token, homepage };
}

const FEWEST_DIGITS = 4;
const PHONE = /^\+?[\p{Nd} ()/.-]+$/u;
const EMAIL = /^[^\s@]+@[^\s@]+$/;

/**
 * All that the service would refuse of what was written, before any of it is sent: without consent nothing may be.
 * @returns {{field: string, pointer: string}[]} in the order of the form
 */
export function wrongFields({ phone, email, agreed }) {
  const [number, address] = [phone.trim(), email.trim()];
  return [
    !number && !address && { field: "phone", pointer: "/contact" },
    number && !isPhone(number) && { field: "phone", pointer: "/contact/phone" },
    address && !EMAIL.test(address) && { field: "email", pointer: "/contact/email" },
    !agreed && { field: "agreed", pointer: "/may_be_contacted" },
  ].filter(Boolean);
}

function isPhone(text) {
  return PHONE.test(text) && text.match(/\p{Nd}/gu)?.length >= FEWEST_DIGITS;
}

const FIELDS = {
  "/job/device": "device",
  "/noticed": "noticed",
  "/contact": "phone",
  "/contact/name": "name",
  "/contact/phone": "phone",
  "/contact/email": "email",
  "/may_be_contacted": "agreed",
};

/** The id of the field that a pointer into an enquiry is about; null where no field is. */
export function fieldOf(pointer, job) {
  const [, member, index] = /^\/job\/(repairs|findings)\/(\d+)/.exec(pointer) ?? [];
  if (member === "repairs") return `repair-${job?.repairs?.[index]?.procedure}`;
  if (member === "findings") return `finding-${job?.findings?.[index]}`;
  return FIELDS[pointer] ?? null;
}
