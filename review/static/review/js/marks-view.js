// Shows what is marked, wherever it is shown: on the sheet, in the list, in the form.

export class MarksView {
  #facts;
  #marks;
  #marking;
  #sheet;
  #list;
  #form;
  #keys;
  #timebase;
  #label;
  #page;
  #proofs;

  /** `page(id)` gives a part of the page, `label(frame)` the timecode; `form` is null where nobody marks. */
  constructor({ facts, marks, marking, sheet, list, form, keys, timebase, label, page, proofs }) {
    this.#proofs = proofs;
    this.#facts = facts;
    this.#marks = marks;
    this.#marking = marking;
    this.#sheet = sheet;
    this.#list = list;
    this.#form = form;
    this.#keys = keys;
    this.#timebase = timebase;
    this.#label = label;
    this.#page = page;
    for (const each of [marking, marks, keys]) each.addEventListener("change", () => this.show());
  }

  show() {
    const { open, active, subject } = this.#marking;
    const { all } = this.#marks;
    const select = this.#marks.get(active);
    this.#sheet.show({ selects: all, active: select?.id ?? null, draft: open });
    this.showList();
    this.#page("select-count").textContent = all.length || "";
    if (!this.#form) return;
    const { in_frame = null, out_frame = null } = subject ?? {};
    this.#page("in").textContent = in_frame === null ? "–" : this.#label(in_frame);
    this.#page("out").textContent = out_frame === null ? "–" : this.#label(out_frame);
    this.#proofs.show({ in: in_frame, out: out_frame === null ? null : out_frame - 1 });
    this.#form.show(subject, this.#title(select, all, open));
    this.#page("keeping").setAttribute("aria-pressed", String(Boolean(select?.worth_keeping)));
  }

  /** The list alone: where its selects stand has changed. */
  showList() {
    this.#list.show(this.#marks.all, this.#marks.get(this.#marking.active)?.id, this.#marking.also);
  }

  #title(select, all, open) {
    if (select) {
      const by = select.logger === this.#facts.person ? "" : `, marked by ${select.logger}`;
      const lasts = this.#timebase.seconds(select.out_frame - select.in_frame).toFixed(1);
      return `Select ${all.indexOf(select) + 1}: ${lasts} s${by}`;
    }
    if (!open) return "Mark in and out to make a select";
    const tags = open.tags.map((tag) => ` · ${tag}`).join("");
    const [marked, other] = open.in_frame === null ? ["Out", "in"] : ["In", "out"];
    return `${marked} is marked: ${this.#keys.keyOf(other === "in" ? "markIn" : "markOut")} marks ${other}${tags}`;
  }
}
