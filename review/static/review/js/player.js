// A video whose frames are exact: what is on the screen is known by its number.

const SETTLE = 200; // ms after a pause until the last frame callback has surely come
const SEEK_TIMEOUT = 400; // ms; a seek to the frame already shown brings no callback
const SPEEDS = [1, 2, 4, 8];
const REFRESH = 20; // ms: somewhat more than a screen's, so that what is coming is known before it is shown

export class Player extends EventTarget {
  pace = 1; // how fast plain playing goes
  #video;
  #timebase;
  #frames;
  #shown = 0;
  #target = null; // the frame being sought
  #wanted = null; // the newest one asked for while it is
  #seeking = false;
  #timer = 0;
  #settling = 0;
  #reverse = null;
  #loading = null; // the frame to go to when a longer file is there

  constructor(video, timebase, frames) {
    super();
    this.#video = video;
    this.#timebase = timebase;
    this.#frames = frames;
    video.preservesPitch = true;
    this.#listen();
    for (const event of ["play", "pause", "ratechange", "volumechange", "ended"]) {
      video.addEventListener(event, () => this.#changed());
    }
    video.addEventListener("pause", () => this.#settle());
    video.addEventListener("seeked", () => requestAnimationFrame(() => this.#look()));
  }

  /** The number of the frame on the screen, as of the last frame callback. */
  get frame() {
    return this.#shown;
  }

  /** The frame that will be on the screen after its next refresh, if it plays on. */
  get coming() {
    const ahead = this.#video.paused ? 0 : (REFRESH / 1000) * this.#video.playbackRate;
    return this.#timebase.frameAt(this.#video.currentTime + ahead);
  }

  /** The address of what is played. */
  get source() {
    return this.#video.src;
  }

  get playing() {
    return !this.#video.paused || this.#reverse !== null;
  }

  /** Whether it has played to the end of the file. */
  get ended() {
    return this.#video.ended;
  }

  /** Signed: 2 is twice as fast, -1 is backwards, 0 is still. */
  get speed() {
    if (this.#reverse) return -this.#reverse.speed;
    return this.#video.paused ? 0 : this.#video.playbackRate;
  }

  get muted() {
    return this.#video.muted || this.#video.volume === 0;
  }

  set muted(muted) {
    this.#video.muted = muted;
  }

  /** Play a longer file of the same clip from here on, as it was: at the same frame, speed and sound. */
  grow(src, frames) {
    const { frame, speed } = { frame: this.#heading, speed: this.#video.paused ? 0 : this.#video.playbackRate };
    this.#stopReverse();
    this.#arrivedNowhere();
    this.#frames = frames;
    this.#loading = frame;
    this.#video.addEventListener(
      "loadedmetadata",
      () => {
        const to = this.#loading ?? this.#heading;
        this.#loading = null;
        this.seek(to);
        if (speed) this.play(speed);
      },
      { once: true },
    );
    this.#video.src = src;
  }

  /** Show a frame. Asked again before it is there, only the newest is sought. Backwards goes on from there. */
  seek(frame) {
    if (this.#reverse) Object.assign(this.#reverse, { from: frame, since: performance.now() });
    this.#aim(frame);
  }

  #aim(frame) {
    const to = Math.max(0, Math.min(this.#frames - 1, Math.round(frame)));
    if (this.#loading !== null) return void (this.#loading = to);
    this.#wanted = to;
    if (!this.#seeking) this.#goOn();
  }

  step(count) {
    this.pause();
    this.seek(this.#heading + count);
  }

  play(speed = this.pace) {
    this.#stopReverse();
    clearTimeout(this.#settling);
    this.#video.playbackRate = speed;
    if (this.#shown >= this.#frames - 1 && this.#video.paused) this.seek(0);
    this.#video.play().catch(() => this.#changed());
  }

  pause() {
    this.#stopReverse();
    this.#video.pause();
  }

  toggle() {
    if (this.playing) this.pause();
    else this.play();
  }

  /** Play forwards (1), first at the pace, or backwards (-1); again to go faster, up to eight times. */
  shuttle(direction) {
    const now = this.speed;
    const again = Math.sign(now) === direction;
    const faster = SPEEDS.find((speed) => speed > Math.abs(now)) ?? SPEEDS.at(-1);
    if (direction > 0) this.play(again ? faster : this.pace);
    else this.#playBackwards(again ? faster : 1);
  }

  /** The frame that is on the screen at this moment, for a mark, drawn on `canvas` as its proof. */
  take(canvas) {
    const picture = this.#picture();
    canvas?.getContext("2d").drawImage(picture ?? this.#video, 0, 0, canvas.width, canvas.height);
    if (!picture) return this.#shown;
    const frame = this.#frameAt(picture.timestamp / 1e6);
    picture.close();
    return frame;
  }

  // Where it is going, or else is.
  get #heading() {
    return this.#loading ?? this.#wanted ?? this.#target ?? this.take();
  }

  // The decoder's own frame, which knows its time. The callbacks lag behind it while playing, and one is
  // lost now and then where seeks follow each other closely.
  #picture() {
    try {
      return new VideoFrame(this.#video);
    } catch {
      return null; // no picture yet
    }
  }

  #frameAt(seconds) {
    return Math.min(this.#timebase.frameAt(seconds), this.#frames - 1);
  }

  #listen() {
    this.#video.requestVideoFrameCallback((now, facts) => {
      this.#saw(this.#frameAt(facts.mediaTime));
      this.#listen();
    });
  }

  // Look for oneself, where no callback may come.
  #look() {
    if (this.#video.paused) this.#saw(this.take());
  }

  #saw(frame) {
    this.#shown = frame;
    if (this.#seeking && frame === this.#target) this.#arrived();
    this.dispatchEvent(new CustomEvent("frame", { detail: { frame } }));
  }

  #goOn() {
    this.#target = this.#wanted;
    this.#wanted = null;
    this.#seeking = true;
    this.#video.currentTime = this.#timebase.within(this.#target);
    clearTimeout(this.#timer);
    const sought = this.#target;
    this.#timer = setTimeout(() => {
      this.#look();
      if (this.#target === sought) this.#arrived();
    }, SEEK_TIMEOUT);
  }

  #arrived() {
    clearTimeout(this.#timer);
    this.#seeking = false;
    this.#target = null;
    if (this.#wanted !== null) this.#goOn();
    else this.dispatchEvent(new Event("settled"));
  }

  // What was sought in a file that is replaced is not sought any more.
  #arrivedNowhere() {
    clearTimeout(this.#timer);
    clearTimeout(this.#settling);
    this.#seeking = false;
    this.#target = this.#wanted = null;
  }

  // A paused player's clock may stand up to three frames after its picture: put it on the picture's own.
  #settle() {
    clearTimeout(this.#settling);
    this.#settling = setTimeout(() => {
      if (this.#video.paused && !this.#seeking && !this.#reverse) this.seek(this.take());
    }, SETTLE);
  }

  // Browsers do not play backwards: frames are sought one after the other, as fast as they come.
  #playBackwards(speed) {
    this.#video.pause();
    clearTimeout(this.#settling);
    if (this.#reverse) cancelAnimationFrame(this.#reverse.request);
    const run = { speed, from: this.#heading, since: performance.now(), request: 0 };
    const turn = () => {
      const passed = (performance.now() - run.since) / 1000;
      const target = run.from - Math.round((passed * speed * this.#timebase.numerator) / this.#timebase.denominator);
      if (!this.#seeking && target !== this.#shown) this.#aim(target);
      if (target <= 0) this.pause();
      else run.request = requestAnimationFrame(turn);
    };
    this.#reverse = run;
    run.request = requestAnimationFrame(turn);
    this.#changed();
  }

  #stopReverse() {
    if (!this.#reverse) return;
    cancelAnimationFrame(this.#reverse.request);
    this.#reverse = null;
    this.#changed();
  }

  #changed() {
    this.dispatchEvent(new Event("change"));
  }
}
