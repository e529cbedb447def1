// The clock of a card whose camera was not set with the others: by a clap that two cameras saw, or by their sound.

import { call } from "./api.js";

const KEPT = "rushlight-clap";

/** Minutes and seconds for people, signed: "+2.48 s", "−1 min 3.00 s". */
export function offsetWords(seconds) {
  const [sign, size] = [seconds < 0 ? "−" : "+", Math.abs(seconds)];
  const minutes = Math.floor(size / 60);
  return `${sign}${minutes ? `${minutes} min ` : ""}${(size - 60 * minutes).toFixed(2)} s`;
}

/** Speaks up with "change" when the card's clock is another. */
export class ClapDialog extends EventTarget {
  #dialog;
  #facts;
  #timebase;
  #label;
  #shown;
  #found = () => [];
  #suggested = null; // {other, frame, otherFrame}

  /** `shown()` gives the frame on the screen, `found()` the angles of the moment, as the server names them. */
  constructor(dialog, facts, timebase, label, shown, found) {
    super();
    this.#dialog = dialog;
    this.#facts = facts;
    this.#timebase = timebase;
    this.#label = label;
    this.#shown = shown;
    this.#found = found;
    const acts = {
      here: () => this.#here(),
      same: () => this.#same(),
      forget: () => (keep(null), this.#show("The first clap is forgotten.")),
      sound: () => this.#bySound(),
      use: () => this.#set(this.#suggested.other, this.#suggested.frame, this.#suggested.otherFrame),
      own: () => this.#believeOwn(),
    };
    dialog.addEventListener("click", (event) => {
      const { clap } = event.target.closest("button")?.dataset ?? {};
      if (clap) this.#try(acts[clap]);
    });
  }

  open() {
    this.#suggested = null;
    this.#show("");
    this.#dialog.showModal();
  }

  #part(name) {
    return this.#dialog.querySelector(`[data-part="${name}"]`);
  }

  async #try(work) {
    try {
      await work();
    } catch (problem) {
      this.#say(problem.message);
    }
  }

  #show(words) {
    const first = kept();
    const other = first && first.card !== this.#facts.card ? first : null;
    const { set, offset } = this.#facts.clock;
    this.#part("clock").textContent = set
      ? `${this.#facts.card} is set: ${offsetWords(offset)} on its own timecode.`
      : `${this.#facts.card} is believed by its own timecode.`;
    this.#part("frame").textContent = this.#label(this.#shown());
    this.#part("first").textContent = first ? `The first clap: ${first.card} ${first.name} at ${first.label}.` : "";
    for (const [name, there] of Object.entries({ same: other, forget: first, own: set, use: this.#suggested })) {
      this.#dialog.querySelector(`[data-clap="${name}"]`).hidden = !there;
    }
    const angles = this.#found().filter((angle) => angle.card !== this.#facts.card);
    const against = this.#part("against");
    against.replaceChildren(...angles.map(({ clip, card, name }) => new Option(`${card} ${name}`, clip)));
    this.#part("by-sound").hidden = !angles.length;
    this.#say(words);
  }

  #say(words) {
    this.#part("said").textContent = words;
  }

  #here() {
    const { clip, card, name } = this.#facts;
    const frame = this.#shown();
    keep({ clip, card, name, frame, label: this.#label(frame) });
    this.#show(`The clap is at ${this.#label(frame)} here. Now find it on the other camera, and say there that it is the same.`);
  }

  async #same() {
    const first = kept();
    await this.#set(first.clip, this.#shown(), first.frame);
    keep(null);
    this.#show(this.#setWords);
  }

  async #set(other, frame, otherFrame) {
    const body = { clip: this.#facts.clip, frame, other, other_frame: otherFrame };
    this.#take(await call("POST", this.#facts.api.clock, body));
    this.#suggested = null;
    this.#show(this.#setWords);
  }

  get #setWords() {
    return `The clock of ${this.#facts.card} is set: ${offsetWords(this.#facts.clock.offset)}, for all its clips.`;
  }

  async #believeOwn() {
    this.#take(await call("DELETE", this.#facts.api.clock));
    this.#show("The card's own timecode is believed again.");
  }

  async #bySound() {
    this.#suggested = null;
    this.#show("Listening to both …");
    const angle = this.#found().find((each) => String(each.clip) === this.#part("against").value) ?? this.#found()[0];
    const { clip, api } = this.#facts;
    const { offset, sureness } = await call("GET", `${api.clockBySound}?clip=${clip}&other=${angle.clip}`);
    if (offset === null) return this.#show("Their sound does not tell: choose the clap in both by hand.");
    this.#suggested = await this.#framesFor(angle, offset - this.#facts.clock.offset);
    const why = this.#suggested ? "" : " But then they did not roll together: choose the clap by hand.";
    this.#show(`By the sound it is ${offsetWords(offset)}, ${Math.round(100 * sureness)} % sure.${why}`);
  }

  // Two frames that are one moment once the clock is `later` seconds on: the server is told of frames only.
  async #framesFor(angle, later) {
    const row = await call("GET", `/api/v1/clips/${angle.clip}/`);
    const nominal = Math.ceil(row.rate_numerator / row.rate_denominator);
    const wanted = angle.in_frame + Math.round(later * nominal);
    const otherFrame = Math.max(0, Math.min(wanted, row.frames - 1));
    const frame = angle.of + Math.round(((otherFrame - wanted) / nominal) * this.#timebase.nominal);
    return frame >= 0 && frame < this.#facts.frames ? { other: angle.clip, frame, otherFrame } : null;
  }

  #take({ offset, set }) {
    this.#facts.clock = { offset, set };
    this.dispatchEvent(new Event("change"));
  }
}

// The first clap, for this tab, until the other camera's clip is open.
function keep(clap) {
  try {
    if (clap) sessionStorage.setItem(KEPT, JSON.stringify(clap));
    else sessionStorage.removeItem(KEPT);
  } catch {
    // this browser keeps nothing: the clap has to be chosen by timecode
  }
}

function kept() {
  try {
    return JSON.parse(sessionStorage.getItem(KEPT));
  } catch {
    return null;
  }
}
