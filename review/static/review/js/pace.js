// How fast plain playing goes for this person: remembered by this browser. Up to twice, what is shown is watched.

const PACES = [0.5, 0.75, 1, 1.25, 1.5, 1.75, 2];
const KEPT = "rushlight-pace:";

export class Pace {
  #player;
  #choice;
  #name;

  /** `choice` is the page's <select> of paces. */
  constructor(player, choice, person) {
    this.#player = player;
    this.#choice = choice;
    this.#name = `${KEPT}${person}`;
    for (const pace of PACES) choice.add(new Option(`${pace}×`, pace));
    player.pace = this.#kept;
    choice.value = player.pace;
    choice.addEventListener("change", () => this.#set(Number(choice.value)));
  }

  /** One step faster (1) or slower (-1). */
  change(direction) {
    const pace = PACES[PACES.indexOf(this.#player.pace) + direction];
    if (pace) this.#set(pace);
  }

  #set(pace) {
    this.#player.pace = pace;
    this.#choice.value = pace;
    if (this.#player.speed > 0) this.#player.play();
    try {
      localStorage.setItem(this.#name, pace);
    } catch {
      // then it holds for this page only
    }
  }

  get #kept() {
    try {
      const pace = Number(localStorage.getItem(this.#name));
      return PACES.includes(pace) ? pace : 1;
    } catch {
      return 1; // this browser keeps nothing
    }
  }
}
