// Taking a clip on, and handing it back.

import { call } from "./api.js";

const TAKEN = "This clip is yours to log: the others\u2019 \u201cnext unwatched\u201d passes it by. Hand it back when you stop.";
const BACK = "Handed back: the others\u2019 \u201cnext unwatched\u201d finds it again.";

/** Bind the buttons in `box`, and keep the facts' stints as they are; `label(frame)` gives the timecode, `say(words)` tells the person. */
export function bindStints(box, facts, label, say) {
  const { clip, api } = facts;
  box.addEventListener("click", ({ target }) => {
    const { handBack } = target.dataset;
    if (handBack) work(async () => (await call("DELETE", `${api.stints}${handBack}/`), without(handBack), say(BACK)));
    else if (target.id === "take") work(async () => (added(await call("POST", api.stints, { clip })), say(TAKEN)));
  });

  function work(what) {
    what().catch((problem) => say(problem.message));
  }

  function added({ id, logger, in_frame, out_frame, second }) {
    facts.stints.push({ id, logger, in_frame, out_frame, second });
    const made = document.createElement("span");
    made.dataset.stint = id;
    const back = Object.assign(document.createElement("button"), { type: "button", className: "small", textContent: "Hand back" });
    back.dataset.handBack = id;
    made.append(`${logger} has ${label(in_frame)}–${label(out_frame)} `, back);
    box.prepend(made);
    show();
    back.focus();
  }

  function without(id) {
    facts.stints = facts.stints.filter((each) => each.id !== Number(id));
    box.querySelector(`[data-stint="${id}"]`).remove();
    show();
    box.querySelector("#take")?.focus();
  }

  function show() {
    const take = box.querySelector("#take");
    if (take) take.hidden = Boolean(box.querySelector("[data-stint]"));
  }
}
