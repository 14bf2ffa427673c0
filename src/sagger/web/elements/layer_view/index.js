// A layer of drops, from the whole bed down to one drop. It is fetched as square cuts, each as fine as the page can
// show, and drawn on change only; what is not there yet is filled from coarser cuts, or from the layer seen before.
import { listen } from "./pointer.js";
import { program, texture } from "./shader.js";

export const SIDE = 512;
const KEPT = 300; // cuts
const LARGEST = 64; // page pixels a drop
const BARS_MM = [0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200];
const STILL_MS = 180; // after the last move
const SLOW_MS = 24; // between two frames; if it is more, every other pixel is left out while something moves
export class LayerView {
  constructor(canvas, { columns, rows, pitch, url }) {
    Object.assign(this, { canvas, columns, rows, pitch, url });
    this.levels = 1 + Math.max(0, Math.ceil(Math.log2(Math.max(columns, rows) / SIDE)));
    this.cuts = new Map();
    this.layer = this.before = 1;
    this.frames = 0;
    this.after = () => {};
    this.fine = 1; // pixels of the canvas over those of the page
    this.gap = 16; // between frames, as seen of late [ms]
    this.high = pitch[1] / pitch[0]; // of a drop's place, over its width
    this.begin();
    this.dress();
    new MutationObserver(() => { this.dress(); this.ask(); }).observe(document.body, { attributeFilter: ["class"] });
    new ResizeObserver(() => this.resize()).observe(canvas);
    listen(this);
  }

  // --- where it is looked at from: u and v are drops from the left and from the top, `scale` is device pixels a drop

  resize() {
    const [wide, tall] = [this.canvas.clientWidth, this.canvas.clientHeight].map((side) => Math.round(side * devicePixelRatio));
    if (!wide || (wide === this.wide && tall === this.tall)) return;
    const middle = this.scale ? this.middle() : null;
    Object.assign(this, { wide, tall });
    middle ? this.look(...middle, this.scale) : this.fit();
    if (this.drawn) this.draw(); // a new canvas is empty: no frame of that is shown
  }

  fit() {
    const scale = Math.min(this.wide / this.columns, this.tall / this.rows / this.high) * 0.96;
    this.least = scale / 2;
    this.look(this.columns / 2, this.rows / 2, scale);
  }

  middle() { return [this.u + this.wide / 2 / this.scale, this.v + this.tall / 2 / this.scale / this.high]; }

  look(u, v, scale) {
    this.scale = Math.min(Math.max(scale, this.least ?? 0), LARGEST * devicePixelRatio);
    const clamp = (at, most) => Math.min(Math.max(at, 0), most);
    this.u = clamp(u, this.columns) - this.wide / 2 / this.scale;
    this.v = clamp(v, this.rows) - this.tall / 2 / this.scale / this.high;
    if (this.drawn) this.move();
    this.ask();
  }

  zoom(times, x = this.wide / 2, y = this.tall / 2) {
    const [u, v] = this.under(x, y);
    const scale = Math.min(Math.max(this.scale * times, this.least), LARGEST * devicePixelRatio);
    this.look(u + (this.wide / 2 - x) / scale, v + (this.tall / 2 - y) / scale / this.high, scale);
  }

  shift(x, y) {
    const [u, v] = this.middle();
    this.look(u + x / this.scale, v + y / this.scale / this.high, this.scale);
  }

  under(x, y) { return [this.u + x / this.scale, this.v + y / this.scale / this.high]; }

  go(layer) {
    if (layer === this.layer) return;
    if (this.whole) this.before = this.layer;
    this.layer = layer;
    for (const cut of this.cuts.values()) if (cut.stop && cut.layer !== layer) cut.stop.abort();
    this.ask();
  }

  /** What falls on a place, 0 to 1 of the largest drop; null where it is not known. */
  drop(column, line) {
    const cut = this.cuts.get(`${this.layer}/0/${Math.floor(column / SIDE)}/${Math.floor(line / SIDE)}`);
    return cut?.pixels ? cut.pixels[(line % SIDE) * cut.wide + (column % SIDE)] / 255 : null;
  }

  // --- drawing -----------------------------------------------------------------------------------

  begin() {
    this.gl = this.canvas.getContext("webgl2", { alpha: false, antialias: false, depth: false, stencil: false });
    if (!this.gl) throw new Error("This browser draws no WebGL 2; layers cannot be shown.");
    this.at = program(this.gl);
  }

  /** Take ground, paper and ink from the page, light or dark. */
  dress() {
    const style = getComputedStyle(this.canvas.parentElement);
    this.tones = ["--ground", "--bare", "--drop"].map((name) => [1, 3, 5].map((at) => parseInt(style.getPropertyValue(name).trim().slice(at, at + 2), 16) / 255));
  }

  /** Something moves: if this machine is slow, coarser until it stands still. */
  move() {
    this.moving = true;
    clearTimeout(this.still);
    this.still = setTimeout(() => { this.moving = false; this.ask(); }, STILL_MS);
  }

  /** Pixels of the canvas as many as the moment asks for. */
  size() {
    const now = performance.now(), gap = now - (this.last ?? 0);
    this.last = now;
    if (this.moving && gap < 200) this.gap += 0.2 * (gap - this.gap);
    this.fine = this.moving && (this.gap > SLOW_MS || this.fine < 1) ? 0.5 : 1;
    const [width, height] = [this.wide, this.tall].map((side) => Math.round(side * this.fine));
    if (this.canvas.width !== width) this.canvas.width = width;
    if (this.canvas.height !== height) this.canvas.height = height;
  }

  ask() { this.asked ||= requestAnimationFrame(() => { this.asked = 0; this.draw(); }); }

  draw() {
    if (!this.scale) return;
    this.size();
    const { gl, canvas, at } = this, [ground, paper, ink] = this.tones, scale = this.scale * this.fine;
    gl.viewport(0, 0, canvas.width, canvas.height);
    this.fill([0, 0, canvas.width, canvas.height], ground);
    this.fill(this.box(0, 0, this.columns, this.rows), paper);
    gl.uniform3f(at.paper, ...paper);
    gl.uniform3f(at.ink, ...ink);
    const ruled = this.scale > 10 * devicePixelRatio;
    gl.uniform2f(at.near, ruled ? 1 / scale : 0, ruled ? 1 / scale / this.high : 0);
    this.level = Math.min(Math.max(Math.floor(Math.log2(1 / scale) + 1e-9), 0), this.levels - 1);
    this.missing = 0;
    if (!this.all(this.layer, this.level)) {
      if (this.before !== this.layer) this.lay(this.before, this.level, false);
      for (let level = this.levels - 1; level > this.level; level -= 1) this.lay(this.layer, level, level === this.levels - 1);
    }
    this.lay(this.layer, this.level, true);
    this.bar(ink, paper);
    this.whole = this.missing === 0 && this.fine === 1;
    this.drawn = true;
    this.frames += 1;
    this.after();
  }

  fill([x, y, x2, y2], tone) {
    const { gl, canvas } = this;
    gl.enable(gl.SCISSOR_TEST);
    gl.scissor(x, canvas.height - y2, Math.max(0, x2 - x), Math.max(0, y2 - y));
    gl.clearColor(...tone, 1);
    gl.clear(gl.COLOR_BUFFER_BIT);
    gl.disable(gl.SCISSOR_TEST);
  }

  /** A length of round millimetres at the lower left; drawn here, for the page would paint it anew in each frame. */
  bar(ink, paper) {
    const mm = (devicePixelRatio * this.pitch[0]) / this.scale; // a page pixel
    this.length = BARS_MM.findLast((each) => each / mm <= 160) ?? BARS_MM[0];
    const pixel = devicePixelRatio * this.fine, [left, low, wide] = [16 * pixel, this.canvas.height - 14 * pixel, (this.length / mm) * pixel];
    const block = (x, y, x2, y2, tone) => this.fill([x, y, x2, y2].map(Math.round), tone);
    block(left - 4 * pixel, low - 10 * pixel, left + wide + 4 * pixel, low + 4 * pixel, paper);
    block(left, low - 3 * pixel, left + wide, low, ink);
    for (const x of [left, left + wide - 3 * pixel]) block(x, low - 8 * pixel, x + 3 * pixel, low, ink);
  }

  /** Edges in device pixels, whole ones, so that neighbours meet without a seam. */
  box(u, v, u2, v2) {
    const across = this.scale * this.fine, down = across * this.high;
    return [(u - this.u) * across, (v - this.v) * down, (u2 - this.u) * across, (v2 - this.v) * down].map(Math.round);
  }

  /** First and last column, first and last row of the cuts in sight. */
  spots(level) {
    const wide = SIDE * 2 ** level;
    const [u2, v2] = this.under(this.wide, this.tall);
    const last = (drops, seen) => Math.min(Math.ceil(drops / wide) - 1, Math.floor(seen / wide));
    return [Math.max(0, Math.floor(this.u / wide)), last(this.columns, u2), Math.max(0, Math.floor(this.v / wide)), last(this.rows, v2)];
  }

  all(layer, level) {
    const [left, right, top, bottom] = this.spots(level);
    for (let row = top; row <= bottom; row += 1) {
      for (let column = left; column <= right; column += 1) if (!this.cuts.get(`${layer}/${level}/${column}/${row}`)?.pixels) return false;
    }
    return true;
  }

  lay(layer, level, fetched) {
    const { gl, canvas, at } = this;
    const [left, right, top, bottom] = this.spots(level);
    const step = 2 ** level, wide = SIDE * step;
    for (let row = top; row <= bottom; row += 1) {
      for (let column = left; column <= right; column += 1) {
        const cut = this.cut(layer, level, column, row, fetched);
        if (!cut?.pixels) {
          if (level === this.level && layer === this.layer) this.missing += 1;
          continue;
        }
        gl.bindTexture(gl.TEXTURE_2D, cut.texture ??= texture(gl, cut));
        const [u, v] = [column * wide, row * wide];
        const [x, y, x2, y2] = this.box(u, v, u + cut.wide * step, v + cut.tall * step);
        gl.uniform4f(at.box, (2 * x) / canvas.width - 1, 1 - (2 * y) / canvas.height, (2 * x2) / canvas.width - 1, 1 - (2 * y2) / canvas.height);
        gl.uniform2f(at.drops, cut.wide * step, cut.tall * step);
        gl.drawArrays(gl.TRIANGLE_STRIP, 0, 4);
      }
    }
  }

  // --- cuts --------------------------------------------------------------------------------------

  cut(layer, level, column, row, fetched) {
    const name = `${layer}/${level}/${column}/${row}`;
    const had = this.cuts.get(name);
    if (had) {
      this.cuts.delete(name);
      this.cuts.set(name, had);
      return had;
    }
    if (!fetched) return null;
    const [wide, tall] = [[this.columns, column], [this.rows, row]].map(([drops, at]) => Math.min(SIDE, Math.ceil(drops / 2 ** level) - at * SIDE));
    const fresh = { layer, wide, tall, stop: new AbortController() };
    this.cuts.set(name, fresh);
    this.bring(name, fresh);
    while (this.cuts.size > KEPT) {
      const [oldest, cut] = this.cuts.entries().next().value;
      if (cut.texture) this.gl.deleteTexture(cut.texture);
      cut.stop?.abort();
      this.cuts.delete(oldest);
    }
    return null;
  }

  async bring(name, cut) {
    try {
      const answer = await fetch(this.url.replace("CUT", name), { signal: cut.stop.signal });
      if (!answer.ok) throw new Error((await answer.text()).trim());
      cut.pixels = new Uint8Array(await answer.arrayBuffer());
      cut.stop = null;
      this.ask();
    } catch (error) {
      this.cuts.delete(name);
      if (error.name !== "AbortError") this.wrong?.(error.message);
    }
  }

  end() {
    clearTimeout(this.still);
    cancelAnimationFrame(this.asked);
    this.gl.getExtension("WEBGL_lose_context")?.loseContext();
  }
}
