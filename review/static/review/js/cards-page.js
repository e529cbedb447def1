// How far the workers are, beside each card. live.js asks, and renews what a card's row says when its state changes.

const NAMES = {
  check: "checking", copy: "comparing", proxy: "proxy of", section: "proxy of", pictures: "filmstrip of",
};
const READING = new Set(["check", "copy"]); // their progress is in bytes

function show({ running, waiting }) {
  for (const place of document.querySelectorAll("[data-progress]")) {
    const card = Number(place.dataset.progress);
    const words = running.filter((job) => job.card === card).map(inWords);
    if (waiting[card]) words.push(`${waiting[card]} waiting`);
    if (place.textContent !== words.join(", ")) place.textContent = words.join(", ");
  }
}

function inWords(job) {
  return [NAMES[job.kind], job.what, percent(job)].filter(Boolean).join(" ");
}

function percent({ kind, done, total, left }) {
  if (!total) return "";
  const share = `${Math.floor((100 * done) / total)} %`;
  return READING.has(kind) ? `${share} of ${bytes(total)}${time(left)}` : share;
}

function time(left) {
  if (left === null) return "";
  return left < 90 ? `, about ${Math.ceil(left)} s left` : `, about ${Math.ceil(left / 60)} min left`;
}

function bytes(count) {
  const units = ["bytes", "kB", "MB", "GB", "TB"];
  const power = Math.min(units.length - 1, Math.floor(Math.log10(Math.max(count, 1)) / 3));
  return `${(count / 1000 ** power).toFixed(power > 1 ? 1 : 0)} ${units[power]}`;
}

document.addEventListener("working", ({ detail }) => show(detail));
