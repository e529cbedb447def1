// A proxy that is still being made: its beginning can be watched, and a longer one is taken when it comes.

import { call } from "./api.js";

const EVERY = 4000; // ms between looks
const MOST_LOOKS = 15; // for film, sound and lanes once the proxy is whole

// A length for people: "40 s", "12 min", "1 h 05 min".
function lasting(seconds) {
  if (seconds < 90) return `${Math.floor(seconds)} s`;
  const minutes = Math.floor(seconds / 60);
  return minutes < 60 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, "0")} min`;
}

class Growing extends EventTarget {
  #url;
  #reach;
  #timer = 0;

  /** `url` is the clip's row, `reach` how many frames can be watched so far. Says "longer" with what the row says. */
  constructor(url, reach) {
    super();
    this.#url = url;
    this.#reach = reach;
    this.#wait();
  }

  /** Look now, such as when the file that is being played has gone. */
  async look() {
    clearTimeout(this.#timer);
    try {
      const row = await call("GET", this.#url);
      if (row.proxy && row.proxied_frames > this.#reach) {
        this.#reach = row.proxied_frames;
        this.dispatchEvent(new CustomEvent("longer", { detail: row }));
      }
      if (row.proxy_state === "ready") return;
      if (row.proxy_state === "failed") this.dispatchEvent(new CustomEvent("failed", { detail: row }));
    } catch {
      // The server is away for a moment: it is asked again.
    }
    this.#wait();
  }

  #wait() {
    this.#timer = setTimeout(() => this.look(), EVERY);
  }
}

// The film, the sound and the lanes are made last. This page as the server would write it now knows them.
async function takeWhatIsMade(sheet) {
  for (let looks = 0; looks < MOST_LOOKS; looks += 1) {
    const facts = await factsNow().catch(() => null);
    if (facts) sheet.take(facts);
    if (facts?.filmstrip && facts.lanes) return;
    await new Promise((done) => setTimeout(done, EVERY));
  }
}

async function factsNow() {
  const response = await fetch(location.pathname);
  const page = new DOMParser().parseFromString(await response.text(), "text/html");
  return JSON.parse(page.getElementById("facts").textContent);
}

/** Follow a proxy as it grows: `reach` {frames} is kept true, the player takes what comes, `line` says how far it is. */
export function followGrowth({ facts, player, sheet, timebase, reach, line }) {
  const show = () => {
    sheet.show({ reach: reach.frames });
    if (!line) return;
    line.textContent =
      reach.frames < facts.frames
        ? `The first ${lasting(timebase.seconds(reach.frames))} can be watched; the rest is being made.`
        : "The whole clip can be watched now.";
  };
  show();
  if (reach.frames >= facts.frames) return null;
  const growing = new Growing(facts.api.clip, reach.frames);
  growing.addEventListener("longer", ({ detail: row }) => {
    reach.frames = row.proxied_frames;
    player.grow(row.proxy, reach.frames);
    show();
    if (reach.frames >= facts.frames) takeWhatIsMade(sheet);
  });
  growing.addEventListener("failed", ({ detail: row }) => {
    if (line) line.textContent = `The rest could not be made: ${row.proxy_problem}`;
  });
  return growing;
}
