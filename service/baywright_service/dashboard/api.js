// HTTP: what the service offers at /v1, and its problems as errors.

/** An answer of the service that is not the one asked for (RFC 9457). */
export class Problem extends Error {
  constructor(status, body, etag) {
    super(body.detail ?? body.title ?? `The service answered ${status}.`);
    this.status = status;
    this.body = body;
    this.etag = etag;
  }

  /** Faults of the body sent, each with a JSON Pointer. */
  get errors() {
    return this.body.errors ?? [];
  }
}

/** One request; gives the response. Raises Problem, and Error where nothing answers. */
export async function ask(path, { method = "GET", body, headers = {}, signal, accept } = {}) {
  const sent = { Accept: accept ?? "application/json", ...headers };
  if (body !== undefined) sent["Content-Type"] ??= "application/json";
  let response;
  try {
    const content = body === undefined ? undefined : JSON.stringify(body);
    response = await fetch(path, { method, headers: sent, body: content, signal });
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Problem(0, {
      title: "The service does not answer",
      detail: "The service does not answer. See that it runs and that this device reaches it.",
    });
  }
  if (response.ok) return response;
  if (response.status === 401) window.dispatchEvent(new Event("token-needed"));
  throw new Problem(response.status, await problemBody(response), response.headers.get("ETag"));
}

async function problemBody(response) {
  try {
    return await response.json();
  } catch {
    return { title: "The service failed", detail: `It answered with status ${response.status}.` };
  }
}

/** The JSON at a path. */
export async function read(path, options) {
  return (await ask(path, options)).json();
}

/** A stored document and its ETag. */
export async function readDocument(path, options) {
  const response = await ask(path, options);
  return { body: await response.json(), etag: response.headers.get("ETag") };
}

/** All items of a list, page by page, up to `most`. */
export async function readAll(path, { signal, most = 1000 } = {}) {
  const items = [];
  let next = path;
  while (next && items.length < most) {
    const page = await read(next, { signal });
    items.push(...page.items);
    next = page.next;
  }
  return items;
}

/** Post JSON and read JSON. */
export function post(path, body, options = {}) {
  return read(path, { ...options, method: "POST", body });
}

const remembered = new Map();

/** Everything a calculator says of itself; asked for once. */
export function describe(name) {
  const path = `/v1/calculators/${encodeURIComponent(name)}`;
  if (!remembered.has(path)) {
    const asked = read(path);
    asked.catch(() => remembered.delete(path));
    remembered.set(path, asked);
  }
  return remembered.get(path);
}

/** Store a new document. */
export async function create(path, body) {
  return ask(path, { method: "PUT", body, headers: { "If-None-Match": "*" } });
}

/** Replace the revision that `etag` names. */
export async function replace(path, body, etag) {
  return ask(path, { method: "PUT", body, headers: { "If-Match": etag } });
}

/** The path of a stored plan. */
export const planPath = (id) => `/v1/plans/${encodeURIComponent(id)}`;

/** A key for a request that must not be done twice; works where the page is not on TLS too. */
export function freshKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}
