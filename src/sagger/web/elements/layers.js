// The layers of a box as drops, from the whole bed down to one drop. Pictures come as square cuts, each as fine as
// the page can show; what is not there yet is filled from coarser cuts, or from the layer seen before.
const SIDE = 512;
const KEPT = 500; // cuts
const BARS_MM = [0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200];
const KEYS = "Arrow keys move; + and − zoom; Home shows the whole layer; Page Up and Page Down go a layer up or down, with Shift ten.";

class Sheet {
  constructor(canvas, { columns, rows, pitch, url }) {
    Object.assign(this, { canvas, columns, rows, pitch, url });
    this.levels = 1 + Math.max(0, Math.ceil(Math.log2(Math.max(columns, rows) / SIDE)));
    this.pen = canvas.getContext("2d", { alpha: false });
    this.cuts = new Map();
    this.layer = this.before = 1;
    this.frames = 0;
    this.after = () => {};
    this.high = pitch[1] / pitch[0]; // of a drop's place, over its width
    new ResizeObserver(() => this.resize()).observe(canvas);
    this.hear();
  }

  // u and v are drops from the left and from the top; `scale` is device pixels a drop along x.
  resize() {
    const [width, height] = [this.canvas.clientWidth, this.canvas.clientHeight].map((side) => Math.round(side * devicePixelRatio));
    if (!width || (width === this.canvas.width && height === this.canvas.height)) return;
    const first = !this.scale;
    const [u, v] = first ? [] : this.middle();
    this.canvas.width = width;
    this.canvas.height = height;
    first ? this.fit() : this.look(u, v, this.scale);
  }

  fit() {
    const scale = Math.min(this.canvas.width / this.columns, this.canvas.height / this.rows / this.high) * 0.96;
    this.least = scale / 2;
    this.look(this.columns / 2, this.rows / 2, scale);
  }

  middle() { return [this.u + this.canvas.width / 2 / this.scale, this.v + this.canvas.height / 2 / this.scale / this.high]; }

  look(u, v, scale) {
    this.scale = Math.min(Math.max(scale, this.least ?? 0), 64 * devicePixelRatio);
    const clamp = (at, most) => Math.min(Math.max(at, 0), most);
    this.u = clamp(u, this.columns) - this.canvas.width / 2 / this.scale;
    this.v = clamp(v, this.rows) - this.canvas.height / 2 / this.scale / this.high;
    this.ask();
  }

  zoom(times, x = this.canvas.width / 2, y = this.canvas.height / 2) {
    const [u, v] = this.under(x, y);
    const scale = Math.min(Math.max(this.scale * times, this.least), 64 * devicePixelRatio);
    this.look(u + (this.canvas.width / 2 - x) / scale, v + (this.canvas.height / 2 - y) / scale / this.high, scale);
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

  ask() { this.asked ||= requestAnimationFrame(() => { this.asked = 0; this.draw(); }); }

  draw() {
    if (!this.scale) return;
    const { pen, canvas, scale } = this;
    pen.fillStyle = "#9a9da3";
    pen.fillRect(0, 0, canvas.width, canvas.height);
    pen.fillStyle = "#fff";
    const [left, top, right, bottom] = this.box(0, 0, this.columns, this.rows);
    pen.fillRect(left, top, right - left, bottom - top);
    pen.imageSmoothingEnabled = scale < 1;
    this.level = Math.min(Math.max(Math.floor(Math.log2(1 / scale) + 1e-9), 0), this.levels - 1);
    this.missing = 0;
    if (!this.all(this.layer, this.level)) {
      if (this.before !== this.layer) this.lay(this.before, this.level, false);
      for (let level = Math.min(this.level + 3, this.levels - 1); level > this.level; level -= 1) this.lay(this.layer, level, level === this.levels - 1);
    }
    this.lay(this.layer, this.level, true);
    this.whole = this.missing === 0;
    if (scale > 10 * devicePixelRatio) this.rule();
    this.frames += 1;
    this.after();
  }

  /** Edges in device pixels, whole ones, so that neighbours meet without a seam. */
  box(u, v, u2, v2) {
    return [(u - this.u) * this.scale, (v - this.v) * this.scale * this.high, (u2 - this.u) * this.scale, (v2 - this.v) * this.scale * this.high].map(Math.round);
  }

  spots(level) {
    const wide = SIDE * 2 ** level, spots = [];
    const [u2, v2] = this.under(this.canvas.width, this.canvas.height);
    const last = (drops, seen) => Math.min(Math.ceil(drops / wide) - 1, Math.floor(seen / wide));
    for (let row = Math.max(0, Math.floor(this.v / wide)); row <= last(this.rows, v2); row += 1) {
      for (let column = Math.max(0, Math.floor(this.u / wide)); column <= last(this.columns, u2); column += 1) spots.push([column, row]);
    }
    return spots;
  }

  all(layer, level) { return this.spots(level).every(([column, row]) => this.cuts.get(`${layer}/${level}/${column}/${row}`)?.image); }

  lay(layer, level, fetched) {
    const wide = SIDE * 2 ** level, step = 2 ** level;
    for (const [column, row] of this.spots(level)) {
      const image = this.cut(layer, level, column, row, fetched);
      if (!image) {
        if (level === this.level && layer === this.layer) this.missing += 1;
        continue;
      }
      const [x, y, x2, y2] = this.box(column * wide, row * wide, column * wide + image.width * step, row * wide + image.height * step);
      this.pen.drawImage(image, x, y, x2 - x, y2 - y);
    }
  }

  /** Lines between the places of drops, once these are large. */
  rule() {
    const { pen, canvas, scale } = this;
    pen.fillStyle = "rgba(128, 132, 140, .55)";
    for (let u = Math.max(0, Math.ceil(this.u)); u <= Math.min(this.columns, this.u + canvas.width / scale); u += 1) pen.fillRect(Math.round((u - this.u) * scale), 0, 1, canvas.height);
    for (let v = Math.max(0, Math.ceil(this.v)); v <= Math.min(this.rows, this.v + canvas.height / scale / this.high); v += 1) pen.fillRect(0, Math.round((v - this.v) * scale * this.high), canvas.width, 1);
  }

  cut(layer, level, column, row, fetched) {
    const name = `${layer}/${level}/${column}/${row}`;
    const had = this.cuts.get(name);
    if (had) {
      this.cuts.delete(name);
      this.cuts.set(name, had);
      return had.image;
    }
    if (!fetched) return null;
    const fresh = { layer, stop: new AbortController() };
    this.cuts.set(name, fresh);
    this.bring(name, fresh);
    while (this.cuts.size > KEPT) {
      const [oldest, cut] = this.cuts.entries().next().value;
      cut.image?.close();
      cut.stop?.abort();
      this.cuts.delete(oldest);
    }
    return null;
  }

  async bring(name, cut) {
    try {
      const answer = await fetch(this.url.replace("CUT", name), { signal: cut.stop.signal });
      if (!answer.ok) throw new Error((await answer.text()).trim());
      cut.image = await createImageBitmap(await answer.blob());
      cut.stop = null;
      this.ask();
    } catch (error) {
      this.cuts.delete(name);
      if (error.name !== "AbortError") this.wrong?.(error.message);
    }
  }

  hear() {
    const { canvas } = this, down = new Map();
    const at = (event) => [event.offsetX * devicePixelRatio, event.offsetY * devicePixelRatio];
    canvas.addEventListener("wheel", (event) => { event.preventDefault(); this.zoom(Math.exp(-event.deltaY * 0.0016), ...at(event)); }, { passive: false });
    canvas.addEventListener("pointerdown", (event) => { down.set(event.pointerId, at(event)); canvas.setPointerCapture(event.pointerId); });
    for (const end of ["pointerup", "pointercancel"]) canvas.addEventListener(end, (event) => down.delete(event.pointerId));
    canvas.addEventListener("pointermove", (event) => {
      const now = at(event), last = down.get(event.pointerId);
      this.pointed?.(...this.under(...now));
      if (!last) return;
      const other = [...down].find(([id]) => id !== event.pointerId)?.[1];
      if (other) this.zoom(Math.hypot(now[0] - other[0], now[1] - other[1]) / (Math.hypot(last[0] - other[0], last[1] - other[1]) || 1), ...other);
      else this.shift(last[0] - now[0], last[1] - now[1]);
      down.set(event.pointerId, now);
    });
    canvas.addEventListener("dblclick", (event) => this.zoom(2, ...at(event)));
  }
}

export default {
  props: { columns: Number, rows: Number, pitch: Array, thickness: Number, count: Number, bits: Number, url: String, first: Number, place: Array },
  data() {
    return { layer: this.first, told: "", bar: { words: "", wide: 0 }, wrong: "", keys: KEYS, near: "" };
  },
  template: `
    <div class="sight layers">
      <div class="seen" tabindex="0" role="application" aria-label="Layer of drops" aria-describedby="layerkeys" @keydown="key">
        <canvas ref="canvas"></canvas>
        <p class="scale" aria-hidden="true"><i :style="{ width: bar.wide + 'px' }"></i>{{ bar.words }}</p>
        <p v-if="wrong" class="said" role="alert">{{ wrong }}</p>
      </div>
      <div class="under">
        <label class="ask wide">layer <input type="number" min="1" :max="count" :value="layer" @change="to(+$event.target.value)"> of {{ count }}, {{ low }} to {{ high }} mm
          <input type="range" min="1" :max="count" v-model.number="layer" :aria-valuetext="'layer ' + layer + ' of ' + count">
        </label>
        <div class="acts">
          <button type="button" class="plain" @click="to(layer - 1)">Layer below</button>
          <button type="button" class="plain" @click="to(layer + 1)">Layer above</button>
          <button type="button" class="plain" @click="sheet.zoom(2)">Nearer</button>
          <button type="button" class="plain" @click="sheet.zoom(0.5)">Farther</button>
          <button type="button" class="plain" @click="sheet.fit()">Whole layer</button>
        </div>
        <p class="told" aria-live="off">{{ told || "Point at a drop to see where it is." }}</p>
        <p class="small">{{ near }}</p>
      </div>
      <p class="small keys" id="layerkeys">{{ keys }}</p>
    </div>`,
  computed: {
    low() { return ((this.layer - 1) * this.thickness).toFixed(3); },
    high() { return (this.layer * this.thickness).toFixed(3); },
  },
  watch: { layer(now) { this.sheet.go(now); this.keep(); } },
  mounted() {
    const canvas = this.$refs.canvas;
    this.sheet = canvas.sheet = new Sheet(canvas, { columns: this.columns, rows: this.rows, pitch: this.pitch, url: this.url });
    this.sheet.layer = this.sheet.before = this.layer;
    this.sheet.wrong = (words) => { this.wrong = words; };
    this.sheet.pointed = (u, v) => this.point(u, v);
    this.sheet.after = () => this.drawn();
    this.sheet.resize();
    if (this.place.length) this.sheet.look(this.place[0] / this.pitch[0], this.rows - this.place[1] / this.pitch[1], this.place[2] * this.pitch[0] * devicePixelRatio);
  },
  methods: {
    to(layer) { if (Number.isFinite(layer)) this.layer = Math.min(Math.max(Math.round(layer), 1), this.count); },
    point(u, v) {
      const column = Math.floor(u), row = this.rows - 1 - Math.floor(v);
      if (column < 0 || column >= this.columns || row < 0 || row >= this.rows) { this.told = ""; return; }
      const [x, y] = [(u * this.pitch[0]).toFixed(3), ((this.rows - v) * this.pitch[1]).toFixed(3)];
      this.told = `x ${x} mm, y ${y} mm: column ${column}, row ${row}${this.size(column, Math.floor(v))}`;
    },
    /** What falls on a place, read from the picture of the drops themselves. */
    size(column, line) {
      const cut = this.sheet.cuts.get(`${this.layer}/0/${Math.floor(column / SIDE)}/${Math.floor(line / SIDE)}`);
      if (this.sheet.level > 0 || !cut?.image) return "";
      const one = new OffscreenCanvas(1, 1).getContext("2d");
      one.drawImage(cut.image, column % SIDE, line % SIDE, 1, 1, 0, 0, 1, 1);
      const most = 2 ** this.bits - 1;
      const level = Math.round(((255 - one.getImageData(0, 0, 1, 1).data[0]) / 255) * most);
      return level ? (most > 1 ? `, drop of size ${level} of ${most}` : ", a drop") : ", no drop";
    },
    drawn() {
      const mm = devicePixelRatio * this.pitch[0] / this.sheet.scale; // a page pixel
      const length = BARS_MM.findLast((each) => each / mm <= 160) ?? BARS_MM[0];
      this.bar = { words: `${length} mm`, wide: length / mm };
      const step = 2 ** this.sheet.level;
      this.near = step > 1 ? `Each dot of the picture is the mean of ${step} × ${step} places: the farther from the ground, the more binder.` : "Each square is the place of one drop.";
      if (this.sheet.whole && !this.$refs.canvas.dataset.ready) this.$refs.canvas.dataset.ready = performance.now();
      clearTimeout(this.later);
      this.later = setTimeout(() => this.keep(), 400);
    },
    keep() {
      const asked = new URLSearchParams(location.search), { sheet } = this;
      const [u, v] = sheet.middle();
      asked.set("layer", this.layer);
      asked.set("at", [u * this.pitch[0], (this.rows - v) * this.pitch[1], sheet.scale / this.pitch[0] / devicePixelRatio].map((each) => each.toPrecision(6)).join(","));
      history.replaceState(history.state, "", `${location.pathname}?${asked}`);
    },
    key(event) {
      const move = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
      const step = { PageUp: 1, PageDown: -1 }[event.key];
      if (move) this.sheet.shift(move[0] * 80 * devicePixelRatio, move[1] * 80 * devicePixelRatio);
      else if (step) this.to(this.layer + step * (event.shiftKey ? 10 : 1));
      else if (event.key === "+" || event.key === "=") this.sheet.zoom(1.5);
      else if (event.key === "-") this.sheet.zoom(1 / 1.5);
      else if (event.key === "Home") this.sheet.fit();
      else return;
      event.preventDefault();
    },
  },
};
