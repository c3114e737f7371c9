/** The form that tries an operation: its parameters, its body, the answer, and the same request for a shell. */

import { shownAnswer } from "./answer.js";
import { element } from "./elements.js";
import { curlOf, jsonFault, missing, requestOf } from "./request.js";
import { idFor, notice, tagFor, whenNoticed } from "./seen.js";

/** @param {object} operation @param {() => string} key the one that is filled in at the top of the page */
export function panel(operation, key) {
  const inputs = new Map(operation.parameters.map((each) => [each.name, field(operation, each)]));
  const body = operation.bodyExample === undefined ? null : bodyField(operation);
  const file = operation.bodyTypes.length && !body ? fileField(operation) : null;
  const accept = operation.answerTypes.length > 1 ? acceptField(operation) : null;
  const status = element("p", { role: "status", class: "status" });
  const result = element("div", { class: "result" });
  const curl = element("pre", { tabindex: "0", role: "region", "aria-label": `${operation.id} for a shell` });

  const values = () => Object.fromEntries([...inputs].map(([name, { input }]) => [name, input.value.trim()]));
  const filled = () => ({
    values: values(),
    body: body?.input.value ?? "",
    bodyType: body ? "application/json" : (file?.type.value ?? ""),
    file: file?.input.files[0] ?? null,
    accept: accept?.input.value ?? "",
    key: key(),
  });
  const draw = () => {
    const request = requestOf(operation, { ...filled(), key: "KEY" });
    curl.textContent = curlOf(request, location.origin, file?.input.files[0]?.name);
  };

  const send = async () => {
    const wrong = faults(operation, values(), body?.input.value, key());
    body?.input.setAttribute("aria-invalid", String(wrong.some((line) => line.startsWith("The body"))));
    if (wrong.length) {
      status.textContent = wrong.join(" ");
      result.replaceChildren();
      return;
    }
    status.textContent = "Sent; waiting for the answer.";
    const shown = await answered(requestOf(operation, filled()), operation.meanings);
    status.textContent = shown.line;
    result.replaceChildren(...shown.nodes);
  };

  const form = element(
    "form",
    { class: "try", novalidate: true, on: { submit: (event) => (event.preventDefault(), send()), input: draw } },
    element("div", { class: "fields" }, ...[...inputs.values()].map((each) => each.node), accept?.node),
    body?.node,
    file?.node,
    element("p", { class: "actions" }, element("button", { class: "main" }, "Send"), copyButton(curl)),
    status,
    result,
    element("details", {}, element("summary", {}, "The same with curl"), curl),
  );
  form.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) form.requestSubmit();
  });
  whenNoticed(() => {
    for (const { fillIn } of inputs.values()) fillIn();
    draw();
  });
  for (const { fillIn } of inputs.values()) fillIn();
  draw();
  return form;
}

/** What keeps a request from being sent, a sentence each. */
function faults(operation, values, text, key) {
  const blank = missing(operation, values);
  const fault = text ? jsonFault(text) : "";
  return [
    operation.needsKey && !key ? "Fill in a key at the top of the page." : "",
    blank.length ? `Fill in ${blank.join(", ")}.` : "",
    fault ? `The body is no JSON: ${fault}.` : "",
  ].filter(Boolean);
}

async function answered(request, meanings) {
  const begun = performance.now();
  try {
    const { url, ...rest } = request;
    const response = await fetch(url, { ...rest, credentials: "omit", cache: "no-store" });
    const milliseconds = performance.now() - begun;
    notice(url, response.headers);
    return await shownAnswer(response, milliseconds, meanings);
  } catch (error) {
    return { line: `Nothing was answered: ${error.message}`, nodes: [] };
  }
}

function field(operation, { name, place, required, meaning, choices, example }) {
  const id = `try-${operation.id}-${name}`;
  const about = meaning ? element("span", { class: "quiet", id: `${id}-about` }, meaning) : null;
  const common = { id, name, "aria-describedby": about && `${id}-about`, required, autocomplete: "off", spellcheck: "false" };
  const hint = place === "path" || !example ? null : `such as ${example}`;
  const input = choices.length
    ? element("select", common, ...["", ...choices].map((each) => element("option", { value: each }, each)))
    : element("input", { ...common, placeholder: hint });
  let isOwn = false;
  input.addEventListener("input", () => (isOwn = true));
  const fillIn = () => {
    if (isOwn) return;
    if (place === "path") input.value = idFor(operation.path, name) || example;
    if (name === "If-Match") input.value = tagFor(pathNow(input.form, operation));
  };
  const label = element("label", { for: id }, element("code", {}, name), required ? " (required)" : "", ` ${place}`);
  return { input, fillIn, node: element("div", { class: "field" }, label, input, about) };
}

/** The path as it is filled in now; before the form is there, with what would be filled in. */
function pathNow(form, operation) {
  return operation.path.replace(/{(\w+)}/g, (_, name) => form?.elements[name]?.value || idFor(operation.path, name));
}

function bodyField(operation) {
  const id = `try-${operation.id}-body`;
  const example = JSON.stringify(operation.bodyExample, null, 2);
  const rows = Math.min(24, example.split("\n").length + 1);
  const input = element("textarea", { id, rows, spellcheck: "false", autocomplete: "off" });
  input.value = example;
  const restore = () => {
    input.value = example;
    input.dispatchEvent(new Event("input", { bubbles: true }));
  };
  const button = element("button", { type: "button", on: { click: restore } }, "The example again");
  return { input, node: element("div", { class: "field" }, element("label", { for: id }, "Body, JSON"), input, button) };
}

function fileField(operation) {
  const id = `try-${operation.id}-file`;
  const input = element("input", { id, type: "file" });
  const type = choice(`${id}-type`, operation.bodyTypes);
  const labels = [element("label", { for: id }, "Body, a file"), element("label", { for: type.id }, "Of which kind")];
  return { input, type, node: element("div", { class: "field" }, labels[0], input, labels[1], type) };
}

function acceptField(operation) {
  const input = choice(`try-${operation.id}-accept`, operation.answerTypes);
  const label = element("label", { for: input.id }, element("code", {}, "Accept"), " header");
  return { input, node: element("div", { class: "field" }, label, input) };
}

function choice(id, values) {
  return element("select", { id }, ...values.map((each) => element("option", { value: each }, each)));
}

function copyButton(curl) {
  const button = element("button", { type: "button" }, "Copy for curl");
  button.addEventListener("click", async () => {
    try {
      await navigator.clipboard.writeText(curl.textContent);
      button.textContent = "Copied";
    } catch {
      curl.parentElement.open = true;
      getSelection().selectAllChildren(curl);
      button.textContent = "Selected: copy it";
    }
    setTimeout(() => (button.textContent = "Copy for curl"), 2000);
  });
  return button;
}
