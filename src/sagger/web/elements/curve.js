// A heating programme as a chart of the toolkit's library, with handles of our own over its corners: the library
// draws what it is asked to, but its points take neither keys nor a screen reader.
// Each stretch has two handles: a round one where its heating ends, a square one where its hold ends.
import { echarts } from "nicegui-echart";

const KEYS = "Drag a round point up or down for the temperature, sideways for the rate; a square one sideways for the hold. With a point in focus the arrow keys do the same, with Shift in larger steps.";
const TOP = { gridIndex: 0 };
const rounded = (value, to) => Math.round(value / to) * to;
const clamp = (value, low, high) => Math.min(high, Math.max(low, value));

export default {
  props: { words: String, option: Object, height: Number, rows: Array, held: Object, start: Number, most: Number, fixed: Boolean, busy: Boolean },
  data() {
    return { own: [], drawn: 0, grabbed: null, keys: KEYS };
  },
  template: `
    <div class="heat" role="group" :aria-label="words">
      <div class="plot" :class="{ busy }" ref="root" :style="{ height: height + 'px' }">
        <div ref="chart" class="chart-area" aria-hidden="true" :style="{ height: height + 'px' }"></div>
        <template v-if="!fixed"><button v-for="handle in handles" :key="handle.key" type="button" role="slider" class="handle" :class="handle.end"
          :aria-label="handle.label" :aria-valuenow="handle.now" aria-valuemin="0" :aria-valuemax="handle.high" :aria-valuetext="handle.text"
          :style="place(handle)" @pointerdown="grab(handle, $event)" @pointermove="move" @pointerup="release" @pointercancel="release"
          @keydown="key(handle, $event)"></button></template>
      </div>
      <p v-if="!fixed" class="small">{{ keys }}</p>
    </div>`,
  computed: {
    corners() {
      let t = 0, heat = this.start;
      const all = this.held ? [...this.own, { ...this.held, hold: 0 }] : this.own;
      return all.map((row) => {
        const begin = t, cold = heat, up = t + Math.abs(row.target - heat) / Math.max(row.rate, 1e-6) / 60;
        [t, heat] = [up + row.hold / 60, row.target];
        return { ...row, begin, cold, up, end: t };
      });
    },
    handles() {
      return this.corners.flatMap((c, place) => {
        const held = this.held && place === this.own.length, name = held ? "set point" : `stretch ${place + 1}`;
        const ramp = { key: `${place}r`, place, held, end: "ramp", t: c.up, heat: c.target, label: `${name}, end of heating`, now: c.target, high: this.most || 2000, text: `${c.target} °C at ${c.rate} K/min` };
        const hold = { key: `${place}h`, place, held, end: "hold", t: c.end, heat: c.target, label: `${name}, end of hold`, now: c.hold, high: 6000, text: `${c.hold} min at ${c.target} °C` };
        return held ? [ramp] : [ramp, hold];
      });
    },
  },
  watch: {
    rows: { deep: true, immediate: true, handler(rows) { if (!this.grabbed) this.own = rows.map((row) => ({ ...row })); } },
    option: { deep: true, handler() { if (!this.grabbed) this.draw(); } },
  },
  mounted() {
    this.chart = echarts.init(this.$refs.chart, null, { renderer: "svg" });
    this.draw();
    this.sizes = new ResizeObserver(() => { this.chart.resize(); this.drawn += 1; });
    this.sizes.observe(this.$refs.root);
    this.theme = new MutationObserver(() => this.draw());
    this.theme.observe(document.body, { attributeFilter: ["class"] });
  },
  beforeUnmount() {
    this.sizes?.disconnect();
    this.theme?.disconnect();
    this.chart?.dispose();
    clearTimeout(this.soon);
  },
  methods: {
    /** Draw what was asked for, in the colours of the theme. */
    draw() {
      if (!this.chart) return;
      const style = getComputedStyle(this.$refs.root);
      const themed = JSON.stringify(this.option).replace(/var\((--[\w-]+)\)/g, (_, name) => style.getPropertyValue(name).trim());
      const option = JSON.parse(themed);
      option.yAxis[0].axisLabel.formatter = (value) => `${value}`; // the library sets commas
      option.tooltip.formatter = (items) => this.reading(items);
      this.chart.resize({ height: this.height });
      this.chart.setOption(option, { notMerge: true });
      this.follow();
      this.drawn += 1;
    },
    /** What every curve says at the hour that is pointed at; nothing of those that were before. */
    reading(items) {
      const lines = items.map((item) => [this.option.series[item.seriesIndex], item]).filter(([series]) => series.quantity);
      const said = lines.map(([series, item]) => `${item.marker}${series.quantity}: ${item.value[1].toFixed(1)} ${series.unit}`);
      return [`${items[0].value[0].toFixed(2)} h`, ...said].join("<br>");
    },
    /** Draw the programme as it stands under the hand; the axes stay until it is let go. */
    follow() {
      const data = [[0, this.start], ...this.corners.flatMap((c) => [[c.up, c.target], [c.end, c.target]])];
      this.chart.setOption({ series: [{ id: "set", data }] });
    },
    place(handle) {
      if (!this.drawn || !this.chart) return { display: "none" };
      const [x, y] = this.chart.convertToPixel(TOP, [handle.t, handle.heat]);
      return { left: `${x}px`, top: `${y}px` };
    },
    /** Hours and °C under the pointer. */
    under(event) {
      const box = this.$refs.chart.getBoundingClientRect();
      return this.chart.convertFromPixel(TOP, [event.clientX - box.left, event.clientY - box.top]);
    },
    row(handle) { return { ...this.corners[handle.place] }; },
    grab(handle, event) {
      this.grabbed = { handle, at: [event.clientX, event.clientY], from: this.under(event), way: "", row: this.row(handle) };
      event.currentTarget.setPointerCapture(event.pointerId);
    },
    move(event) {
      const held = this.grabbed;
      if (!held) return;
      const [right, down] = [event.clientX - held.at[0], event.clientY - held.at[1]];
      // The way that the pointer goes first is kept, so that a change of temperature does not spoil the rate.
      if (!held.way && Math.hypot(right, down) > 5) held.way = held.handle.held || Math.abs(down) > Math.abs(right) ? "heat" : "time";
      const [hours, heat] = this.under(event).map((value, axis) => value - held.from[axis]);
      if (held.way === "heat") this.set(held.handle, { target: held.row.target + heat });
      if (held.way === "time") this.slide(held.handle, held.row, hours);
    },
    slide(handle, row, hours) {
      if (handle.end === "hold") this.set(handle, { hold: row.hold + hours * 60 });
      else this.set(handle, { rate: Math.abs(row.target - row.cold) / Math.max(row.up - row.begin + hours, 1 / 60) / 60 });
    },
    release(event) {
      if (!this.grabbed) return;
      const moved = this.grabbed.way;
      this.grabbed = null;
      if (event.currentTarget.hasPointerCapture(event.pointerId)) event.currentTarget.releasePointerCapture(event.pointerId);
      if (moved) this.$emit("released");
    },
    set(handle, wanted) {
      const { rate, target, hold } = this.row(handle), row = { rate, target, hold };
      if ("target" in wanted) row.target = clamp(rounded(wanted.target, 5), 25, this.most || 3000);
      if ("hold" in wanted) row.hold = clamp(rounded(wanted.hold, 5), 0, 6000);
      if ("rate" in wanted) row.rate = clamp(Number(rounded(wanted.rate, wanted.rate < 2 ? 0.05 : 0.1).toPrecision(3)), 0.05, 60);
      if (handle.held) this.$emit("moved", { place: -1, ...row });
      else {
        Object.assign(this.own[handle.place], row);
        this.$emit("moved", { place: handle.place, ...row });
      }
      this.$nextTick(() => this.follow());
    },
    key(handle, event) {
      const far = event.shiftKey ? 5 : 1, row = this.row(handle);
      const up = { ArrowUp: 1, ArrowDown: -1, PageUp: 10, PageDown: -10 }[event.key];
      const side = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
      if (up) this.set(handle, { target: row.target + 5 * far * up });
      else if (side && handle.end === "hold") this.set(handle, { hold: row.hold + 5 * far * side });
      else if (side && !handle.held) this.set(handle, { rate: row.rate - (row.rate <= 1 ? 0.1 : 0.5) * far * side });
      else return;
      event.preventDefault();
      clearTimeout(this.soon);
      this.soon = setTimeout(() => this.$emit("released"), 500);
    },
  },
};
