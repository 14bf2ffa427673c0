// The layers of a box as drops: which layer, where one looks, what falls on the place under the pointer.
import { LayerView } from "sagger-layer-view";

const KEYS = "Arrow keys move; + and − zoom; Home shows the whole layer; Page Up and Page Down go a layer up or down, with Shift ten.";

export default {
  props: { columns: Number, rows: Number, pitch: Array, thickness: Number, count: Number, bits: Number, url: String, first: Number, place: Array },
  data() {
    return { layer: this.first, pointedAt: "", bar: "", wrong: "", keys: KEYS, near: "" };
  },
  template: `
    <div class="sight layers">
      <div class="seen" tabindex="0" role="application" aria-label="Layer of drops" aria-describedby="layerkeys" @keydown="key">
        <canvas ref="canvas"></canvas>
        <p class="scale" aria-hidden="true">{{ bar }}</p>
        <p v-if="wrong" class="said" role="alert">{{ wrong }}</p>
      </div>
      <div class="under">
        <label class="ask wide">layer <input type="number" min="1" :max="count" :value="layer" @change="to(+$event.target.value)"> of {{ count }}, {{ low }} to {{ high }} mm
          <input type="range" min="1" :max="count" v-model.number="layer" :aria-valuetext="'layer ' + layer + ' of ' + count">
        </label>
        <div class="acts">
          <button type="button" class="plain" @click="to(layer - 1)">Layer below</button>
          <button type="button" class="plain" @click="to(layer + 1)">Layer above</button>
          <button type="button" class="plain" @click="view.zoom(2)">Nearer</button>
          <button type="button" class="plain" @click="view.zoom(0.5)">Farther</button>
          <button type="button" class="plain" @click="view.fit()">Whole layer</button>
        </div>
        <p class="pointed" aria-live="off">{{ pointedAt || "Point at a drop to see where it is." }}</p>
        <p class="small">{{ near }}</p>
      </div>
      <p class="small keys" id="layerkeys">{{ keys }}</p>
    </div>`,
  computed: {
    low() { return ((this.layer - 1) * this.thickness).toFixed(3); },
    high() { return (this.layer * this.thickness).toFixed(3); },
  },
  watch: { layer(now) { this.view.go(now); this.keep(); } },
  mounted() {
    const canvas = this.$refs.canvas;
    try {
      this.view = canvas.view = new LayerView(canvas, { columns: this.columns, rows: this.rows, pitch: this.pitch, url: this.url });
    } catch (error) {
      this.wrong = String(error.message ?? error);
      return;
    }
    this.view.layer = this.view.before = this.layer;
    this.view.wrong = (words) => { this.wrong = words; };
    this.view.pointed = (u, v) => this.point(u, v);
    this.view.after = () => this.drawn();
    this.view.resize();
    if (this.place.length) this.view.look(this.place[0] / this.pitch[0], this.rows - this.place[1] / this.pitch[1], this.place[2] * this.pitch[0] * devicePixelRatio);
  },
  beforeUnmount() {
    clearTimeout(this.later);
    this.view?.end();
  },
  methods: {
    to(layer) { if (Number.isFinite(layer)) this.layer = Math.min(Math.max(Math.round(layer), 1), this.count); },
    point(u, v) {
      const column = Math.floor(u), row = this.rows - 1 - Math.floor(v);
      if (column < 0 || column >= this.columns || row < 0 || row >= this.rows) { this.pointedAt = ""; return; }
      const [x, y] = [(u * this.pitch[0]).toFixed(3), ((this.rows - v) * this.pitch[1]).toFixed(3)];
      this.pointedAt = `x ${x} mm, y ${y} mm: column ${column}, row ${row}${this.size(column, Math.floor(v))}`;
    },
    size(column, line) {
      const share = this.view.level > 0 ? null : this.view.drop(column, line);
      if (share === null) return "";
      const most = 2 ** this.bits - 1, level = Math.round(share * most);
      return level ? (most > 1 ? `, drop of size ${level} of ${most}` : ", a drop") : ", no drop";
    },
    drawn() {
      const { level, length, whole } = this.view, step = 2 ** level;
      if (whole && !this.$refs.canvas.dataset.ready) this.$refs.canvas.dataset.ready = performance.now();
      clearTimeout(this.later);
      this.later = setTimeout(() => this.keep(), 400);
      if (this.bar !== `${length} mm`) this.bar = `${length} mm`;
      if (this.view.moving) return;
      this.near = step > 1 ? `Each dot of the picture is the mean of ${step} × ${step} places: the farther from the ground, the more binder.` : "Each square is the place of one drop.";
    },
    keep() {
      const asked = new URLSearchParams(location.search), { view } = this;
      const [u, v] = view.middle();
      asked.set("layer", this.layer);
      asked.set("at", [u * this.pitch[0], (this.rows - v) * this.pitch[1], view.scale / this.pitch[0] / devicePixelRatio].map((each) => each.toPrecision(6)).join(","));
      history.replaceState(history.state, "", `${location.pathname}?${asked}`);
    },
    key(event) {
      const move = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
      const step = { PageUp: 1, PageDown: -1 }[event.key];
      if (move) this.view.shift(move[0] * 80 * devicePixelRatio, move[1] * 80 * devicePixelRatio);
      else if (step) this.to(this.layer + step * (event.shiftKey ? 10 : 1));
      else if (event.key === "+" || event.key === "=") this.view.zoom(1.5);
      else if (event.key === "-") this.view.zoom(1 / 1.5);
      else if (event.key === "Home") this.view.fit();
      else return;
      event.preventDefault();
    },
  },
};
