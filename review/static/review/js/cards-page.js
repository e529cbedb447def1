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
  const parts = running.map((job) => [NAMES[job.kind], job.copy ?? job.clip, percent(job)].filter(Boolean).join(" "));
  const waiting = jobs.length - running.length;
  if (waiting) parts.push(`${waiting} waiting`);
  return parts.join(", ");
}

const NAMES = {
  check: "checking", copy: "comparing", proxy: "proxy of", section: "proxy of", pictures: "filmstrip of",
};
const READING = new Set(["check", "copy"]); // their progress is in bytes

function percent(job) {
  if (!job.total) return "";
  const share = `${Math.floor((100 * job.done) / job.total)} %`;
  if (!READING.has(job.kind)) return share;
  return `${share} of ${bytes(job.total)}${left(job)}`;
}

function left(job) {
  const seconds = (Date.parse(job.heartbeat) - Date.parse(job.started_at)) / 1000;
  if (!(seconds > 3 && job.done > job.resumed)) return "";
  const more = ((job.total - job.done) / (job.done - job.resumed)) * seconds;
  return more < 90 ? `, about ${Math.ceil(more)} s left` : `, about ${Math.ceil(more / 60)} min left`;
}

function bytes(count) {
  const units = ["bytes", "kB", "MB", "GB", "TB"];
  const power = Math.min(units.length - 1, Math.floor(Math.log10(Math.max(count, 1)) / 3));
  return `${(count / 1000 ** power).toFixed(power > 1 ? 1 : 0)} ${units[power]}`;
}

if (rows.size) {
  const turn = () => look().catch(() => {}).finally(() => setTimeout(turn, EVERY));
  turn();
}
