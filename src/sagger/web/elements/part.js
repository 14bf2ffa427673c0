// One part, with what was noticed marked where it is.
import { Viewer, addFaces, fetchShapes, rgb } from "sagger-viewer";

const KEYS = "Arrow keys turn, with Shift they move; + and − zoom; Home shows all; a number key goes to that mark.";
const PICKS = " A click chooses a face, with Shift a second one; Enter chooses the face under the cross, Escape none.";
const STILL_PX = 5; // a pointer that moved farther turned the part

export default {
  props: { form: String, rungs: Array, triangles: Number, low: Array, high: Array, findings: Array, tone: String, picks: Boolean, named: String },
  data() {
    return { at: -1, wrong: "", keys: KEYS + (this.picks ? PICKS : ""), second: false };
  },
  template: `
    <div class="sight">
      <div class="seen" tabindex="0" role="application" aria-label="Part in space" aria-describedby="partkeys" @keydown="key">
        <canvas ref="canvas" @pointerdown="down = [$event.offsetX, $event.offsetY]" @click="click"></canvas>
        <i v-if="picks" class="cross" aria-hidden="true"></i>
        <div class="tags marks" ref="tags">
          <button v-for="([found, i], n) in placed" type="button" :class="[found.level, { chosen: i === at }]" :data-at="i" :data-place="n" tabindex="-1"
                  :aria-label="'mark ' + (i + 1) + ', ' + found.what" @click="go(i)">{{ i + 1 }}</button>
        </div>
        <p v-if="wrong" class="said" role="alert">{{ wrong }}</p>
      </div>
      <div class="beside">
        <button v-if="picks" type="button" class="plain" :aria-pressed="second" @click="second = !second">Second face: {{ second ? "the next click chooses it" : "off" }}</button>
        <slot></slot>
        <h2 v-if="named">{{ named }}</h2>
        <p v-if="named && !findings.length">None: nothing was noticed on this part.</p>
        <ol v-if="findings.length" class="found">
          <li v-for="(found, i) in findings" :class="{ chosen: i === at }">
            <button v-if="found.at_mm" type="button" class="plain" :aria-pressed="i === at" @click="go(i)">{{ i + 1 }}: {{ found.what }}</button>
            <b v-else>{{ i + 1 }}: {{ found.what }}</b>
            <span class="state" :class="found.level">{{ found.level }}</span>
            <p>{{ found.text }} {{ found.remedy }} <small v-if="found.source">({{ found.source }})</small></p>
            <p class="small">{{ found.at_mm ? "at x " + found.at_mm.map((each) => each.toFixed(1).replace("-", "−")).join(", ") + " mm, in the part's own axes" : "of the part as a whole" }}</p>
          </li>
        </ol>
      </div>
      <p class="small keys" id="partkeys">{{ keys }}</p>
    </div>`,
  computed: {
    placed() {
      return this.findings.flatMap((found, i) => [found.at_mm, ...found.also_mm].filter(Boolean).map((place) => [found, i, place]));
    },
    size() { return Math.hypot(...this.high.map((end, axis) => end - this.low[axis])); },
  },
  async mounted() {
    try {
      const canvas = this.$refs.canvas;
      this.viewer = canvas.viewer = new Viewer(canvas, { low: this.low, high: this.high, rungs: this.rungs, room: false, forms: (rung) => this.form.replace("MOST", rung) });
      const places = new Float32Array([1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1]);
      this.viewer.paint(this.viewer.addGroup({ triangles: this.triangles, places }), rgb(this.tone));
      this.viewer.after = () => this.tag();
      await this.viewer.load(this.rungs.at(-1));
      this.viewer.drawNow();
      canvas.dataset.ready = performance.now();
      this.viewer.move();
    } catch (error) {
      this.wrong = String(error.message ?? error);
    }
  },
  created() { this.down = [0, 0]; },
  beforeUnmount() { this.viewer?.end(); },
  methods: {
    go(i) {
      this.at = i;
      this.viewer.goTo(this.findings[i].at_mm, this.size * 1.1);
    },
    tag() {
      for (const mark of this.$refs.tags.children) {
        const at = this.placed[Number(mark.dataset.place)][2];
        const seen = this.viewer.project(at);
        mark.hidden = !seen;
        if (!seen) continue;
        mark.style.transform = `translate(${seen[0].toFixed(1)}px, ${seen[1].toFixed(1)}px) translate(-50%, -50%)`;
        if (!this.viewer.moving) mark.classList.toggle("behind", this.viewer.hides(at, this.size * 0.02));
      }
    },
    /** Every triangle, once: faces are chosen and shown among them. */
    whole() {
      this.faces ??= fetchShapes(this.form.replace("MOST", 0)).then(([form]) => addFaces(this.viewer, form));
      return this.faces;
    },
    async pick(x, y, second) {
      try {
        const triangle = (await this.whole()).under(x, y);
        if (triangle === null) return;
        this.$emit("picked", { triangle, second: second || this.second });
        this.second = false;
      } catch (error) {
        this.wrong = String(error.message ?? error);
      }
    },
    click(event) {
      if (!this.picks || Math.hypot(event.offsetX - this.down[0], event.offsetY - this.down[1]) > STILL_PX) return;
      this.pick(event.offsetX, event.offsetY, event.shiftKey);
    },
    /** Show faces as the bench found them. */
    async light(faces) {
      const shown = await this.whole();
      shown.show(faces);
      this.$refs.canvas.dataset.lit = shown.triangles;
    },
    key(event) {
      if (this.picks && event.target === event.currentTarget && (event.key === "Enter" || event.key === "Escape")) {
        const { clientWidth: width, clientHeight: height } = this.$refs.canvas;
        event.key === "Enter" ? this.pick(width / 2, height / 2, event.shiftKey) : this.$emit("picked", { triangle: -1, second: false });
        event.preventDefault();
        return;
      }
      const number = Number(event.key) - 1;
      if (event.key !== " " && this.findings[number]?.at_mm) this.go(number);
      else if (!this.viewer?.key(event)) return;
      event.preventDefault();
    },
  },
};
