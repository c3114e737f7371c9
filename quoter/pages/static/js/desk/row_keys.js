/** Keys inside the lists: arrows lead from row to row across lists, a digit ticks the row that has it. */

const STEPS = { ArrowDown: 1, ArrowUp: -1 };

/** @param {HTMLElement} form that holds the lists */
export function ledByKeys(form) {
  form.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || !event.target.matches("[data-row]")) return;
    const boxes = [...form.querySelectorAll("[data-row]")];
    const next = /^[1-9]$/.test(event.key)
      ? ticked(event.target.closest("ul"), Number(event.key) - 1)
      : boxes[boxes.indexOf(event.target) + STEPS[event.key]];
    if (!next) return;
    event.preventDefault();
    next.focus();
  });
}

function ticked(list, index) {
  const box = list.querySelectorAll("[data-row]")[index];
  box?.click();
  return box;
}
