// Talking to the JSON surface.

const TIMEOUT = 30_000; // ms; a machine that slept may wait for an answer that will never come
const FILE_TIMEOUT = 600_000; // ms: a long list takes a while to write
const WHO = "/password/"; // a small page that says who is signed in

/** What the server refused, with its words. `status` 0 means that it was not reached. */
export class ApiError extends Error {
  constructor(status, body) {
    super(body?.detail ?? (status ? `The server answered ${status}.` : "The server cannot be reached."));
    this.status = status;
    this.body = body;
  }

  /** Whether the same request may succeed later, with nothing changed. */
  get passing() {
    return this.status === 0 || this.status === 401 || this.status === 429 || this.status >= 500;
  }
}

function csrfToken() {
  return document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1] ?? "";
}

// The server gives a new token at every signing in: an unknown one means that somebody has signed in since.
let known = csrfToken();
let asking = null;

// Nothing of one person's may be sent as another's, whoever signs in at this machine meanwhile.
async function makeSureWhoItIs() {
  const mine = document.body.dataset.person;
  if (!mine || csrfToken() === known) return;
  const now = await (asking ??= whoIsIn().finally(() => (asking = null)));
  if (!now) throw new ApiError(401, { detail: "You are signed out." });
  if (now !== mine) throw new ApiError(401, { detail: `${now} is signed in here now, and this page is ${mine}'s.` });
  known = csrfToken();
}

async function whoIsIn() {
  const response = await reach(WHO, {});
  if (response.status >= 500) throw new ApiError(response.status, null);
  return new DOMParser().parseFromString(await response.text(), "text/html").body.dataset.person;
}

async function reach(url, options) {
  try {
    return await fetch(url, { signal: AbortSignal.timeout(TIMEOUT), ...options });
  } catch {
    throw new ApiError(0, null);
  }
}

/** Resolves to the answer, or throws an ApiError. `keepalive` lets it outlive the page. */
export async function call(method, url, body, { keepalive = false } = {}) {
  if (method !== "GET") await makeSureWhoItIs();
  const response = await reach(url, {
    method,
    keepalive,
    headers: { "Content-Type": "application/json", "X-CSRFToken": csrfToken() },
    body: body === undefined ? undefined : JSON.stringify(body),
  });
  if (response.status === 401) throw new ApiError(401, { detail: "You are signed out." });
  const answer = await response.json().catch(() => null);
  if (!response.ok) throw new ApiError(response.status, answer);
  if (answer === null && response.status !== 204) throw new ApiError(0, null); // some other page, or half an answer
  return answer;
}

/** Resolves to the file at `url` as { name, blob }, or throws an ApiError. */
export async function file(url) {
  const response = await reach(url, { signal: AbortSignal.timeout(FILE_TIMEOUT) });
  if (!response.ok) throw new ApiError(response.status, await response.json().catch(() => null));
  const [, name] = /filename="([^"]+)"/.exec(response.headers.get("Content-Disposition")) ?? [];
  const blob = await response.blob().catch(() => null);
  if (!name || !blob) throw new ApiError(0, null); // some other page, or half a file
  return { name, blob };
}
