// A hide and what lies on it. Pressed pieces are chosen and can be dragged; while drawing, a press
// adds a corner. Pan with the pointer beside the pieces, zoom with the wheel, two fingers or keys.
const FAR_PX = 4; // a pointer that moves less has pressed, not dragged

export default {
  props: {
    svg: { type: String, default: "" },
    frame: { type: Array, default: () => [0, -1000, 1500, 1000] },
    alt: { type: String, default: "" },
    name: { type: String, default: "" },
    corners: { type: Array, default: () => [] },
    draws: { type: Boolean, default: false },
  },
  emits: ["choose", "shift", "corner"],
  data: () => ({ view: { x: 0, y: 0, mm: 1 }, size: { w: 0, h: 0 }, fitted: true, spot: "" }),
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
    box() {
      this.look();
    },
  },
  mounted() {
    this.pointers = new Map();
    this.observer = new ResizeObserver(() => this.measure());
    this.observer.observe(this.$refs.stage);
    this.$refs.stage.addEventListener("wheel", this.wheel, { passive: false });
    this.swap();
    this.measure();
  },
  beforeUnmount() {
    this.observer.disconnect();
  },
  methods: {
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
    measure() {
      const { clientWidth, clientHeight } = this.$refs.stage;
      this.size = { w: clientWidth, h: clientHeight };
      if (this.fitted) this.fit();
    },
    fit() {
      const [left, top, width, height] = this.frame;
      const { w, h } = this.size;
      if (!w || !h) return;
      this.view = { x: left + width / 2, y: top + height / 2, mm: Math.max(width / w, height / h) };
      this.fitted = true;
      this.look();
    },
    zoom(factor, at) {
      const px = at || { x: this.size.w / 2, y: this.size.h / 2 };
      const still = this.to_mm(px);
      const mm = Math.min(Math.max(this.view.mm / factor, 0.02), 20);
      this.view = {
        x: still.x - (px.x - this.size.w / 2) * mm,
        y: still.y - (px.y - this.size.h / 2) * mm,
        mm,
      };
      this.fitted = false;
    },
    pan(x, y) {
      this.view = { ...this.view, x: this.view.x + x * this.view.mm, y: this.view.y + y * this.view.mm };
      this.fitted = false;
    },
    to_mm({ x, y }) {
      const { mm } = this.view;
      return { x: this.view.x + (x - this.size.w / 2) * mm, y: this.view.y + (y - this.size.h / 2) * mm };
    },
    at(event) {
      const box = this.$refs.stage.getBoundingClientRect();
      return { x: event.clientX - box.left, y: event.clientY - box.top };
    },
    wheel(event) {
      event.preventDefault();
      this.zoom(Math.exp(-event.deltaY / 500), this.at(event));
    },
    press(event) {
      if (event.button > 0) return;
      const at = this.at(event);
      this.pointers.set(event.pointerId, at);
      this.$refs.stage.setPointerCapture(event.pointerId);
      const node = event.target.closest && event.target.closest("[data-copy]");
      this.start = { at, copy: node && !this.draws ? node.dataset.copy : "", node, far: false };
    },
    drift(event) {
      const before = this.pointers.get(event.pointerId);
      if (!before || !this.start) return;
      const now = this.at(event);
      this.pointers.set(event.pointerId, now);
      if (this.pointers.size > 1) {
        const still = [...this.pointers].find(([id]) => id !== event.pointerId)[1];
        const was = Math.hypot(before.x - still.x, before.y - still.y);
        const is = Math.hypot(now.x - still.x, now.y - still.y);
        if (was > 1 && is > 1) this.zoom(is / was, still);
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
        this.pan(before.x - now.x, before.y - now.y);
      }
    },
    lift(event) {
      this.pointers.delete(event.pointerId);
      const start = this.start;
      if (!start || this.pointers.size) return;
      this.start = null;
      const now = this.at(event);
      if (!start.far) {
        const { x, y } = this.to_mm(now);
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
      const { x, y } = this.to_mm(this.at(event));
      this.spot = `${Math.round(x)}, ${Math.round(-y)} mm`;
      this.drift(event);
    },
    key(event) {
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      const act = {
        ArrowLeft: () => this.pan(-50, 0),
        ArrowRight: () => this.pan(50, 0),
        ArrowUp: () => this.pan(0, -50),
        ArrowDown: () => this.pan(0, 50),
        "+": () => this.zoom(1.25),
        "=": () => this.zoom(1.25),
        "-": () => this.zoom(0.8),
        0: () => this.fit(),
      }[event.key];
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
