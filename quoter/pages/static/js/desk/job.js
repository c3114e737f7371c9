/** What has been ticked and typed, and the job that it makes. Nothing here knows the page. */

/**
 * @typedef {object} Wish what the desk has been told so far
 * @property {string} book code of the rate book
 * @property {{code: string, maker: string, model: string}|null} device
 * @property {Object<string, string>} repairs the grade by procedure; "" where there is nothing to choose
 * @property {string[]} findings in the order in which they were seen
 * @property {string} customer
 * @property {string} urgency
 * @property {string} payment
 * @property {string} discount a percentage, as it was typed
 * @property {string} reason of the discount
 * @property {string} language of the customer
 * @property {{name: string, phone: string, email: string}} contact
 * @property {string[]} told codes of the notices that have been told
 * @property {{id: string, reference: string, noticed: string}|null} enquiry that the quote answers
 */

/** @returns {Wish} */
export function nothingYet(book, language) {
  return {
    book,
    device: null,
    repairs: {},
    findings: [],
    customer: "consumer",
    urgency: "standard",
    payment: "other",
    discount: "",
    reason: "",
    language,
    contact: { name: "", phone: "", email: "" },
    told: [],
    enquiry: null,
  };
}

/** A job for the API, the repairs in the order of the offer; null where there is nothing to price yet. */
export function jobOf(wish, offer, locale) {
  const repairs = (offer?.procedures ?? [])
    .filter(({ procedure }) => procedure in wish.repairs)
    .map(({ procedure }) => repair(procedure, wish.repairs[procedure]));
  return wish.device && repairs.length ? { ...circumstances(wish, locale), repairs } : null;
}

/** Every repair with every grade, each alone under the same circumstances. */
export function optionJobs(wish, offer, locale) {
  return offer.procedures.flatMap((each) => {
    const grades = gradesOf(each).map(({ grade }) => grade);
    return (grades.length ? grades : [""]).map((grade) => ({
      procedure: each.procedure,
      grade,
      job: { ...circumstances(wish, locale), repairs: [repair(each.procedure, grade)] },
    }));
  });
}

function repair(procedure, grade) {
  return grade ? { procedure, grade } : { procedure };
}

function circumstances(wish, locale) {
  const rate = share(wish.discount);
  return {
    device: wish.device.code,
    findings: wish.findings,
    customer: { kind: wish.customer },
    urgency: wish.urgency,
    payment: wish.payment,
    locale,
    ...(rate ? { discount: { rate, reason: wish.reason.trim() } } : {}),
  };
}

/** The body that issues: the job, how the customer can be reached, what they have been told, the enquiry. */
export function issueBody(wish, offer, locale) {
  const contact = Object.fromEntries(Object.entries(wish.contact).map(([name, text]) => [name, text.trim()]));
  return {
    ...jobOf(wish, offer, locale),
    ...(Object.values(contact).some(Boolean) ? { contact } : {}),
    ...(wish.told.length ? { told: wish.told } : {}),
    ...(wish.enquiry ? { enquiry: wish.enquiry.id } : {}),
  };
}

/** A percentage as a share: "12,5" is "0.125". What is no number stays as it is; the service says what is wrong. */
export function share(percentage) {
  const typed = percentage
    .trim()
    .replace(/\s*[%٪]$/, "")
    .replace(",", ".");
  const match = /^(-?)(\d*)(?:\.(\d*))?$/.exec(typed);
  if (!match || !(match[2] || match[3])) return typed;
  const digits = (match[2] ?? "").padStart(3, "0");
  const decimals = `${digits.slice(-2)}${match[3] ?? ""}`.replace(/0+$/, "");
  const whole = digits.slice(0, -2).replace(/^0+(?=\d)/, "");
  return `${match[1]}${whole}${decimals && `.${decimals}`}`;
}

/** The grades of a procedure's parts, the preferred one first, each with the days until its part is here. */
export function gradesOf({ parts }) {
  const first = new Map();
  for (const { grade, grade_title: called, lead_days: days } of parts)
    if (!first.has(grade)) first.set(grade, { grade, called, days });
  return [...first.values()];
}

/** What of a wish can be had for a device; the rest is left out. @returns {Wish} */
export function offeredOf(wish, offer) {
  const { code, maker, model } = offer;
  const repairs = offer.procedures
    .filter(({ procedure }) => procedure in wish.repairs)
    .map((each) => [each.procedure, gradeFor(each, wish.repairs[each.procedure])]);
  const known = new Set(offer.findings.map((finding) => finding.code));
  return {
    ...wish,
    device: { code, maker, model },
    repairs: Object.fromEntries(repairs),
    findings: wish.findings.filter((finding) => known.has(finding)),
  };
}

/** The grade that is wished for where there is a part of it, else the preferred one. */
export function gradeFor(procedure, wished = "") {
  const grades = gradesOf(procedure).map(({ grade }) => grade);
  return grades.includes(wished) ? wished : (grades[0] ?? "");
}

/** The customer's locale: the shop's own way of writing its language, else the language. */
export function customerLocale(language, shopLocale) {
  return shopLocale.split("-")[0] === language ? shopLocale : language;
}
