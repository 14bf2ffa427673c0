// A heating programme as a curve whose points are dragged, and strips beneath on the same hours.
// Each stretch has two grips: a round one where its heating ends, a square one where its hold ends.
const LEFT = 68, RIGHT = 18, HEAD = 26, TOP = 270, STRIP = 74, GAP = 30, FOOT = 52;
const DASH = { solid: "none", dashed: "9 5", dotted: "2 5" };
const KEYS = "Drag a round point up or down for the temperature, sideways for the rate; a square one sideways for the hold. With a point in focus the arrow keys do the same, with Shift in larger steps.";

const steps = (low, high, most) => {
  const rough = (high - low) / most, ten = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 2.5, 5, 10].find((each) => each * ten >= rough * 0.999) * ten;
  const out = [];
  for (let at = Math.ceil(low / step - 1e-9) * step; at <= high * (1 + 1e-9); at += step) out.push(Number(at.toFixed(6)));
  return out;
};
const rounded = (value, to) => Math.round(value / to) * to;
const neat = (value) => Number(value.toPrecision(3));
const clamp = (value, low, high) => Math.min(high, Math.max(low, value));

export default {
  props: {
    rows: Array, start: Number, most: Number, limit: String, held: Object, top: Array, strips: Array, words: String,
    fixed: Boolean, busy: Boolean,
  },
  data() {
    return { wide: 900, own: [], grabbed: null, frozen: null, at: null, keys: KEYS };
  },
  template: `
    <div class="heat" ref="root">
      <svg :viewBox="'0 0 ' + wide + ' ' + tall" :height="tall" :class="{ busy }" role="group" :aria-label="words" ref="svg"
           @pointermove="move" @pointerup="drop" @pointercancel="drop" @pointerleave="at = null">
        <g v-for="t in hourTicks"><path class="grid" :d="'M' + x(t) + ' ' + HEAD + 'V' + foot" />
          <text :x="x(t)" :y="foot + 20" text-anchor="middle">{{ t }}</text></g>
        <text :x="(LEFT + wide - RIGHT) / 2" :y="foot + 43" text-anchor="middle">hours</text>
        <g v-for="v in heatTicks"><path class="grid" :d="'M' + LEFT + ' ' + y(v) + 'H' + (wide - RIGHT)" />
          <text :x="LEFT - 8" :y="y(v) + 5" text-anchor="end">{{ v }}</text></g>
        <text :x="LEFT - 8" y="16" text-anchor="end">°C</text>
        <g v-if="most"><path class="limit" :d="'M' + LEFT + ' ' + y(most) + 'H' + (wide - RIGHT)" />
          <text :x="wide - RIGHT" :y="y(most) - 5" text-anchor="end">{{ limit }}</text></g>
        <g v-for="band in bands"><path class="band" :d="'M' + x(band.end) + ' ' + HEAD + 'V' + (HEAD + TOP)" />
          <text v-if="x(band.end) - x(band.begin) > 8.2 * band.name.length" :x="(x(band.begin) + x(band.end)) / 2" :y="HEAD + TOP - 8" text-anchor="middle">{{ band.name }}</text></g>
        <path v-for="line in top" class="line" :class="{ faint: line.faint }" :d="path(line, y)" :stroke="line.tone" :stroke-dasharray="dash(line)" />
        <path class="line set" :d="drawn" />
        <g v-for="(strip, s) in strips">
          <rect class="frame" :x="LEFT" :y="stripTop(s)" :width="wide - LEFT - RIGHT" :height="STRIP" />
          <text :x="LEFT" :y="stripTop(s) - 8" class="name">{{ strip.name }}, {{ strip.unit }}<tspan v-if="strip.told">: </tspan><tspan v-if="strip.told" :class="{ weak: strip.weak }">{{ strip.told }}</tspan><tspan v-if="strip.weak" dy="-4" font-size="12"> ≈</tspan></text>
          <text v-for="v in [strip.low, strip.high]" :x="LEFT - 8" :y="level(strip, s)(v) + (v === strip.low ? 0 : 10)" text-anchor="end">{{ v }}</text>
          <path v-for="line in strip.lines" class="line" :class="{ faint: line.faint }" :d="path(line, level(strip, s))" :stroke="line.tone" :stroke-dasharray="dash(line)" />
        </g>
        <path v-if="at !== null" class="hair" :d="'M' + x(at) + ' ' + HEAD + 'V' + foot" />
        <template v-if="!fixed"><g v-for="grip in grips" :key="grip.key" class="grip" tabindex="0" role="slider" :aria-label="grip.label"
           :aria-valuenow="grip.now" :aria-valuemin="0" :aria-valuemax="grip.high" :aria-valuetext="grip.text"
           :transform="'translate(' + x(grip.t) + ' ' + y(grip.heat) + ')'" @pointerdown="grab(grip, $event)" @keydown="key(grip, $event)" @focus="at = grip.t">
          <circle class="reach" r="17" /><circle v-if="grip.end === 'ramp'" r="8" /><rect v-else x="-7" y="-7" width="14" height="14" />
        </g></template>
      </svg>
      <ul class="kinds"><li><svg width="40" height="12" aria-hidden="true"><path class="line set" d="M0 6H40" /></svg> as set</li>
        <li v-for="line in kinds"><svg width="40" height="12" aria-hidden="true"><path class="line" :class="{ faint: line.faint }" d="M0 6H40" :stroke="line.tone" :stroke-dasharray="dash(line)" /></svg> {{ line.name }}</li></ul>
      <p class="small reading">{{ reading }}</p>
      <p v-if="!fixed" class="small">{{ keys }}</p>
    </div>`,
  computed: {
    corners() {
      let t = 0, heat = this.start;
      const out = [];
      const all = this.held ? [...this.own, { ...this.held, hold: 0 }] : this.own;
      for (const row of all) {
        const up = t + Math.abs(row.target - heat) / Math.max(row.rate, 1e-6) / 60, end = up + row.hold / 60;
        out.push({ ...row, t0: t, heat0: heat, up, end });
        [t, heat] = [end, row.target];
      }
      return out;
    },
    most_hours() {
      const ends = [...this.top, ...this.strips.flatMap((each) => each.lines)].map((line) => line.hours.at(-1) ?? 0);
      return Math.max(1, this.corners.at(-1)?.end ?? 0, ...ends) * 1.02;
    },
    hours() { return this.frozen ?? this.most_hours; },
    highest() {
      const heats = [...this.corners.map((each) => each.target), ...this.top.flatMap((line) => line.values)];
      const need = Math.max(...heats, 100) * 1.08;
      return this.most && need > this.most * 0.7 ? Math.max(this.most * 1.06, need) : need;
    },
    hourTicks() { return steps(0, this.hours, this.wide / 90); },
    heatTicks() { return steps(0, this.highest, 6); },
    foot() { return HEAD + TOP + this.strips.length * (STRIP + GAP); },
    tall() { return this.foot + FOOT; },
    drawn() {
      return `M${this.x(0)} ${this.y(this.start)}` + this.corners.map((c) => `L${this.x(c.up)} ${this.y(c.target)}L${this.x(c.end)} ${this.y(c.target)}`).join("");
    },
    bands() {
      const out = [];
      for (const each of this.corners) {
        if (!each.name) continue;
        const last = out.at(-1);
        if (last?.name === each.name) last.end = each.end;
        else out.push({ name: each.name, begin: each.t0, end: each.end });
      }
      return out;
    },
    grips() {
      return this.corners.flatMap((c, place) => {
        const held = this.held && place === this.own.length, name = held ? "set point" : `stretch ${place + 1}`;
        const ramp = { key: `${place}r`, place, held, end: "ramp", t: c.up, heat: c.target, label: `${name}, end of heating`, now: c.target, high: this.most || 2000, text: `${c.target} °C at ${c.rate} K/min` };
        const hold = { key: `${place}h`, place, held, end: "hold", t: c.end, heat: c.target, label: `${name}, end of hold`, now: c.hold, high: 6000, text: `${c.hold} min at ${c.target} °C` };
        return held ? [ramp] : [ramp, hold];
      });
    },
    kinds() {
      const seen = new Map();
      for (const line of [...this.top, ...this.strips.flatMap((each) => each.lines)]) if (!seen.has(line.name)) seen.set(line.name, line);
      return [...seen.values()];
    },
    reading() {
      if (this.at === null) return "Point at the curve to read values.";
      const value = (line) => {
        const i = line.hours.findIndex((each) => each >= this.at);
        if (i < 0) return null;
        if (i === 0) return line.values[0];
        const part = (this.at - line.hours[i - 1]) / (line.hours[i] - line.hours[i - 1] || 1);
        return line.values[i - 1] + part * (line.values[i] - line.values[i - 1]);
      };
      const told = this.top.filter((line) => !line.faint).map((line) => [line.name, value(line), "°C"]);
      for (const strip of this.strips) for (const line of strip.lines) if (!line.faint) told.push([line.name === "with the curve as set" ? strip.name : line.name, value(line), strip.unit]);
      return `${this.at.toFixed(2)} h: ` + told.filter((each) => each[1] !== null).map(([name, v, unit]) => `${name} ${v.toFixed(1)} ${unit}`).join("; ");
    },
  },
  watch: { rows: { deep: true, immediate: true, handler(rows) { if (!this.grabbed) this.own = rows.map((each) => ({ ...each })); } } },
  created() { Object.assign(this, { LEFT, RIGHT, HEAD, TOP, STRIP }); },
  mounted() {
    this.eye = new ResizeObserver(() => { this.wide = Math.max(520, this.$refs.root?.clientWidth ?? 900); });
    this.eye.observe(this.$refs.root);
  },
  beforeUnmount() { this.eye?.disconnect(); clearTimeout(this.soon); },
  methods: {
    x(t) { return LEFT + (t / this.hours) * (this.wide - LEFT - RIGHT); },
    y(heat) { return HEAD + TOP * (1 - heat / this.highest); },
    stripTop(s) { return HEAD + TOP + GAP + s * (STRIP + GAP); },
    level(strip, s) { return (v) => this.stripTop(s) + STRIP * (1 - (v - strip.low) / (strip.high - strip.low)); },
    path(line, to) { return line.hours.map((t, i) => `${i ? "L" : "M"}${this.x(t).toFixed(1)} ${to(line.values[i]).toFixed(1)}`).join(""); },
    dash(line) { return DASH[line.kind] ?? "none"; },
    place(event) {
      const box = this.$refs.svg.getBoundingClientRect(), scale = this.wide / box.width;
      return [(event.clientX - box.left) * scale, (event.clientY - box.top) * scale];
    },
    grab(grip, event) {
      this.grabbed = { grip, from: this.place(event), way: "", row: this.row(grip) };
      this.frozen = this.most_hours;
      this.$refs.svg.setPointerCapture(event.pointerId);
    },
    row(grip) { return { ...this.corners[grip.place] }; },
    move(event) {
      const [px, py] = this.place(event), hours = ((px - LEFT) / (this.wide - LEFT - RIGHT)) * this.hours;
      this.at = clamp(hours, 0, this.hours);
      const held = this.grabbed;
      if (!held) return;
      const [dx, dy] = [px - held.from[0], py - held.from[1]];
      // The way that the pointer goes first is kept, so that a change of temperature does not spoil the rate.
      if (!held.way && Math.hypot(dx, dy) > 5) held.way = held.grip.held || Math.abs(dy) > Math.abs(dx) ? "heat" : "time";
      if (held.way === "heat") this.set(held.grip, { target: held.row.target - (dy / TOP) * this.highest });
      if (held.way === "time") this.slide(held.grip, held.row, (dx / (this.wide - LEFT - RIGHT)) * this.hours);
    },
    slide(grip, row, hours) {
      if (grip.end === "hold") this.set(grip, { hold: row.hold + hours * 60 });
      else this.set(grip, { rate: Math.abs(row.target - row.heat0) / Math.max(row.up - row.t0 + hours, 1 / 60) / 60 });
    },
    drop(event) {
      if (!this.grabbed) return;
      const moved = this.grabbed.way;
      [this.grabbed, this.frozen] = [null, null];
      if (this.$refs.svg.hasPointerCapture(event.pointerId)) this.$refs.svg.releasePointerCapture(event.pointerId);
      if (moved) this.$emit("released");
    },
    set(grip, said, fine = {}) {
      const now = this.row(grip), row = { rate: now.rate, target: now.target, hold: now.hold };
      if ("target" in said) row.target = clamp(rounded(said.target, 5), 25, this.most || 3000);
      if ("hold" in said) row.hold = clamp(rounded(said.hold, fine.hold ?? 5), 0, 6000);
      if ("rate" in said) row.rate = clamp(neat(rounded(said.rate, said.rate < 2 ? 0.05 : 0.1)), 0.05, 60);
      if (!grip.held) Object.assign(this.own[grip.place], row);
      this.$emit("moved", { place: grip.held ? -1 : grip.place, ...row });
    },
    key(grip, event) {
      const far = event.shiftKey ? 5 : 1, row = this.row(grip);
      const up = { ArrowUp: 1, ArrowDown: -1, PageUp: 10, PageDown: -10 }[event.key];
      const side = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
      if (up) this.set(grip, { target: row.target + 5 * far * up });
      else if (side && grip.end === "hold") this.set(grip, { hold: row.hold + 5 * far * side });
      else if (side && !grip.held) this.set(grip, { rate: row.rate - (row.rate <= 1 ? 0.1 : 0.5) * far * side });
      else return;
      event.preventDefault();
      this.$nextTick(() => { this.at = this.grips.find((each) => each.key === grip.key)?.t ?? null; });
      clearTimeout(this.soon);
      this.soon = setTimeout(() => this.$emit("released"), 500);
    },
  },
};
