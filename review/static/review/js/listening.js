// Which channels are heard: all of them, or one microphone alone on both ears.
//
// What a browser makes of several channels that have no places in a room is its own affair, so the sound of
// clips with more than two is mixed here. One or two are left to it until one is to be heard alone.

export class Listening {
  #video;
  #channels;
  #box;
  #key;
  #alone = null; // a channel from 0, or null for all
  #graph = null;

  /** `names` are the recorder's, for the first channels; the choice is remembered for `card`. */
  constructor(video, channels, names, card, box) {
    this.#video = video;
    this.#channels = channels;
    this.#box = box;
    this.#key = `rushlight.listening.${card}`;
    if (channels < 2) return;
    const kept = Number.parseInt(localStorage.getItem(this.#key), 10);
    if (kept >= 0 && kept < channels) this.#alone = kept;
    const labels = [...Array(channels)].map((_, at) => [String(at + 1), names[at]].filter(Boolean).join(" "));
    box.append("Sound: ", this.#button("all", null), ...labels.map((label, at) => this.#button(label, at)));
    box.hidden = false;
    this.#show();
    // Browsers let a page make sound of its own only after the person has done something: playing is that.
    video.addEventListener("play", () => this.#route());
  }

  #button(label, channel) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "small";
    button.textContent = label;
    button.dataset.channel = channel ?? "all";
    button.title = channel === null ? "Hear every channel" : `Hear channel ${channel + 1} alone, on both ears`;
    button.addEventListener("click", () => this.#choose(channel));
    return button;
  }

  #choose(channel) {
    this.#alone = channel;
    if (channel === null) localStorage.removeItem(this.#key);
    else localStorage.setItem(this.#key, channel);
    this.#show();
    this.#route();
  }

  #show() {
    for (const button of this.#box.querySelectorAll("button")) {
      button.setAttribute("aria-pressed", String(button.dataset.channel === String(this.#alone ?? "all")));
    }
  }

  #route() {
    if (!this.#graph && this.#alone === null && this.#channels === 2) return;
    this.#graph ??= this.#make();
    const { context, gains, ears } = this.#graph;
    context.resume();
    gains.forEach((gain, channel) => {
      gain.disconnect();
      if (this.#alone !== null && this.#alone !== channel) return;
      const sides = this.#alone === null && this.#channels === 2 ? [channel] : [0, 1];
      for (const side of sides) gain.connect(ears, 0, side);
      // Voices that do not belong together add up as the root of their number.
      gain.gain.value = this.#alone === null && this.#channels > 2 ? 1 / Math.sqrt(this.#channels) : 1;
    });
  }

  #make() {
    const context = new AudioContext();
    const source = context.createMediaElementSource(this.#video);
    const apart = context.createChannelSplitter(this.#channels);
    const ears = context.createChannelMerger(2);
    source.connect(apart);
    const gains = [...Array(this.#channels)].map((_, channel) => {
      const gain = context.createGain();
      apart.connect(gain, channel);
      return gain;
    });
    ears.connect(context.destination);
    return { context, gains, ears };
  }
}
