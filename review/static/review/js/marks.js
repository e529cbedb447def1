// The selects of a clip as this page has them, with undo and redo. What changes goes to the outbox.

const FIELDS = ["in_frame", "out_frame", "tags", "note", "rating"];

function contentOf(select) {
  return Object.fromEntries(FIELDS.map((field) => [field, select[field]]));
}

export class Marks extends EventTarget {
  #clip;
  #person;
  #outbox;
  #selects = new Map(); // id -> select; a deleted one keeps its version here, `deleted` true
  #done = []; // {id, before, after}; null means that it was not there
  #undone = [];

  constructor(clip, person, selects, outbox) {
    super();
    this.#clip = clip;
    this.#person = person;
    this.#outbox = outbox;
    for (const select of selects) this.#selects.set(select.id, { ...select });
    for (const [id, { method, body }] of outbox.left) {
      const known = this.#selects.get(id) ?? { id, logger: person, version: body?.version ?? 0 };
      this.#selects.set(id, { ...known, ...(body ? contentOf(body) : {}), deleted: method === "DELETE" });
    }
    outbox.addEventListener("sent", (event) => this.#sent(event.detail));
  }

  /** Those that are not deleted, in order of their in points. */
  get all() {
    return [...this.#selects.values()]
      .filter((select) => !select.deleted)
      .sort((a, b) => a.in_frame - b.in_frame || a.out_frame - b.out_frame);
  }

  get(id) {
    const select = this.#selects.get(id);
    return select && !select.deleted ? select : undefined;
  }

  /** Make a select of frames [in_frame, out_frame); returns its id. */
  make(in_frame, out_frame, rest = {}) {
    const id = crypto.randomUUID?.() ?? randomId();
    this.#write(id, null, { in_frame, out_frame, tags: [], note: "", rating: 0, ...rest });
    return id;
  }

  change(id, changes) {
    const select = this.get(id);
    if (!select) return;
    const before = contentOf(select);
    const after = { ...before, ...changes };
    if (JSON.stringify(before) !== JSON.stringify(after)) this.#write(id, before, after);
  }

  delete(id) {
    const select = this.get(id);
    if (select) this.#write(id, contentOf(select), null);
  }

  undo() {
    const step = this.#done.pop();
    if (!step) return null;
    this.#undone.push(step);
    this.#apply(step.id, step.before);
    return step.id;
  }

  redo() {
    const step = this.#undone.pop();
    if (!step) return null;
    this.#done.push(step);
    this.#apply(step.id, step.after);
    return step.id;
  }

  /** After a conflict: write ours over what the server has. */
  keepMine(id, theirs) {
    const select = this.#selects.get(id);
    select.version = theirs.version;
    this.#apply(id, select.deleted ? null : contentOf(select));
  }

  /** After a conflict: take what the server has. */
  takeTheirs(id, theirs) {
    this.#selects.set(id, { ...theirs });
    this.#outbox.drop(id);
    this.#tell();
  }

  /** A select that the server will never take: forget it. */
  forget(id) {
    this.#selects.delete(id);
    this.#outbox.drop(id);
    this.#tell();
  }

  #write(id, before, after) {
    this.#done.push({ id, before, after });
    this.#undone = [];
    this.#apply(id, after);
  }

  #apply(id, content) {
    const known = this.#selects.get(id) ?? { id, logger: this.#person, version: 0 };
    const select = { ...known, ...content, deleted: content === null };
    this.#selects.set(id, select);
    if (content === null) this.#outbox.add(id, "DELETE", { version: select.version });
    else this.#outbox.add(id, "PUT", { clip: this.#clip, ...content, version: select.version });
    this.#tell();
  }

  // The server has it: only its version (and, if nothing newer waits, its tidied words) matter here.
  #sent({ id, select, newer }) {
    const mine = this.#selects.get(id);
    if (!mine || !select) return;
    this.#selects.set(id, newer ? { ...mine, version: select.version } : { ...mine, ...select });
    this.#tell();
  }

  #tell() {
    this.dispatchEvent(new Event("change"));
  }
}

// crypto.randomUUID is missing where the page came over plain HTTP from another machine.
function randomId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}
