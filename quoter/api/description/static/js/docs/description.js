/** What the description of the API says about an operation, as the page to try it needs it. */

/**
 * @typedef {object} Parameter
 * @property {string} name
 * @property {"path"|"query"|"header"} place
 * @property {boolean} required
 * @property {string} meaning
 * @property {string[]} choices the values that it may have; empty where it may have any
 * @property {string} example "" where there is none
 */

/** @param {object} document an OpenAPI description @returns {Map<string, object>} its operations by their id */
export function operationsOf(document) {
  const found = new Map();
  for (const [path, item] of Object.entries(document.paths)) {
    for (const [method, said] of Object.entries(item)) {
      found.set(said.operationId, operation(method.toUpperCase(), path, said));
    }
  }
  return found;
}

function operation(method, path, said) {
  const content = said.requestBody?.content ?? {};
  return {
    id: said.operationId,
    method,
    path,
    needsKey: Boolean(said.security),
    parameters: (said.parameters ?? []).map(parameter),
    bodyTypes: Object.keys(content),
    bodyExample: content["application/json"]?.example,
    answerTypes: answerTypes(said.responses),
    meanings: Object.fromEntries(Object.entries(said.responses).map(([status, { description }]) => [status, description])),
  };
}

function parameter({ name, in: place, required = false, description = "", schema = {}, example }) {
  const choices = (schema.enum ?? []).map(String);
  return { name, place, required, meaning: description, choices, example: example === undefined ? "" : String(example) };
}

/** Of the answer when all is well: the types to choose among with the header Accept. */
function answerTypes(responses) {
  const success = Object.keys(responses).find((status) => status.startsWith("2"));
  return Object.keys(responses[success]?.content ?? {});
}
