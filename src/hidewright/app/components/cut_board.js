// A hide and what lies on it. Pressed pieces are chosen and can be dragged; while drawing, a press
// adds a corner. Pan with the pointer beside the pieces, zoom with the wheel, two fingers or keys.
import sight from "hidewright-sight";

const FAR_PX = 4; // a pointer that moves less has pressed, not dragged

export default {
  mixins: [sight],
  props: {
    svg: { type: String, default: "" },
    frame: { type: Array, default: () => [0, -1000, 1500, 1000] },
    alt: { type: String, default: "" },
    name: { type: String, default: "" },
    corners: { type: Array, default: () => [] },
    draws: { type: Boolean, default: false },
  },
  emits: ["choose", "shift", "corner"],
  data: () => ({ spot: "" }),
  computed: {
    path() {
      return this.corners.map(([x, y]) => `${x},${-y}`).join(" ");
    },
    box() {
      const { x, y, mm } = this.view;
      const { w, h } = this.size;
      return `${x - (w * mm) / 2} ${y - (h * mm) / 2} ${w * mm} ${h * mm}`;
    },
  },
  watch: {
    svg() {
      this.swap();
    },
    frame() {
      if (this.fitted) this.fit();
    },
    name() {
      this.fit();
    },
  },
  mounted() {
    this.swap();
  },
  methods: {
    whole() {
      return this.frame;
    },
    swap() {
      const read = new DOMParser().parseFromString(this.svg || "<none/>", "image/svg+xml");
      const root = read.documentElement;
      if (!root || root.nodeName !== "svg") return this.$refs.picture.replaceChildren();
      this.type_mm = Number(root.getAttribute("font-size")) || 20;
      const node = document.importNode(root, true);
      node.removeAttribute("aria-label");
      node.setAttribute("role", "presentation");
      this.$refs.picture.replaceChildren(node);
      this.look();
    },
    look() {
      const node = this.$refs.picture && this.$refs.picture.firstElementChild;
      if (!node || !this.size.w) return;
      node.setAttribute("viewBox", this.box);
      const type = Math.min(Math.max(this.type_mm / this.view.mm, 10), 17);
      node.style.fontSize = `${type * this.view.mm}px`;
    },
    press(event) {
      if (event.button > 0) return;
      const at = this.hold(event);
      const node = event.target.closest && event.target.closest("[data-copy]");
      this.start = { at, copy: node && !this.draws ? node.dataset.copy : "", node, far: false };
    },
    drift(event) {
      const drag = this.start && this.dragged(event);
      if (!drag) return;
      const { was, now } = drag;
      if (drag.zoomed) {
        this.start.far = true;
        return;
      }
      const dx = now.x - this.start.at.x;
      const dy = now.y - this.start.at.y;
      if (Math.hypot(dx, dy) > FAR_PX) this.start.far = true;
      if (!this.start.far) return;
      if (this.start.copy) {
        const { mm } = this.view;
        this.start.node.setAttribute("transform", `translate(${dx * mm} ${dy * mm})`);
      } else {
        this.pan(was.x - now.x, was.y - now.y);
      }
    },
    lift(event) {
      this.pointers.delete(event.pointerId);
      const start = this.start;
      if (!start || this.pointers.size) return;
      this.start = null;
      const now = this.at(event);
      if (!start.far) {
        const { x, y } = this.seen_at(now.x, now.y);
        if (this.draws) this.$emit("corner", { x: Math.round(x), y: Math.round(-y) });
        else this.$emit("choose", start.copy);
      } else if (start.copy) {
        const { mm } = this.view;
        const x = (now.x - start.at.x) * mm;
        const y = -(now.y - start.at.y) * mm;
        this.$emit("shift", { copy: start.copy, x, y });
      }
    },
    hover(event) {
      const px = this.at(event);
      const { x, y } = this.seen_at(px.x, px.y);
      this.spot = `${Math.round(x)}, ${Math.round(-y)} mm`;
      this.drift(event);
    },
    key(event) {
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      const act = this.sight_key(event);
      if (!act) return;
      event.preventDefault();
      act();
    },
  },
  template: `
    <div class="cut-board">
      <div class="stage" ref="stage" tabindex="0" role="img" :aria-label="alt" :class="{ draws }"
           @pointerdown="press" @pointermove="hover" @pointerup="lift" @pointercancel="lift"
           @keydown="key">
        <div class="picture" ref="picture" aria-hidden="true"></div>
        <svg class="drawn" :viewBox="box" aria-hidden="true" v-if="corners.length">
          <polygon :points="path" vector-effect="non-scaling-stroke" />
          <circle v-for="(corner, i) in corners" :key="i" :cx="corner[0]" :cy="-corner[1]"
                  :r="4 * view.mm" />
        </svg>
      </div>
      <div class="looks" role="group" aria-label="Picture">
        <button type="button" class="choice" @click="zoom(1.25)" aria-label="Larger">+</button>
        <button type="button" class="choice" @click="zoom(0.8)" aria-label="Smaller">&minus;</button>
        <button type="button" class="choice" @click="fit()">All of it</button>
        <span class="spot">{{ spot }}</span>
      </div>
    </div>
  `,
};
