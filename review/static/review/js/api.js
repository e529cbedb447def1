// Talking to the JSON surface.

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

export async function call(method, url, body, { keepalive = false } = {}) {
  let response;
  try {
    response = await fetch(url, {
      method,
      keepalive,
      headers: { "Content-Type": "application/json", "X-CSRFToken": csrfToken() },
      body: body === undefined ? undefined : JSON.stringify(body),
    });
  } catch {
    throw new ApiError(0, null);
  }
  const answer = await response.json().catch(() => null);
  if (!response.ok) throw new ApiError(response.status, answer);
  return answer;
}
