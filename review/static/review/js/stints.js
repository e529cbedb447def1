// Who holds what of this clip: taking it on, handing it back, and what others took or were given meanwhile.

import { call } from "./api.js";

const TAKEN = "This clip is yours to log: the others\u2019 \u201cnext unwatched\u201d passes it by. Hand it back when you stop.";
const BACK = "Handed back: the others\u2019 \u201cnext unwatched\u201d finds it again.";

/**
 * Bind the buttons in `box`, and keep the facts' stints as they are; `label(frame)` gives the timecode, `say(words)` tells
 * the person. Returns a function that takes the stints as the server has them.
 */
export function bindStints(box, facts, label, say) {
  const { clip, person, api } = facts;
  let stale = false; // what is heard next may be from before what was done here

  box.addEventListener("click", ({ target }) => {
    const { handBack } = target.dataset;
    if (handBack) work(async () => (await call("DELETE", `${api.stints}${handBack}/`), without(handBack), say(BACK)));
    else if (target.id === "take") work(async () => (added(await call("POST", api.stints, { clip })), say(TAKEN)));
  });

  async function work(what) {
    stale = true;
    await what().catch((problem) => say(problem.message));
    stale = true;
  }

  function added({ id, logger, in_frame, out_frame, second }) {
    show([...facts.stints, { id, logger, in_frame, out_frame, second }]);
    box.querySelector(`[data-stint="${id}"] button`).focus();
  }

  function without(id) {
    show(facts.stints.filter((each) => each.id !== Number(id)));
    box.querySelector("#take")?.focus();
  }

  function show(stints) {
    facts.stints = stints;
    const take = box.querySelector("#take");
    if (take) take.hidden = stints.length > 0;
    box.replaceChildren(...stints.map(line), ...(take ? [take] : []));
  }

  function line({ id, logger, in_frame, out_frame }) {
    const made = document.createElement("span");
    made.dataset.stint = id;
    made.append(`${logger} has ${label(in_frame)}–${label(out_frame)} `);
    if (logger !== person) return made;
    const back = Object.assign(document.createElement("button"), { type: "button", className: "small", textContent: "Hand back" });
    back.dataset.handBack = id;
    made.append(back);
    return made;
  }

  return (stints) => {
    const before = stale;
    stale = false;
    if (before || JSON.stringify(stints) === JSON.stringify(facts.stints)) return;
    const on = document.activeElement?.closest?.("[data-stint]")?.dataset.stint;
    show(stints);
    box.querySelector(`[data-stint="${on}"] button`)?.focus();
  };
}
