// Shows how far the workers are, and loads the page again when a card's state has changed.

import { call } from "./api.js";

const EVERY = 2500; // ms
const rows = new Map([...document.querySelectorAll("[data-card]")].map((row) => [row.dataset.card, row]));
let wasBusy = false;

async function look() {
  const busy = new Map();
  for (const state of ["waiting", "running"]) {
    const { results } = await call("GET", `/api/v1/jobs/?state=${state}&page_size=500`);
    for (const job of results) {
      const id = document.querySelector(`[data-name="${CSS.escape(job.card)}"]`)?.dataset.card;
      if (id) busy.set(id, [...(busy.get(id) ?? []), job]);
    }
  }
  for (const [id, row] of rows) {
    const jobs = busy.get(id) ?? [];
    row.querySelector("[data-progress]").textContent = words(jobs);
  }
  if (wasBusy && !busy.size) location.reload();
  wasBusy = busy.size > 0;
}

function words(jobs) {
  const running = jobs.filter((job) => job.state === "running");
  const parts = running.map((job) => `${NAMES[job.kind]} ${job.clip ?? ""} ${percent(job)}`.replace("  ", " "));
  const waiting = jobs.length - running.length;
  if (waiting) parts.push(`${waiting} waiting`);
  return parts.join(", ");
}

const NAMES = { check: "checking", proxy: "proxy of", pictures: "filmstrip of" };

function percent(job) {
  return job.total ? `${Math.floor((100 * job.done) / job.total)} %` : "";
}

if (rows.size) {
  const turn = () => look().catch(() => {}).finally(() => setTimeout(turn, EVERY));
  turn();
}
