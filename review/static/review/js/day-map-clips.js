// The clips of several days on one map: in rows by camera, and in lanes where two of one camera roll at once.

import { midnight } from "./day-map-view.js";

const MOST_LANES = 3;

/** A day's answer (as api/days.py has it) with its times on the map's own clock. */
export function unpacked(answer) {
  const shift = midnight(answer.day);
  const ends = new Map(); // camera -> when each of its lanes is free again
  return {
    clips: answer.clips.map((row) => clipOf(row, answer, shift, ends)),
    notes: answer.notes.map(([at, camera, text]) => ({ at: at + shift, camera, text })),
    still: answer.still.map(([from, to]) => [from + shift, to + shift]),
  };
}

function clipOf(row, { cards, cameras }, shift, ends) {
  const [id, name, card, camera, start, end, frames, watched, skimmed, selectCount, seen, fast, selects] = row;
  const lanes = ends.get(camera) ?? ends.set(camera, []).get(camera);
  let lane = lanes.findIndex((free) => free <= start);
  if (lane < 0) lane = Math.min(lanes.length, MOST_LANES - 1);
  lanes[lane] = end;
  return {
    id, name, frames, watched, skimmed, selectCount, selects, lane,
    card: cards[card], camera: cameras[camera], start: start + shift, end: end + shift,
    seen: { watched: seen, skimmed: fast },
  };
}

export class Clips {
  /** `days` are unpacked ones. */
  constructor(days) {
    this.all = days.flatMap((day) => day.clips).sort((a, b) => a.start - b.start || a.id - b.id);
    this.notes = days.flatMap((day) => day.notes);
    this.still = days.flatMap((day) => day.still);
    this.lanes = new Map(); // camera -> how many it needs
    for (const { camera, lane } of this.all) this.lanes.set(camera, Math.max(this.lanes.get(camera) ?? 1, lane + 1));
    this.byId = new Map(this.all.map((clip) => [clip.id, clip]));
    this.longest = this.all.reduce((most, clip) => Math.max(most, clip.end - clip.start), 0);
    for (const note of this.notes) note.rolling = this.#rolling(note);
  }

  // Whether anything rolled when a note was written: among the clips that began lately enough.
  #rolling({ at, camera }) {
    for (let place = this.#firstFrom(at - this.longest); this.all[place]?.start <= at; place += 1) {
      const clip = this.all[place];
      if (at < clip.end && ["", clip.camera].includes(camera)) return true;
    }
    return false;
  }

  #firstFrom(time) {
    let [low, high] = [0, this.all.length];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (this.all[middle].start < time) low = middle + 1;
      else high = middle;
    }
    return low;
  }

  /** The clip at a time and place, if one is there; clips too narrow to be hit are reached `near` ms beside them. */
  at(time, camera, lane, near) {
    const here = this.all.filter((clip) => clip.camera === camera && clip.lane === lane && clip.start - near <= time && time < clip.end + near);
    return nearestOf(here, time);
  }

  /** The clip before (-1) or after (1) another one on its camera, or itself at the end. */
  beside(clip, way) {
    const row = this.all.filter((each) => each.camera === clip.camera);
    return row[row.indexOf(clip) + way] ?? clip;
  }

  /** What lies nearest in time on the next camera above (-1) or below (1) that has anything; or itself. */
  across(clip, way, cameras) {
    for (let at = cameras.indexOf(clip.camera) + way; at in cameras; at += way) {
      const found = this.nearest(clip.start, (each) => each.camera === cameras[at]);
      if (found) return found;
    }
    return clip;
  }

  nearest(time, fits = () => true) {
    return nearestOf(this.all.filter(fits), time);
  }
}

/** Of some clips the one that is on at a time, or is nearest to it; null of none. */
export function nearestOf(clips, time) {
  return clips.reduce((best, clip) => (best && awayFrom(best, time) <= awayFrom(clip, time) ? best : clip), null);
}

// How long before a clip, or after it, a time is; 0 within it.
const awayFrom = (clip, time) => Math.max(clip.start - time, time - clip.end, 0);

/** The frame of a clip that is on at a time. */
export function frameAt(clip, time) {
  const frame = Math.floor(((time - clip.start) / (clip.end - clip.start)) * clip.frames);
  return Math.max(0, Math.min(frame, clip.frames - 1));
}
