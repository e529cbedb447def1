// The filmstrip's sheets of small pictures; each is fetched when a picture of it is first wanted.

const MOST_KEPT = 40; // sheets in memory: more than any screen shows

export class Film {
  #strip;
  #sheets = new Map(); // number -> Image, the one wanted last at the end
  #arrived;

  /** `strip` is the clip's filmstrip (null for none), `arrived` is called when another sheet can be drawn. */
  constructor(strip, arrived) {
    this.#strip = strip;
    this.#arrived = arrived;
  }

  get any() {
    return Boolean(this.#strip?.count);
  }

  /** A picture's width for a height. */
  width(height) {
    return (height * this.#strip.picture_width) / this.#strip.picture_height;
  }

  /** Draw the picture nearest to a frame, `shown` of its `wide` pixels of it; nothing while its sheet is on the way. */
  draw(pen, frame, x, top, shown, wide, height) {
    const strip = this.#strip;
    const index = Math.min(strip.count - 1, Math.round(frame / strip.every));
    const each = strip.columns * strip.rows;
    const sheet = this.#sheet(Math.floor(index / each));
    if (!sheet.complete || !sheet.naturalWidth) return;
    const [column, row] = [index % strip.columns, Math.floor((index % each) / strip.columns)];
    const [left, above] = [column * strip.picture_width, row * strip.picture_height];
    pen.drawImage(sheet, left, above, (strip.picture_width * shown) / wide, strip.picture_height, x, top, shown, height);
  }

  #sheet(number) {
    const sheet = this.#sheets.get(number) ?? this.#fetch(number);
    this.#sheets.delete(number);
    this.#sheets.set(number, sheet);
    if (this.#sheets.size > MOST_KEPT) this.#sheets.delete(this.#sheets.keys().next().value);
    return sheet;
  }

  #fetch(number) {
    const sheet = new Image();
    sheet.addEventListener("load", () => this.#arrived());
    sheet.src = this.#strip.files[number];
    return sheet;
  }
}
