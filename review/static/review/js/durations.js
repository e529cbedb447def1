// Lengths of footage as people say them, as review/pages/words.py does.

/** 1 h 04 min, 12 min 30 s, 42 s, and below ten seconds 4.2 s. */
export function duration(seconds) {
  if (seconds > 0 && seconds < 10) return `${seconds.toFixed(1)} s`;
  const whole = Math.round(seconds);
  const [hours, minutes, rest] = [Math.floor(whole / 3600), Math.floor(whole / 60) % 60, whole % 60];
  if (hours) return `${hours} h ${String(minutes).padStart(2, "0")} min`;
  return minutes ? `${minutes} min ${String(rest).padStart(2, "0")} s` : `${rest} s`;
}
