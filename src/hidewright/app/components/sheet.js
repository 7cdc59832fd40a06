// A flat drawing: its SVG is swapped whole, pan and zoom stay; handles on it change measures.
//
// A drag goes out as "drag" {field, value, phase: "move" | "end", sent}. While the answer is awaited
// (until prop "rev" reaches "sent", 400 ms at most) only the newest value is kept and sent after it.
import sight from "hidewright-sight";

const PATIENCE_MS = 400;
const STEP_MM = 0.5;
const LARGE_STEP_MM = 5;
// the type of a picture is kept between these on the screen, px
const LEAST_TYPE = 10;
const MOST_TYPE = 17;
const ENLARGED = 1.3;
const KEPT = "sheet-lines";

// A flag and the room beside it.
const FLAG_PX = 32;
// From the middle of words to that of a flag above them.
const ABOVE_PX = 24;

export default {
  mixins: [sight],
  props: {
    svg: { type: String, default: "" },
    handles: { type: Array, default: () => [] },
    layers: { type: Array, default: () => [] },
    // where remarks on a place are shown: [place, x, y]; the remarks: [place, severity, sentence]
    spots: { type: Array, default: () => [] },
    remarks: { type: Array, default: () => [] },
    frame: { type: Array, default: () => [0, 0, 100, 100] },
    alt: { type: String, default: "" },
    name: { type: String, default: "" },
    unit: { type: String, default: "mm" },
    rev: { type: Number, default: 0 },
  },
  emits: ["drag", "room"],
  data: () => ({
    shown: {},
    held: null, // {field, value} while a handle is held
    focused: null,
  }),
  computed: {
    lines() {
      const own = this.layers.map(([name, label, at_first]) => ({ name, label, at_first }));
      if (this.handles.length) own.push({ name: "handles", label: "Handles", at_first: true });
      return own;
    },
    grips() {
      if (!this.seen({ name: "handles", at_first: true })) return [];
      return this.handles.map((handle) => {
        const value = this.value_of(handle);
        const far = (value - handle.value) * handle.gain;
        const x = handle.at[0] + handle.direction[0] * far;
        const y = handle.at[1] + handle.direction[1] * far;
        return { ...handle, now: value, words: this.words(value), ...this.px_of(x, y) };
      });
    },
    flags() {
      // remarks on a part of something that is not drawn apart are shown where that is
      const at = Object.fromEntries(this.spots.map(([place, x, y]) => [place, { x, y }]));
      const by_place = {};
      for (const [place, severity, sentence] of this.remarks) {
        const seen = place in at ? place : place.split("/")[0];
        if (seen in at) (by_place[seen] ||= []).push({ place, severity, sentence });
      }
      return Object.entries(by_place).map(([place, said]) => {
        const forbids = said.some((one) => one.severity === "forbids");
        const spot = this.px_of(at[place].x, at[place].y);
        if (spot.px >= 0 && spot.px < FLAG_PX) {
          // there is no room left of the words: above them
          spot.px = FLAG_PX;
          spot.py = Math.max(spot.py - ABOVE_PX, FLAG_PX / 2);
        }
        return {
          place: said[0].place,
          sort: forbids ? "forbids" : "warning",
          sign: forbids ? "\u2715" : "!",
          words: `${forbids ? "Must not be made so" : "Take care"}: ${place.replace("/", ", ")}. ` +
            said.map((one) => one.sentence).join(" "),
          ...spot,
        };
      });
    },
    reading() {
      const field = this.held ? this.held.field : this.focused;
      return this.grips.find((grip) => grip.field === field) || null;
    },
  },
  watch: {
    size({ w, h }) {
      if (w && h) this.$emit("room", { w, h });
    },
    svg() {
      this.swap();
    },
    frame(now, before) {
      this.follow(before);
    },
    handles(now, before) {
      this.keep_still(before);
    },
    name() {
      this.fitted = true;
      this.fit();
    },
    rev() {
      if (this.rev < this.sent) return;
      this.flush();
      if (this.rev >= this.sent && this.last === "end" && !this.start && !this.pushed) this.released();
    },
  },
  created() {
    this.sent = 0;
    this.waiting = null;
    try {
      this.shown = JSON.parse(sessionStorage.getItem(KEPT)) || {};
    } catch {
      this.shown = {};
    }
  },
  mounted() {
    this.swap();
  },
  beforeUnmount() {
    clearTimeout(this.timer);
  },
  methods: {
    // -- the picture
    swap() {
      const read = new DOMParser().parseFromString(this.svg, "image/svg+xml");
      const root = read.documentElement;
      if (!root || root.nodeName !== "svg" || read.querySelector("parsererror")) return;
      this.type_mm = Number(root.getAttribute("font-size")) || 3;
      const node = document.importNode(root, true);
      node.removeAttribute("aria-label");
      node.setAttribute("role", "presentation");
      this.$refs.picture.replaceChildren(node);
      this.look();
      this.switch_lines();
    },
    look() {
      const node = this.$refs.picture && this.$refs.picture.firstElementChild;
      const { x, y, mm } = this.view;
      const { w, h } = this.size;
      if (!node || !w || !h) return;
      node.setAttribute("viewBox", `${x - (w * mm) / 2} ${y - (h * mm) / 2} ${w * mm} ${h * mm}`);
      const type = Math.min(Math.max(this.type_mm / mm, LEAST_TYPE), MOST_TYPE);
      node.style.fontSize = `${type * mm}px`;
      // where the type had to be enlarged, there is no room for lesser words
      node.classList.toggle("tight", (type * mm) / this.type_mm > ENLARGED);
    },
    switch_lines() {
      for (const group of this.$refs.picture.querySelectorAll("[data-layer]")) {
        const layer = this.lines.find((line) => line.name === group.dataset.layer);
        group.style.display = !layer || this.seen(layer) ? "" : "none";
      }
    },
    seen(line) {
      return line.name in this.shown ? this.shown[line.name] : line.at_first;
    },
    turn(line, event) {
      this.shown = { ...this.shown, [line.name]: event.target.checked };
      try {
        sessionStorage.setItem(KEPT, JSON.stringify(this.shown));
      } catch {
        // private windows may refuse: the choice then lasts as long as the page
      }
      this.switch_lines();
    },
    tell(flag) {
      const card = document.querySelector(`.remark[data-place="${CSS.escape(flag.place)}"]`);
      if (!card) return;
      card.scrollIntoView({ block: "center" });
      card.focus();
    },
    words(mm) {
      return this.unit === "in" ? `${(mm / 25.4).toFixed(2)} in` : `${Number(mm.toFixed(1))} mm`;
    },
    // -- what is seen
    whole() {
      return this.frame;
    },
    follow(before) {
      if (this.held) return;
      if (this.fitted) this.fit();
      else if (before && !this.overlaps()) this.fit();
    },
    overlaps() {
      const [left, top, width, height] = this.frame;
      const { x, y, mm } = this.view;
      const dx = (this.size.w * mm) / 2;
      const dy = (this.size.h * mm) / 2;
      return x + dx > left && x - dx < left + width && y + dy > top && y - dy < top + height;
    },
    keep_still(before) {
      // the piece that is dragged stays where it is, whatever moves beside it
      const field = this.held && this.held.field;
      const was = field && (before || []).find((handle) => handle.field === field);
      const is = field && this.handles.find((handle) => handle.field === field);
      if (!was || !is) return;
      this.move(is.origin[0] - was.origin[0], is.origin[1] - was.origin[1]);
    },
    press(event) {
      if (event.button === 0) this.hold(event);
    },
    drift(event) {
      const drag = this.dragged(event);
      if (!drag || drag.zoomed) return;
      const { was, now } = drag;
      if (now.x !== was.x || now.y !== was.y) this.pan(was.x - now.x, was.y - now.y);
    },
    lift(event) {
      this.pointers.delete(event.pointerId);
    },
    key(event) {
      if (event.target !== this.$refs.stage || event.ctrlKey || event.metaKey || event.altKey) return;
      const act = this.sight_key(event);
      if (!act) return;
      event.preventDefault();
      act();
    },
    // -- handles
    value_of(handle) {
      return this.held && this.held.field === handle.field ? this.held.value : handle.value;
    },
    take(event) {
      if (event.button > 0) return;
      event.preventDefault();
      // handles may lie over one another: the nearest is meant
      const at = this.at(event);
      const away = (grip) => Math.hypot(grip.px - at.x, grip.py - at.y);
      const grip = this.grips.reduce((best, one) => (away(one) < away(best) ? one : best));
      this.$el.querySelector(`[data-field="${grip.field}"]`).focus();
      event.currentTarget.setPointerCapture(event.pointerId);
      this.start = { at, grip, value: grip.now, mm: this.view.mm };
      this.held = { field: grip.field, value: grip.now };
    },
    pull(event) {
      if (!this.start) return;
      const { at, grip, value, mm } = this.start;
      const now = this.at(event);
      const along = (now.x - at.x) * grip.direction[0] + (now.y - at.y) * grip.direction[1];
      this.set(grip, Math.round((value + (along * mm) / grip.gain) / STEP_MM) * STEP_MM, "move");
    },
    let_go() {
      if (!this.start) return;
      const { grip, value } = this.start;
      this.start = null;
      if (this.held && this.held.value !== value) this.set(grip, this.held.value, "end");
      else this.held = null;
    },
    push(handle, event) {
      const large = event.shiftKey || event.key.startsWith("Page");
      const sense = { ArrowRight: 1, ArrowUp: 1, PageUp: 1, ArrowLeft: -1, ArrowDown: -1, PageDown: -1 };
      if (!(event.key in sense)) return;
      event.preventDefault();
      const by = sense[event.key] * (large ? LARGE_STEP_MM : STEP_MM);
      this.set(handle, this.value_of(handle) + by, "move");
      this.pushed = handle.field;
    },
    pushed_out(handle) {
      if (this.pushed !== handle.field) return;
      this.pushed = null;
      this.set(handle, this.value_of(handle), "end");
    },
    leave(handle) {
      this.focused = null;
      this.pushed_out(handle);
    },
    set(handle, value, phase) {
      const held = Number(Math.min(Math.max(value, handle.low), handle.high).toFixed(3));
      if (phase === "move" && held === this.value_of(handle)) return;
      this.held = { field: handle.field, value: held };
      this.edit({ field: handle.field, value: held, phase });
    },
    edit(edit) {
      if (this.rev < this.sent) this.waiting = edit;
      else this.send(edit);
    },
    send(edit) {
      this.sent = Math.max(this.sent, this.rev) + 1;
      this.$emit("drag", { ...edit, sent: this.sent });
      clearTimeout(this.timer);
      this.timer = setTimeout(() => this.flush(), PATIENCE_MS);
      this.last = edit.phase;
    },
    flush() {
      const edit = this.waiting;
      this.waiting = null;
      if (edit) this.send(edit);
    },
    released() {
      // the last value was answered: from here on the server's value is shown
      this.last = null;
      this.held = null;
      if (this.fitted) this.fit();
    },
  },
  template: `
    <div class="sheet" :data-rev="rev">
      <div ref="stage" class="stage" :class="{ fitted }" tabindex="0" role="group"
           :aria-label="alt + ' Arrow keys move the drawing, plus and minus zoom, 0 shows all of it.'"
           @keydown="key" @pointerdown="press" @pointermove="drift" @pointerup="lift"
           @pointercancel="lift" @lostpointercapture="lift">
        <div ref="picture" class="picture"></div>
        <svg class="grips" :width="size.w" :height="size.h">
          <g v-for="grip in grips" :key="grip.field" class="grip"
             :class="{ held: held && held.field === grip.field }"
             tabindex="0" role="slider" :data-field="grip.field" :aria-label="grip.label"
             :aria-valuemin="grip.low" :aria-valuemax="grip.high" :aria-valuenow="grip.now"
             :aria-valuetext="grip.words"
             :transform="'translate(' + grip.px + ' ' + grip.py + ')'"
             @pointerdown.stop="take" @pointermove.stop="pull"
             @pointerup.stop="let_go" @pointercancel.stop="let_go"
             @keydown.stop="push(grip, $event)" @keyup.stop="pushed_out(grip)"
             @focus="focused = grip.field" @blur="leave(grip)">
            <circle class="reach" r="18" />
            <path class="ways" :transform="'rotate(' +
                    (Math.atan2(grip.direction[1], grip.direction[0]) * 180 / Math.PI) + ')'"
                  d="M9-4 15 0 9 4M-9-4-15 0-9 4" />
            <circle class="knob" r="6.5" />
          </g>
        </svg>
        <button v-for="flag in flags" :key="flag.place" type="button" class="flag" :class="flag.sort"
                :aria-label="flag.words" :title="flag.words"
                :style="{ left: flag.px + 'px', top: flag.py + 'px' }"
                @click="tell(flag)" @pointerdown.stop>{{ flag.sign }}</button>
        <div v-if="reading" class="reading" aria-hidden="true"
             :style="{ left: Math.min(Math.max(reading.px, 90), size.w - 90) + 'px',
                       top: (reading.py > 64 ? reading.py - 26 : reading.py + 56) + 'px' }">
          {{ reading.label.split(':')[0] }} <b>{{ reading.words }}</b>
        </div>
      </div>
      <div class="below">
        <details v-if="lines.length > 1" class="lines">
          <summary>Lines shown</summary>
          <div class="switches">
            <label v-for="line in lines" :key="line.name">
              <input type="checkbox" :checked="seen(line)" @change="turn(line, $event)" />
              <span>{{ line.label }}</span>
            </label>
          </div>
        </details>
        <div class="views" role="group" aria-label="Zoom">
          <button type="button" aria-label="Zoom in" @click="zoom(1.25)">+</button>
          <button type="button" aria-label="Zoom out" @click="zoom(0.8)">−</button>
          <button type="button" aria-label="Show all of it" @click="fit()">Fit</button>
        </div>
      </div>
    </div>
  `,
};
