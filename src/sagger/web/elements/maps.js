// A part as it comes out of the furnace: one map, or two side by side, of the same scale and seen from the same side.
import { Viewer, addMap, fetchBytes, rgb } from "sagger-viewer";

const KEYS = "Arrow keys turn, with Shift they move; + and − zoom; Home shows all, t from above, f from the front.";
const TIMES = [0, 1, 5, 10, 20, 50];

export default {
  props: { url: String, doc: Object, ramp: Array, spread: Array },
  data() {
    return { at: 0, times: 1, wrong: "", keys: KEYS, all: TIMES, ready: false };
  },
  template: `
    <div class="maps">
      <div class="asks">
        <label class="ask">shown <select v-model.number="at"><option v-for="(map, i) in doc.maps" :value="i">{{ map.name }}</option></select></label>
        <label class="ask">drawn <select v-model.number="times"><option v-for="each in all" :value="each">{{ each ? each + " ×" : "nominal" }}</option></select> {{ times ? "as far off as it comes out" : "shape" }}</label>
        <div class="bar"><span>{{ short(now.ends[0]) }}</span><i :style="{ background: gradient }"></i><span>{{ short(now.ends[1]) }} {{ now.unit }}</span></div>
      </div>
      <p v-if="wrong" class="said" role="alert">{{ wrong }}</p>
      <div class="pair">
        <figure v-for="n in 2" v-show="n <= now.views.length" :class="{ alone: now.views.length === 1 }">
          <div class="seen" tabindex="0" role="application" :aria-label="'Map: ' + (now.views[n - 1]?.title ?? '')" aria-describedby="mapkeys" @keydown="key($event, n - 1)">
            <canvas ref="canvases"></canvas>
            <div class="tags" ref="tags" aria-hidden="true"><span class="most"></span></div>
          </div>
          <figcaption><b>{{ now.views[n - 1]?.title }}</b> {{ now.views[n - 1]?.words }}</figcaption>
        </figure>
      </div>
      <p v-if="now.about != null" class="small">Along the surface's normal: above 0 the part stands out, below it lacks. The label is where it is worst.</p>
      <p class="small keys" id="mapkeys">{{ keys }}</p>
    </div>`,
  computed: {
    now() { return this.doc.maps[this.at]; },
    gradient() { return `linear-gradient(90deg, ${(this.now.about == null ? this.ramp : this.spread).join(",")})`; },
  },
  watch: {
    async at() { await this.$nextTick(); this.show(); },
    times(now) { for (const surface of this.surfaces ?? []) surface.stretch(now); },
  },
  async mounted() {
    try {
      const bytes = await fetchBytes(this.url);
      const [count, triangles] = new Uint32Array(bytes, 0, 2);
      this.vertices = new Float32Array(bytes, 8, 3 * count);
      const corners = this.corners = new Uint32Array(bytes, 8 + 12 * count, 3 * triangles);
      let from = 8 + 12 * (count + triangles);
      this.fields = this.doc.maps.map((map) => map.views.map(() => {
        const field = { off: new Float32Array(bytes, from, 3 * count), values: new Float32Array(bytes, from + 12 * count, 3 * triangles) };
        from += 12 * (count + triangles);
        return field;
      }));
      this.viewers = this.$refs.canvases.map((canvas) => (canvas.viewer = new Viewer(canvas, { low: this.doc.low, high: this.doc.high, rungs: [], forms: null, room: false })));
      this.surfaces = this.viewers.map((viewer) => addMap(viewer, this.vertices, corners));
      this.viewers.forEach((viewer, n) => {
        viewer.control.addEventListener("change", () => this.follow(n));
        viewer.after = () => this.tag(n);
      });
      this.show();
      for (const canvas of this.$refs.canvases) canvas.dataset.ready = performance.now();
    } catch (error) {
      this.wrong = String(error.message ?? error);
    }
  },
  beforeUnmount() { for (const viewer of this.viewers ?? []) viewer.end(); },
  methods: {
    show() {
      const { ends, about, views } = this.now, colours = (about == null ? this.ramp : this.spread).map(rgb);
      this.worst = views.map((_, n) => {
        const { off, values } = this.fields[this.at][n];
        this.surfaces[n].show(off, values, ends, colours);
        const far = about == null ? (value) => value : (value) => Math.abs(value - about);
        return values.reduce((best, value, i) => (far(value) > far(values[best]) ? i : best), 0);
      });
      for (const viewer of this.viewers) viewer.draw();
    },
    /** The other picture is seen from the same side. */
    follow(n) {
      if (this.following) return;
      this.following = true;
      const [from, to] = [this.viewers[n], this.viewers[1 - n]];
      to.camera.position.copy(from.camera.position);
      to.control.target.copy(from.control.target);
      to.control.update();
      to.move();
      this.following = false;
    },
    tag(n) {
      const tag = this.$refs.tags[n].firstElementChild, field = this.fields[this.at][n];
      const i = this.worst?.[n];
      if (i === undefined || !field) return;
      const corner = 3 * this.corners[i], at = [0, 1, 2].map((axis) => this.vertices[corner + axis] + this.times * field.off[corner + axis]);
      const seen = this.viewers[n].project(at), words = `${this.now.about == null ? "" : field.values[i] > 0 ? "+" : ""}${this.short(field.values[i])}`;
      if (tag.textContent !== words) tag.textContent = words;
      if (seen) tag.style.transform = `translate(${seen[0].toFixed(1)}px, ${seen[1].toFixed(1)}px) translate(-50%, -120%)`;
    },
    key(event, n) {
      if (this.viewers?.[n]?.key(event)) event.preventDefault();
    },
    short(value) { return this.now.about == null ? value.toPrecision(4) : value.toFixed(3).replace("-", "−"); },
  },
};
