// A photo laid flat with outlines over it, whose corners are moved, added and taken away, and on
// which new outlines are drawn by tapping. Everything is in mm, y up; the server keeps what counts.
//
// Emits "ring" {name, points} when an outline was changed, and "drawn" {points} when taps are done.
import sight from "hidewright-sight";

const NEAR_PX = 16;
const TAP_PX = 6;
const STEP_MM = 1;
const LARGE_STEP_MM = 10;
const CURSOR_PX = 12;
const LEAST_CORNERS = 3;

export default {
  mixins: [sight],
  props: {
    picture: { type: String, default: "" },
    box: { type: Array, default: () => [0, 0, 100, 100] }, // left, bottom, right, top
    rings: { type: Array, default: () => [] }, // {name, sort, label, points}
    mode: { type: String, default: "corners" }, // or "line", "area", "two"
    unit: { type: String, default: "mm" },
  },
  emits: ["ring", "drawn"],
  data: () => ({
    local: {}, // points of outlines being changed, by name
    chosen: null, // {name, index}
    taps: [],
    cursor: null, // where the keyboard taps
    focused: false,
  }),
  computed: {
    drawing() {
      return this.mode !== "corners";
    },
    shown() {
      return this.rings.map((ring) => ({ ...ring, points: this.local[ring.name] || ring.points }));
    },
    grips() {
      if (this.drawing) return [];
      return this.shown.flatMap((ring) =>
        ring.points.map(([x, y], index) => ({ name: ring.name, sort: ring.sort, index, ...this.to_px(x, y) }))
      );
    },
    said() {
      if (this.drawing) return this.cursor && this.focused ? `Cross at ${this.words(this.cursor)}` : "";
      const ring = this.chosen && this.shown.find((one) => one.name === this.chosen.name);
      if (!ring) return "";
      const at = ring.points[this.chosen.index];
      return at ? `${ring.label}: corner ${this.chosen.index + 1} of ${ring.points.length}, ${this.words(at)}` : "";
    },
    help() {
      return this.drawing
        ? "Arrow keys move the cross, space sets a point, backspace takes the last away, enter finishes, escape begins anew."
        : "N and P choose the next and the former corner, arrow keys move it, I adds one after it, delete takes it away, escape lets go. Plus and minus zoom, 0 shows all.";
    },
    enough() {
      return this.taps.length >= (this.mode === "area" ? 3 : 2);
    },
  },
  watch: {
    rings() {
      this.local = {};
      const ring = this.chosen && this.rings.find((one) => one.name === this.chosen.name);
      if (!ring || this.chosen.index >= ring.points.length) this.chosen = null;
    },
    mode() {
      this.taps = [];
      this.chosen = null;
      this.cursor = null;
    },
    box() {
      this.fit();
    },
  },
  created() {
    this.held = null;
  },
  methods: {
    // -- what is seen
    whole() {
      const [left, bottom, right, top] = this.box;
      return [left, -top, right - left, top - bottom];
    },
    to_px(x, y) {
      return this.px_of(x, -y);
    },
    to_mm(px, py) {
      const { x, y } = this.seen_at(px, py);
      return [x, -y];
    },
    path(points) {
      return points.map(([x, y]) => this.to_px(x, y)).map(({ px, py }) => `${px.toFixed(1)},${py.toFixed(1)}`).join(" ");
    },
    words([x, y]) {
      const say = (mm) => (this.unit === "in" ? `${(mm / 25.4).toFixed(2)} in` : `${mm.toFixed(0)} mm`);
      return `${say(x)} from the left, ${say(y)} from below`;
    },
    // -- pointer
    nearest(at) {
      let best = null;
      for (const grip of this.grips) {
        const away = Math.hypot(grip.px - at.x, grip.py - at.y);
        if (away < NEAR_PX && (!best || away < best.away)) best = { ...grip, away };
      }
      return best;
    },
    press(event) {
      if (event.button > 0) return;
      const at = this.hold(event);
      this.begun = at;
      const grip = this.pointers.size === 1 && this.nearest(at);
      this.held = grip ? { name: grip.name, index: grip.index, moved: false } : null;
      if (grip) this.chosen = { name: grip.name, index: grip.index };
    },
    drift(event) {
      const drag = this.dragged(event);
      if (!drag) return;
      const { was, now } = drag;
      const far = Math.hypot(now.x - this.begun.x, now.y - this.begun.y) > TAP_PX;
      if (drag.zoomed) {
        this.begun = { x: -999, y: -999 };
      } else if (this.held) {
        if (far || this.held.moved) {
          this.held.moved = true;
          this.place(this.held, this.to_mm(now.x, now.y));
        }
      } else if (far) {
        this.begun = { x: -999, y: -999 };
        this.pan(was.x - now.x, was.y - now.y);
      }
    },
    lift(event) {
      if (!this.pointers.delete(event.pointerId)) return;
      const now = this.at(event);
      const tapped = Math.hypot(now.x - this.begun.x, now.y - this.begun.y) <= TAP_PX;
      if (this.held && this.held.moved) this.tell(this.held.name);
      else if (tapped && event.type === "pointerup") this.tap(now);
      this.held = null;
    },
    tap(at) {
      if (!this.drawing) {
        if (!this.held) this.chosen = null;
        return;
      }
      const first = this.taps.length >= 3 && this.mode === "area" && this.to_px(...this.taps[0]);
      if (first && Math.hypot(first.px - at.x, first.py - at.y) < NEAR_PX) this.finish();
      else this.set(this.to_mm(at.x, at.y));
    },
    // -- outlines
    points_of(name) {
      return (this.shown.find((ring) => ring.name === name) || { points: [] }).points;
    },
    place({ name, index }, [x, y]) {
      const points = this.points_of(name).slice();
      points[index] = [x, y];
      this.local = { ...this.local, [name]: points };
    },
    tell(name) {
      this.$emit("ring", { name, points: this.points_of(name) });
    },
    add_corner() {
      if (!this.chosen) return;
      const { name, index } = this.chosen;
      const points = this.points_of(name).slice();
      const [one, two] = [points[index], points[(index + 1) % points.length]];
      points.splice(index + 1, 0, [(one[0] + two[0]) / 2, (one[1] + two[1]) / 2]);
      this.local = { ...this.local, [name]: points };
      this.chosen = { name, index: index + 1 };
      this.tell(name);
    },
    drop_corner() {
      if (!this.chosen) return;
      const { name, index } = this.chosen;
      const points = this.points_of(name).slice();
      if (points.length <= LEAST_CORNERS) return;
      points.splice(index, 1);
      this.local = { ...this.local, [name]: points };
      this.chosen = { name, index: index % points.length };
      this.tell(name);
    },
    choose(by) {
      const { grips } = this;
      if (!grips.length) return;
      const is = (grip) => this.chosen && grip.name === this.chosen.name && grip.index === this.chosen.index;
      const now = grips.findIndex(is);
      const { name, index, px, py } = grips[now < 0 ? 0 : (now + by + grips.length) % grips.length];
      this.chosen = { name, index };
      const edge = 20;
      if (px < edge || py < edge || px > this.size.w - edge || py > this.size.h - edge) {
        this.pan(px - this.size.w / 2, py - this.size.h / 2);
      }
    },
    // -- drawing
    set([x, y]) {
      this.taps = [...this.taps, [x, y]];
      if (this.mode === "two" && this.taps.length === 2) this.finish();
    },
    finish() {
      if (!this.enough) return;
      this.$emit("drawn", { points: this.taps });
      this.taps = [];
    },
    // -- keyboard
    key(event) {
      if (event.target !== this.$refs.stage || event.ctrlKey || event.metaKey || event.altKey) return;
      const arrows = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
      const own = this.drawing ? this.drawing_key(event, arrows) : this.corner_key(event, arrows);
      const act = own || this.sight_key(event);
      if (!act) return;
      event.preventDefault();
      act();
    },
    drawing_key(event, arrows) {
      const at = this.cursor || this.to_mm(this.size.w / 2, this.size.h / 2);
      if (event.key in arrows) {
        const far = (event.shiftKey ? 1 : CURSOR_PX) * this.view.mm;
        const [dx, dy] = arrows[event.key];
        return () => (this.cursor = [at[0] + dx * far, at[1] - dy * far]);
      }
      return {
        " ": () => { this.cursor = at; this.set(at); },
        Backspace: () => (this.taps = this.taps.slice(0, -1)),
        Enter: () => this.finish(),
        Escape: () => (this.taps = []),
      }[event.key];
    },
    corner_key(event, arrows) {
      if (event.key in arrows) {
        const [dx, dy] = arrows[event.key];
        if (!this.chosen) return this.sight_key(event);
        const far = event.shiftKey ? LARGE_STEP_MM : STEP_MM;
        const [x, y] = this.points_of(this.chosen.name)[this.chosen.index];
        return () => {
          this.place(this.chosen, [x + dx * far, y - dy * far]);
          this.pushed = this.chosen.name;
        };
      }
      return {
        n: () => this.choose(1),
        p: () => this.choose(-1),
        i: () => this.add_corner(),
        Delete: () => this.drop_corner(),
        Backspace: () => this.drop_corner(),
        Escape: () => (this.chosen = null),
      }[event.key.length === 1 ? event.key.toLowerCase() : event.key];
    },
    key_up(event) {
      if (!this.pushed || !event.key.startsWith("Arrow")) return;
      this.tell(this.pushed);
      this.pushed = null;
    },
  },
  template: `
    <div class="tracing">
      <div ref="stage" class="stage" :class="{ drawing }" tabindex="0" role="group"
           :aria-label="'The photo laid flat, with the outline. ' + help"
           @keydown="key" @keyup="key_up" @focus="focused = true" @blur="focused = false"
           @pointerdown="press" @pointermove="drift" @pointerup="lift" @pointercancel="lift">
        <svg :width="size.w" :height="size.h" aria-hidden="true">
          <image v-if="picture" :href="picture" preserveAspectRatio="none"
                 :x="to_px(box[0], box[3]).px" :y="to_px(box[0], box[3]).py"
                 :width="(box[2] - box[0]) / view.mm" :height="(box[3] - box[1]) / view.mm" />
          <template v-for="ring in shown" :key="ring.name">
            <polygon class="under" :points="path(ring.points)" />
            <polygon class="ring" :class="ring.sort" :data-ring="ring.name" :points="path(ring.points)" />
          </template>
          <circle v-for="grip in grips" :key="grip.name + grip.index" class="corner"
                  :class="[grip.sort, { chosen: chosen && chosen.name === grip.name && chosen.index === grip.index }]"
                  :cx="grip.px" :cy="grip.py" :r="chosen && chosen.name === grip.name && chosen.index === grip.index ? 8 : view.mm > 1.2 ? 2 : 3.5" />
          <polyline v-if="taps.length" class="under" :points="path(taps)" />
          <polyline v-if="taps.length" class="taps" :points="path(taps)" />
          <circle v-for="(tap, k) in taps" :key="'tap' + k" class="tap" :cx="to_px(...tap).px" :cy="to_px(...tap).py" r="5" />
          <g v-if="drawing && focused && cursor" class="cross"
             :transform="'translate(' + to_px(...cursor).px + ' ' + to_px(...cursor).py + ')'">
            <path class="under" d="M-14 0H14M0-14V14" /><path d="M-14 0H14M0-14V14" />
          </g>
        </svg>
        <div class="views" role="group" aria-label="Zoom">
          <button type="button" aria-label="Zoom in" @click="zoom(1.25)" @pointerdown.stop>+</button>
          <button type="button" aria-label="Zoom out" @click="zoom(0.8)" @pointerdown.stop>−</button>
          <button type="button" aria-label="Show all of it" @click="fit()" @pointerdown.stop>Fit</button>
        </div>
      </div>
      <div class="tracing-do">
        <template v-if="drawing">
          <button v-if="mode !== 'two'" type="button" class="button" :disabled="!enough" @click="finish">Finish</button>
          <button type="button" class="button" :disabled="!taps.length" @click="taps = taps.slice(0, -1)">Take the last point away</button>
        </template>
        <template v-else>
          <button type="button" class="button" :disabled="!chosen" @click="add_corner">Add a corner</button>
          <button type="button" class="button" :disabled="!chosen" @click="drop_corner">Take the corner away</button>
        </template>
        <p class="tracing-said" role="status">{{ said }}</p>
      </div>
    </div>
  `,
};
