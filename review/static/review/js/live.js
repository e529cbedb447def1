// Keeps a page as the server has it, without loading it again. A part of the page says what it shows:
//
//   <section id="days" data-live="cards jobs watching">   names as in live-news.js; the id finds it in the next answer
//
// Every few seconds, while somebody can see the page, the server is asked whether anything is new. If what a part shows
// is, the page is fetched once and its parts are made alike, as live-morph.js says: within five seconds, or as often as
// REST says while things go on changing. Scripts may listen on the document:
// "news" (detail: the Set of names), "working" (detail: {running, waiting}, on pages with a [data-progress]) and, on a
// part, "renewed".

import { ALL, changed } from "./live-news.js";
import { morph } from "./live-morph.js";

const EVERY = 3000; // ms, and up to a third more: with the way there and back within five seconds
const LONGEST = 60_000; // between two questions to a server that is away
const SHARE = 4; // a page that takes long to fetch is fetched seldom: at most a fifth of the time
const AT_ONCE = 3; // a page that was quiet shows so many changes at once,
const REST = 10_000; // ms, and one in so long while more and more comes: else a hundred pages are too many

const codes = document.querySelector("meta[name=live]").content.split(" ").filter(Boolean);
const parts = () => [...document.querySelectorAll("[data-live]")];
const known = new Map(); // a production's code -> its last answer
const fresh = new Set(); // names of what is new and not shown yet
let [failures, notBefore, timer, asking] = [0, 0, null, false];
let [turns, counted] = [AT_ONCE, performance.now()]; // how often it may be fetched at once, as of when
// What the back button brings may be as old as it likes.
if (performance.getEntriesByType("navigation")[0]?.type === "back_forward") for (const name of ALL) fresh.add(name);

async function ask(code) {
  const working = document.querySelector("[data-progress]") ? "&working=yes" : "";
  const response = await fetch(`/api/v1/news/?production=${code}${working}`, { signal: AbortSignal.timeout(20_000) });
  if (response.status >= 400 && response.status < 500) return stop(); // signed out, or no member any more
  if (!response.ok) throw new Error(`the server answered ${response.status}`);
  const now = await response.json();
  const before = known.get(code);
  known.set(code, now);
  if (working) tell("working", now);
  return before ? changed(before, now) : new Set();
}

async function turn() {
  clearTimeout(timer);
  if (document.hidden || asking || !codes.length) return; // asked at once when it is seen again
  asking = true;
  try {
    const names = new Set();
    for (const code of codes) for (const name of (await ask(code)) ?? []) names.add(name);
    failures = 0;
    if (names.size) tell("news", names);
    for (const name of names) fresh.add(name);
    if (fresh.size && mayRenew()) await renew();
  } catch {
    failures += 1;
  }
  asking = false;
  const wait = failures ? Math.min(LONGEST, EVERY * 2 ** failures) : EVERY;
  timer = setTimeout(turn, wait * (1 + Math.random() / 3));
}

function stop() {
  codes.length = 0;
}

function tell(name, detail) {
  document.dispatchEvent(new CustomEvent(name, { detail }));
}

// What a part shows, or all that it may show if it does not say.
const shows = (part) => (part.dataset.live ? part.dataset.live.split(" ") : ALL);

// This page again, in its own production, whichever another tab went to.
function here() {
  const address = new URL(location.href);
  if (codes.length === 1) address.searchParams.set("production", codes[0]);
  return address;
}

function mayRenew() {
  const now = performance.now();
  turns = Math.min(AT_ONCE, turns + (now - counted) / REST);
  counted = now;
  return turns >= 1 && now >= notBefore;
}

async function renew() {
  const stale = parts().filter((part) => part.id && shows(part).some((name) => fresh.has(name)));
  if (stale.length) {
    const began = performance.now();
    turns -= 1;
    const response = await fetch(here(), { headers: { "X-Live": "yes" }, signal: AbortSignal.timeout(30_000) });
    if (!response.ok || response.redirected) return stop(); // signed out, or gone: what is here is the last that was
    const page = new DOMParser().parseFromString(await response.text(), "text/html");
    for (const part of stale) {
      const next = page.getElementById(part.id);
      if (next && morph(part, next)) part.dispatchEvent(new CustomEvent("renewed", { bubbles: true }));
    }
    notBefore = performance.now() + SHARE * (performance.now() - began);
  }
  fresh.clear();
}

document.addEventListener("visibilitychange", turn);
turn();
