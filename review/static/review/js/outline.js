// The outline of a clip's sound: how loud it is at most between two frames, however far apart, at once.

export class Outline {
  #channels;
  #levels; // of each channel (and of all together at the end): arrays of maxima over 1, 2, 4, 8 ... frames

  /** `peaks` has a byte for each channel of each frame, frame after frame. */
  constructor(peaks, channels) {
    this.#channels = channels;
    const frames = Math.floor(peaks.length / channels);
    const each = Array.from({ length: channels + 1 }, () => new Uint8Array(frames));
    for (let frame = 0, at = 0; frame < frames; frame += 1) {
      for (let channel = 0; channel < channels; channel += 1, at += 1) {
        each[channel][frame] = peaks[at];
        if (peaks[at] > each[channels][frame]) each[channels][frame] = peaks[at];
      }
    }
    this.#levels = each.map(pyramid);
  }

  /** The loudest of frames [from, to), 0 to 255; of one channel, or of all if it is null. */
  loudest(from, to, channel = null) {
    const levels = this.#levels[channel ?? this.#channels];
    const level = Math.min(levels.length - 1, Math.max(0, Math.floor(Math.log2(to - from))));
    const size = 2 ** level;
    let loudest = 0;
    for (let at = Math.floor(from / size); at * size < to; at += 1) loudest = Math.max(loudest, levels[level][at] ?? 0);
    return loudest;
  }
}

function pyramid(finest) {
  const levels = [finest];
  while (levels.at(-1).length > 1) {
    const below = levels.at(-1);
    const level = new Uint8Array(Math.ceil(below.length / 2));
    for (let at = 0; at < level.length; at += 1) level[at] = Math.max(below[2 * at], below[2 * at + 1] ?? 0);
    levels.push(level);
  }
  return levels;
}
