/** The members of a job that a revision may change, between their form and plain data. */

/** @param {HTMLFormElement} form @param {object} base the job as the form was filled with it */
export function jobIn(form, base) {
  const fields = new FormData(form);
  return {
    repairs: repairsIn(form, base),
    parts: { ...base.parts, ...slotsIn(form) },
    findings: inOrder(base.findings, fields.getAll("finding")),
    urgency: fields.get("urgency"),
    discount: discountIn(fields),
  };
}

/** Members that are not what they were. */
export function changesIn(job, base) {
  return Object.fromEntries(Object.entries(job).filter(([member, value]) => !same(value, base[member])));
}

/** What one desk changed, on top of what another has made of the job meanwhile. */
export function onTopOf(newer, base, changes) {
  const findings = changes.findings ?? base.findings;
  const added = findings.filter((code) => !base.findings.includes(code) && !newer.findings.includes(code));
  const dropped = base.findings.filter((code) => !findings.includes(code));
  const kept = newer.findings.filter((code) => !dropped.includes(code));
  return { ...newer, ...changes, findings: [...kept, ...added] };
}

/** Fills the form with a job. */
export function fill(form, job) {
  const chosen = new Map(job.repairs.map((repair) => [repair.procedure, repair]));
  for (const box of form.querySelectorAll("[name=repair]")) box.checked = chosen.has(box.value);
  for (const select of form.querySelectorAll("[name=wish]")) select.value = wishOf(chosen.get(select.dataset.repair));
  for (const select of form.querySelectorAll("[name=slot]")) select.value = job.parts[select.dataset.slot] ?? "";
  for (const box of form.querySelectorAll("[name=finding]")) box.checked = job.findings.includes(box.value);
  form.elements.urgency.value = job.urgency;
  form.elements.percent.value = job.discount ? shifted(job.discount.rate, 2) : "";
  form.elements.discount_reason.value = job.discount?.reason ?? "";
}

/** A decimal text with its point moved: ("0.075", 2) is "7.5", ("7.5", -2) is "0.075". What is no number stays. */
export function shifted(text, places) {
  const [, whole, fraction = ""] = /^(\d+)(?:[.,](\d+))?$/.exec(text.trim()) ?? [];
  if (whole === undefined) return text.trim();
  const padded = "0".repeat(Math.max(0, -places)) + whole + fraction + "0".repeat(Math.max(0, places));
  const point = whole.length + Math.max(0, -places) + places;
  const before = padded.slice(0, point).replace(/^0+(?=\d)/, "");
  const after = padded.slice(point).replace(/0+$/, "");
  return after ? `${before || "0"}.${after}` : before || "0";
}

function repairsIn(form, base) {
  const before = new Map(base.repairs.map((repair) => [repair.procedure, repair]));
  const checked = [...form.querySelectorAll("[name=repair]:checked")].map((box) => box.value);
  return inOrder([...before.keys()], checked).map((procedure) => {
    const wish = form.querySelector(`[name=wish][data-repair="${CSS.escape(procedure)}"]`)?.value ?? "";
    const repair = before.get(procedure);
    return repair && wishOf(repair) === wish ? repair : { procedure, ...wished(wish) };
  });
}

function wished(wish) {
  const [kind, ...code] = wish.split(":");
  return kind ? { [kind]: code.join(":") } : {};
}

function wishOf(repair) {
  if (repair?.part) return `part:${repair.part}`;
  return repair?.grade ? `grade:${repair.grade}` : "";
}

function slotsIn(form) {
  const selects = [...form.querySelectorAll("[name=slot]")];
  return Object.fromEntries(selects.map((select) => [select.dataset.slot, select.value || null]));
}

/** Those that were there before stay in their order; what is new comes after them. */
function inOrder(before, now) {
  return [...before.filter((each) => now.includes(each)), ...now.filter((each) => !before.includes(each))];
}

function discountIn(fields) {
  const percent = fields.get("percent").trim();
  return percent ? { rate: shifted(percent, -2), reason: fields.get("discount_reason").trim() } : null;
}

function same(one, other) {
  return JSON.stringify(one) === JSON.stringify(other);
}
