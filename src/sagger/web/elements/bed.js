// One box in space: turn it, cut it by layer, point at a piece, colour the pieces by what was computed.
import { Viewer, fetchBytes, fetchShapes, along, rgb } from "sagger-viewer";

const KEYS = "Arrow keys turn, with Shift they move; + and − zoom; Home shows all, t from above, f from the front; Page Up and Page Down cut a layer higher or lower; Escape lets go of the piece.";

export default {
  props: { pieces: String, places: String, form: String, forms: String, rungs: Array, ramp: Array, spread: Array, chosen: String, way: String },
  data() {
    return { doc: null, at: -1, wayNow: 0, layer: 0, wanted: "", drawn: "", wrong: "", keys: KEYS };
  },
  template: `
    <div class="sight">
      <div class="seen" ref="seen" tabindex="0" role="application" aria-label="Box in space" aria-describedby="bedkeys"
           @keydown="key">
        <canvas ref="canvas"></canvas>
        <div class="tags" ref="tags" aria-hidden="true"></div>
        <p v-if="wrong" class="said" role="alert">{{ wrong }}</p>
        <p v-else-if="!doc" class="wait">opening the box</p>
      </div>
      <div class="beside" v-if="doc">
        <label class="ask">coloured by
          <select v-model.number="wayNow">
            <option v-for="(way, i) in doc.ways" :value="i">{{ way.name }}</option>
          </select>
        </label>
        <ul v-if="now.key" class="key">
          <li v-for="[tone, words] in now.key"><i :style="{ background: tone }"></i>{{ words }}</li>
        </ul>
        <div v-else class="bar"><span>{{ ends[0] }}</span><i :style="{ background: gradient }"></i><span>{{ ends[1] }} {{ now.unit }}</span></div>
        <label class="ask">cut at layer <b>{{ layer || "none" }}</b> {{ layer ? "of " + doc.box.layers + ", " + height + " mm" : "" }}
          <input type="range" min="0" :max="doc.box.layers" v-model.number="layer" :aria-valuetext="layer ? 'layer ' + layer + ', ' + height + ' mm' : 'no cut'">
        </label>
        <section aria-live="polite" class="facts">
          <template v-if="one">
            <h2>{{ one.label }}, {{ part.name }} <small>copy {{ one.number }}</small></h2>
            <dl>
              <dt>lies at</dt><dd>x {{ span(0) }}, y {{ span(1) }}, z {{ span(2) }} mm</dd>
              <dt>turned</dt><dd>{{ one.lies }}</dd>
              <dt>oversize</dt><dd>x {{ factor(0) }}, y {{ factor(1) }}, z {{ factor(2) }} ({{ one.factors_from }})</dd>
              <template v-if="one.density_percent">
                <dt>green density</dt><dd>{{ one.density_percent.toFixed(2) }} ± {{ one.density_u_percent.toFixed(2) }} %</dd>
                <dt>longest side</dt><dd>{{ signed(one.deviation_um) }} ± {{ one.deviation_u_um.toFixed(0) }} µm by its place</dd>
              </template>
              <template v-if="one.cure_percent">
                <dt>degree of cure</dt><dd>{{ one.cure_percent.toFixed(2) }} %, where it is least</dd>
              </template>
              <dt>findings</dt>
              <dd><span v-if="!part.findings.length">none</span>
                <p v-for="found in part.findings"><span class="state" :class="found.level">{{ found.level }}</span> {{ found.what }}: {{ found.text }} {{ found.remedy }}</p></dd>
            </dl>
            <p><a :href="partUrl">see the part</a></p>
          </template>
          <p v-else>Point at a piece in the box or in the list.</p>
        </section>
        <label class="ask">find <input type="search" v-model="wanted" placeholder="letter, number or name"></label>
        <ul class="list" role="listbox" tabindex="0" aria-label="pieces" :aria-activedescendant="one ? 'piece-' + at : null" ref="list" @keydown="walk">
          <li v-for="[piece, i] in listed" :id="'piece-' + i" role="option" :aria-selected="i === at" @click="take(i)">
            <b>{{ piece.label }}</b> {{ doc.parts[piece.part].name }} <span v-if="piece.level !== 'ok'" class="state" :class="piece.level">{{ piece.level }}</span>
          </li>
        </ul>
        <p class="small">{{ drawn }}</p>
      </div>
      <p class="small keys" id="bedkeys">{{ keys }}</p>
    </div>`,
  computed: {
    now() { return this.doc.ways[this.wayNow]; },
    one() { return this.at < 0 ? null : this.doc.pieces[this.at]; },
    part() { return this.doc.parts[this.one.part]; },
    partUrl() { return location.pathname.replace(/\/bed.*/, "/part/") + encodeURIComponent(this.part.name); },
    height() { return (this.layer * this.doc.box.layer_mm).toFixed(2); },
    listed() {
      const words = this.wanted.trim().toLowerCase();
      return this.doc.pieces.map((piece, i) => [piece, i]).filter(([piece]) => `${piece.label} ${this.doc.parts[piece.part].name}`.toLowerCase().includes(words));
    },
    span() { return (axis) => `${this.one.low_mm[axis].toFixed(1)} to ${this.one.high_mm[axis].toFixed(1)}`; },
    factor() { return (axis) => `${this.one.factors[axis].toFixed(4)} ± ${this.one.factors_u[axis].toFixed(4)}`; },
    ends() { const [low, high] = this.range(this.now); return [this.short(low), this.short(high)]; },
    gradient() { return `linear-gradient(90deg, ${(this.now.about == null ? this.ramp : this.spread).join(",")})`; },
  },
  watch: {
    wayNow() { this.paint(); this.keep(); },
    layer() { this.viewer.cutAt(this.layer ? this.layer * this.doc.box.layer_mm : null); this.keep(); },
  },
  async mounted() {
    try {
      const coarse = fetchShapes(this.forms.replace("MOST", this.rungs[0]));
      const [doc, places] = await Promise.all([fetch(this.pieces).then((answer) => answer.json()), fetchBytes(this.places)]);
      this.open(doc, new Float32Array(places));
      this.viewer.loaded.set(this.rungs[0], await coarse);
      this.doc = doc;
      await this.$nextTick();
      this.wayNow = Math.max(0, doc.ways.findIndex((way) => way.name === this.way));
      this.paint();
      this.take(doc.pieces.findIndex((piece) => piece.label === this.chosen), false);
      this.viewer.moving = true; // the first picture is the quick one
      this.viewer.drawNow();
      this.$refs.canvas.dataset.ready = performance.now();
      this.viewer.move();
    } catch (error) {
      this.wrong = String(error.message ?? error);
    }
  },
  beforeUnmount() { this.viewer?.end(); },
  methods: {
    open(doc, places) {
      const { size_mm: size, height_mm: top } = doc.box;
      const canvas = this.$refs.canvas;
      this.viewer = canvas.viewer = new Viewer(canvas, { low: [0, 0, 0], high: [...size, top], rungs: this.rungs, forms: (rung) => this.forms.replace("MOST", rung) });
      this.where = [];
      doc.parts.forEach((part, number) => {
        const mine = doc.pieces.map((piece, i) => i).filter((i) => doc.pieces[i].part === number);
        if (!mine.length) return;
        const own = new Float32Array(16 * mine.length);
        mine.forEach((i, copy) => own.set(places.subarray(16 * i, 16 * i + 16), 16 * copy));
        const whole = this.form.replace("PART", number);
        const group = this.viewer.addGroup({ triangles: part.triangles, whole, places: own });
        group.mine = mine;
        mine.forEach((i, copy) => { this.where[i] = [group, copy]; });
      });
      this.viewer.after = () => this.tag(doc);
      let down = [0, 0];
      canvas.addEventListener("pointerdown", (event) => { down = [event.clientX, event.clientY]; });
      canvas.addEventListener("pointerup", (event) => {
        if (Math.hypot(event.clientX - down[0], event.clientY - down[1]) > 4) return;
        const hit = this.viewer.pick(event.offsetX, event.offsetY);
        this.take(hit ? hit.group.mine[hit.copy] : -1);
      });
    },
    tag(doc) {
      const { size_mm: [x, y], height_mm: z } = doc.box;
      const tags = [[[x / 2, -0.06 * y, 0], `x  ${x.toFixed(0)} mm`], [[x * 1.03, y / 2, 0], `y  ${y.toFixed(0)} mm`], [[-0.02 * x, -0.04 * y, z / 2], `z  ${z.toFixed(0)} mm`]];
      if (this.at >= 0) {
        const { low_mm: low, high_mm: high, label } = doc.pieces[this.at];
        tags.push([[(low[0] + high[0]) / 2, (low[1] + high[1]) / 2, high[2]], label, "chosen"]);
      }
      const old = this.$refs.tags;
      while (old.children.length > tags.length) old.lastChild.remove();
      tags.forEach(([at, words, kind], i) => {
        const tag = old.children[i] ?? old.appendChild(document.createElement("span"));
        const seen = this.viewer.project(at);
        const said = seen ? words : "";
        if (tag.textContent !== said) tag.textContent = said; // written anew it would be painted anew, each frame
        if (tag.className !== (kind ?? "")) tag.className = kind ?? "";
        if (seen) tag.style.transform = `translate(${seen[0].toFixed(1)}px, ${seen[1].toFixed(1)}px) translate(-50%, -50%)`;
      });
      if (this.viewer.moving) return;
      const full = this.viewer.groups.reduce((sum, group) => sum + group.triangles * group.count, 0);
      this.drawn = this.viewer.shown < full
        ? `Drawn with ${this.viewer.shown.toLocaleString("en")} of ${full.toLocaleString("en")} triangles, as many as this machine draws in time; the piece pointed at in full.` : "";
    },
    range(way) {
      const low = Math.min(...way.values), high = Math.max(...way.values);
      if (way.about == null) return [low, high];
      const most = Math.max(Math.abs(low - way.about), Math.abs(high - way.about)) || 1;
      return [way.about - most, way.about + most];
    },
    paint() {
      const [low, high] = this.now.values ? this.range(this.now) : [0, 1];
      const colours = this.now.about == null ? this.ramp : this.spread;
      // Copies of a part differ a little in lightness, so that neighbours part from each other.
      const tint = (i) => (this.now.key ? [0.93, 1.03, 0.98, 1.07][i % 4] : 1);
      const tone = (i) => this.now.values ? along(colours, (this.now.values[i] - low) / (high - low || 1)) : rgb(this.now.tones[i]);
      for (const group of this.viewer.groups) this.viewer.paint(group, group.mine.flatMap((i) => tone(i).map((level) => level * tint(i))));
      this.show();
    },
    take(i, kept = true) {
      this.at = i;
      this.show();
      if (kept) this.keep();
      this.$nextTick(() => this.reveal());
    },
    /** Scroll the list, and nothing around it, to the piece. */
    reveal() {
      const { list } = this.$refs, row = list?.querySelector("[aria-selected=true]");
      if (!row) return;
      const top = row.offsetTop - list.offsetTop;
      list.scrollTop = Math.min(Math.max(list.scrollTop, top + row.offsetHeight - list.clientHeight), top);
    },
    show() { this.at < 0 ? this.viewer.choose(null, -1) : this.viewer.choose(...this.where[this.at]); },
    key(event) {
      const step = { PageUp: 1, PageDown: -1 }[event.key];
      if (step) this.layer = Math.min(Math.max((this.layer || (step < 0 ? this.doc.box.layers + 1 : 0)) + step, 0), this.doc.box.layers);
      else if (event.key === "Escape") this.take(-1);
      else if (!this.viewer?.key(event)) return;
      event.preventDefault();
    },
    walk(event) {
      const rows = this.listed.map(([, i]) => i);
      const here = rows.indexOf(this.at);
      const next = { ArrowDown: here + 1, ArrowUp: here < 0 ? 0 : here - 1, Home: 0, End: rows.length - 1, PageDown: here + 10, PageUp: here - 10 }[event.key];
      if (event.key === "Escape") this.take(-1);
      else if (next === undefined || !rows.length) return;
      else this.take(rows[Math.min(Math.max(next, 0), rows.length - 1)]);
      event.preventDefault();
    },
    keep() {
      const asked = new URLSearchParams(location.search);
      const say = (name, value) => (value ? asked.set(name, value) : asked.delete(name));
      say("piece", this.one?.label);
      say("by", this.wayNow ? this.now.name : "");
      history.replaceState(history.state, "", `${location.pathname}${asked.size ? "?" + asked : ""}`);
    },
    signed(value) { return (value > 0 ? "+" : "") + value.toFixed(0); },
    short(value) { return Math.abs(value) < 1e-9 ? "0" : value.toPrecision(4); },
  },
};
