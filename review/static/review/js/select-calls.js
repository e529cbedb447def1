// Sending a select, in the way that the outbox asks for it.

import { call } from "./api.js";

/** Resolves to the select as the server has it, or throws an ApiError. */
export async function sendSelect(method, id, body) {
  try {
    return await call(method, `/api/v1/selects/${id}/`, body);
  } catch (problem) {
    // Made and deleted before the server ever heard of it.
    if (method === "DELETE" && problem.status === 404) return { id, version: 0, deleted: true };
    throw problem;
  }
}
