// Taking a clip on, and handing it back.

import { call } from "./api.js";

/** `say(words)` tells the person what was refused. */
export function bindStints(buttons, { clip, api }, say) {
  for (const button of buttons) {
    button.addEventListener("click", async () => {
      try {
        const stint = button.dataset.handBack;
        if (stint) await call("DELETE", `${api.stints}${stint}/`);
        else await call("POST", api.stints, { clip });
        location.reload();
      } catch (problem) {
        say(problem.message);
      }
    });
  }
}
