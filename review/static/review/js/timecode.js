// SMPTE timecode as labels for frames; the same rules and check values as review/timecode.py.

export class Timebase {
  constructor(numerator, denominator, drop = false) {
    this.numerator = numerator;
    this.denominator = denominator;
    this.drop = drop;
    this.nominal = Math.ceil(numerator / denominator);
    this.dropped = drop ? this.nominal / 15 : 0;
    this.perTenMinutes = 600 * this.nominal - 9 * this.dropped;
    this.perDay = 144 * this.perTenMinutes;
  }

  /** The timecode of a frame; frame 0 is midnight, and later days wrap. */
  label(frame) {
    const inDay = frame % this.perDay;
    const blocks = Math.floor(inDay / this.perTenMinutes);
    const within = inDay % this.perTenMinutes;
    let skipped = 9 * this.dropped * blocks;
    if (within >= 60 * this.nominal) {
      skipped += this.dropped * (1 + Math.floor((within - 60 * this.nominal) / (60 * this.nominal - this.dropped)));
    }
    const counted = inDay + skipped;
    const seconds = Math.floor(counted / this.nominal);
    const parts = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60, seconds % 60, counted % this.nominal];
    const [hh, mm, ss, ff] = parts.map((part) => String(part).padStart(2, "0"));
    return `${hh}:${mm}:${ss}${this.drop ? ";" : ":"}${ff}`;
  }

  /** The frame of a label's hours, minutes, seconds and frames, or null where no frame has that label. */
  frameOf(hh, mm, ss, ff) {
    if (hh > 23 || mm > 59 || ss > 59 || ff >= this.nominal) return null;
    if (ff < this.dropped && ss === 0 && mm % 10) return null;
    const minutes = 60 * hh + mm;
    return (60 * minutes + ss) * this.nominal + ff - this.dropped * (minutes - Math.floor(minutes / 10));
  }

  /** Seconds by the clock that a count of frames lasts. */
  seconds(frames) {
    return (frames * this.denominator) / this.numerator;
  }

  /**
   * A time on a player's clock (seconds) that surely belongs to a frame: a quarter of the way through it. Its start
   * may be rounded into the frame before; its middle into the one after, where a file's own clock ticks once a frame.
   */
  within(frame) {
    return ((frame + 0.25) * this.denominator) / this.numerator;
  }

  /** The frame that a player's time (seconds) belongs to. */
  frameAt(seconds) {
    return Math.round((seconds * this.numerator) / this.denominator);
  }
}
