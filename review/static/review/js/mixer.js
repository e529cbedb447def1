// The sound of the video's channels, each with a level of its own, on both ears.
//
// What a browser makes of several channels that have no places in a room is its own affair, so the sound of
// clips with more than two is mixed here. One or two are left to it until something is asked of one of them.

export class Mixer {
  #video;
  #channels;
  #graph = null;

  constructor(video, channels) {
    this.#video = video;
    this.#channels = channels;
  }

  /** Whether the sound goes through here: then every channel's level can be read. */
  get working() {
    return this.#graph !== null;
  }

  /**
   * Hear each channel at its gain (0 to 1). `apart` leaves two channels on an ear each; otherwise all are on both.
   * To be called when the person has done something, such as playing: before that browsers let no page make sound.
   */
  hear(gains, apart) {
    this.#graph ??= this.#make();
    const { context, levels, ears } = this.#graph;
    context.resume();
    const heard = gains.filter((gain) => gain > 0).length;
    levels.forEach((level, channel) => {
      level.disconnect();
      if (!gains[channel]) return;
      for (const side of apart ? [channel] : [0, 1]) level.connect(ears, 0, side);
      // Voices that do not belong together add up as the root of their number.
      level.gain.value = apart ? gains[channel] : gains[channel] / Math.sqrt(heard);
    });
  }

  /** How loud each channel is at this moment, before its level: 0 to 1 of full scale. */
  peaks() {
    return (this.#graph?.meters ?? []).map((meter) => {
      const samples = new Float32Array(meter.fftSize);
      meter.getFloatTimeDomainData(samples);
      return samples.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);
    });
  }

  #make() {
    const context = new AudioContext();
    const source = context.createMediaElementSource(this.#video);
    const apart = context.createChannelSplitter(this.#channels);
    const ears = context.createChannelMerger(2);
    source.connect(apart);
    const each = (make) => [...Array(this.#channels)].map((_, channel) => {
      const node = make();
      apart.connect(node, channel);
      return node;
    });
    const levels = each(() => context.createGain());
    const meters = each(() => new AnalyserNode(context, { fftSize: 2048 }));
    ears.connect(context.destination);
    return { context, levels, meters, ears };
  }
}
