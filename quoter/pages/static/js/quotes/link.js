/** The customer's link: copied, or replaced by a new one after a question. */

import { asked } from "../shared/dialogs.js";
import { linesOf, tell } from "../shared/dom.js";
import { say } from "../shared/words.js";
import { refreshed, seenVersion } from "./fresh.js";

export function setUpLink(api, id) {
  const copy = document.querySelector("#copy");
  const renew = document.querySelector("#new-link");
  if (copy) {
    copy.hidden = !navigator.clipboard;
    copy.addEventListener("click", async () => {
      await navigator.clipboard.writeText(copy.dataset.link);
      tell(told(), [say("The link is copied.")]);
    });
  }
  if (renew) {
    renew.hidden = false;
    renew.addEventListener("click", () => replace(api, id, renew));
  }
}

function told() {
  return document.querySelector("#told");
}

async function replace(api, id, button) {
  const question = {
    title: say("Make a new link?"),
    content: [say("The old link leads nowhere from then on. Give the customer the new one.")],
    yes: say("Make a new link"),
    no: say("Leave it"),
  };
  if (button.dataset.any && !(await asked(question))) return;
  try {
    await api.send("POST", `/v1/quotes/${id}/link`, { json: {}, match: seenVersion(), once: true });
  } catch (error) {
    tell(told(), [...linesOf(error), ...(error.problem?.meanwhile ?? [])]);
    return;
  }
  await refreshed();
  tell(told(), [say("The customer's page has a new link.")]);
}
