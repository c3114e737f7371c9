/** The page as it stands by now, without losing what somebody is writing on it. */

/** Parts with data-fresh become what they are by now. @param {{keep?: boolean}} [how] keep: with what was written */
export async function refreshed({ keep = false } = {}) {
  const response = await fetch(location.href, { cache: "no-store" });
  const page = new DOMParser().parseFromString(await response.text(), "text/html");
  const main = page.querySelector("main[data-version]");
  if (!main) return location.reload(); // the session is over: the way leads to signing in
  const written = keep ? [...document.querySelectorAll("[data-fresh] form")].map(writtenIn) : [];
  for (const part of document.querySelectorAll("[data-fresh]")) {
    const fresh = page.getElementById(part.id);
    if (fresh) part.replaceWith(document.adoptNode(fresh));
  }
  Object.assign(document.querySelector("main").dataset, main.dataset);
  document.title = page.title;
  written.forEach(write);
  document.dispatchEvent(new CustomEvent("refreshed", { detail: page }));
}

/** The version that this page shows, as the API wants it. */
export function seenVersion() {
  return `"${document.querySelector("main").dataset.version}"`;
}

function writtenIn(form) {
  return { id: form.id, values: [...new FormData(form)].filter(([name]) => name !== "agreed") };
}

/** What was agreed to is not ticked again: it may be another amount by now. */
function write({ id, values }) {
  const form = document.getElementById(id);
  if (!form) return;
  for (const [name, value] of values) {
    for (const field of form.querySelectorAll(`[name="${name}"]`)) {
      if (field.type === "radio") field.checked = field.value === value;
      else field.value = value;
    }
  }
}
