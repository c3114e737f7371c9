/** A request as it will be sent, and the same as a line for a shell. */

/**
 * @param {object} operation as `operationsOf` gives it
 * @param {{values: Object<string, string>, body: string, bodyType: string, file: Blob|null, accept: string, key: string}} filled
 * @returns {{method: string, url: string, headers: Object<string, string>, body: string|Blob|undefined}} the address is
 *   a path; what is left blank is left out
 */
export function requestOf(operation, filled) {
  const of = (place) => operation.parameters.filter((each) => each.place === place && (filled.values[each.name] ?? "") !== "");
  const path = operation.path.replace(/{(\w+)}/g, (_, name) => encodeURIComponent(filled.values[name] ?? ""));
  const query = new URLSearchParams(of("query").map(({ name }) => [name, filled.values[name]])).toString();
  const headers = Object.fromEntries(of("header").map(({ name }) => [name, filled.values[name]]));
  if (operation.needsKey && filled.key) headers.Authorization = `Bearer ${filled.key}`;
  if (filled.accept) headers.Accept = filled.accept;
  const body = filled.bodyType === "application/json" ? filled.body : (filled.file ?? undefined);
  if (filled.bodyType && body) headers["Content-Type"] = filled.bodyType;
  return { method: operation.method, url: query ? `${path}?${query}` : path, headers, body: body || undefined };
}

/** What must be filled in and is not. @returns {string[]} names of parameters */
export function missing(operation, values) {
  return operation.parameters.filter(({ name, required }) => required && !values[name]).map(({ name }) => name);
}

/** Why a text is no JSON, with the place where a browser says it; "" where it is some. */
export function jsonFault(text) {
  try {
    JSON.parse(text);
    return "";
  } catch (error) {
    return error.message;
  }
}

/**
 * The request for a shell. The key stands in the variable KEY, so that it is not copied about.
 * @param {string} base the address of the service @param {string} fileName of a file that is sent
 */
export function curlOf(request, base, fileName = "") {
  const isPlain = request.method === "GET" || (request.method === "POST" && request.body !== undefined);
  const parts = [isPlain ? "curl" : `curl -X ${request.method}`];
  for (const [name, value] of Object.entries(request.headers)) {
    parts.push(name === "Authorization" ? '-H "Authorization: Bearer $KEY"' : `-H ${quoted(`${name}: ${value}`)}`);
  }
  if (typeof request.body === "string") parts.push(`-d ${quoted(request.body)}`);
  else if (request.body) parts.push(`--data-binary ${quoted(`@${fileName}`)}`);
  parts.push(quoted(base + request.url));
  return parts.join(" \\\n  ");
}

/** For a POSIX shell, in which nothing within single quotes means anything but the next one. */
export function quoted(text) {
  return `'${text.replaceAll("'", "'\\''")}'`;
}
