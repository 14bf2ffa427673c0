// One part, with what was noticed marked where it is.
import { Viewer, rgb } from "sagger-viewer";

const KEYS = "Arrow keys turn, with Shift they move; + and − zoom; Home shows all; a number key goes to that mark.";

export default {
  props: { form: String, rungs: Array, triangles: Number, low: Array, high: Array, findings: Array, tone: String },
  data() {
    return { at: -1, wrong: "", ready: false, keys: KEYS };
  },
  template: `
    <div class="sight">
      <div class="seen" tabindex="0" role="application" aria-label="Part in space" aria-describedby="partkeys" @keydown="key">
        <canvas ref="canvas"></canvas>
        <div class="tags marks" ref="tags">
          <button v-for="([found, i], n) in placed" type="button" :class="[found.level, { chosen: i === at }]" :data-at="i" :data-place="n" tabindex="-1"
                  :aria-label="'mark ' + (i + 1) + ', ' + found.what" @click="go(i)">{{ i + 1 }}</button>
        </div>
        <p v-if="wrong" class="said" role="alert">{{ wrong }}</p>
      </div>
      <div class="beside">
        <h2>Findings</h2>
        <p v-if="!findings.length">None: nothing was noticed on this part.</p>
        <ol class="found">
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
    key(event) {
      const number = Number(event.key) - 1;
      if (event.key !== " " && this.findings[number]?.at_mm) this.go(number);
      else if (!this.viewer?.key(event)) return;
      event.preventDefault();
    },
  },
};
