// What is seen of a flat picture in a component's stage: pan and zoom by pointer, wheel and keys.
//
// A mixin. The component has a `stage` in its refs and tells in `whole()` what there is to be seen,
// [left, top, width, height] in mm with y down; `look()` is called whenever the view has changed.
const CLOSEST_MM = 0.004; // to a px
const WIDEST = 4; // times the whole
const STEP_PX = 50;
const LARGE_STEP_PX = 200;

export default {
  data: () => ({
    view: { x: 0, y: 0, mm: 1 }, // its middle, mm, and mm to a px
    size: { w: 0, h: 0 }, // of the stage, px
    fitted: true, // whether all is shown, however large the stage becomes
  }),
  created() {
    this.pointers = new Map();
  },
  mounted() {
    this.observer = new ResizeObserver(() => this.measure());
    this.observer.observe(this.$refs.stage);
    // Vue's own listeners on the wheel are passive in some browsers
    this.$refs.stage.addEventListener("wheel", this.wheel, { passive: false });
    this.measure();
  },
  beforeUnmount() {
    this.observer.disconnect();
  },
  methods: {
    look() {},
    measure() {
      const { clientWidth, clientHeight } = this.$refs.stage;
      this.size = { w: clientWidth, h: clientHeight };
      if (this.fitted) this.fit();
      else this.look();
    },
    fit() {
      const [left, top, width, height] = this.whole();
      const { w, h } = this.size;
      if (!w || !h) return;
      this.view = { x: left + width / 2, y: top + height / 2, mm: Math.max(width / w, height / h) };
      this.fitted = true;
      this.look();
    },
    move(dx, dy) {
      this.view = { ...this.view, x: this.view.x + dx, y: this.view.y + dy };
      this.look();
    },
    pan(right, down) {
      this.fitted = false;
      this.move(right * this.view.mm, down * this.view.mm);
    },
    zoom(factor, at) {
      const [, , width, height] = this.whole();
      const widest = (WIDEST * Math.max(width, height)) / Math.max(this.size.w, 1);
      const mm = Math.min(Math.max(this.view.mm / factor, CLOSEST_MM), widest);
      const px = at || { x: this.size.w / 2, y: this.size.h / 2 };
      const still = this.seen_at(px.x, px.y);
      this.fitted = false;
      this.view = {
        x: still.x - (px.x - this.size.w / 2) * mm,
        y: still.y - (px.y - this.size.h / 2) * mm,
        mm,
      };
      this.look();
    },
    seen_at(px, py) {
      const { x, y, mm } = this.view;
      return { x: x + (px - this.size.w / 2) * mm, y: y + (py - this.size.h / 2) * mm };
    },
    px_of(x, y) {
      const { mm } = this.view;
      return {
        px: (x - this.view.x) / mm + this.size.w / 2,
        py: (y - this.view.y) / mm + this.size.h / 2,
      };
    },
    at(event) {
      const { stage } = this.$refs;
      const box = stage.getBoundingClientRect();
      return {
        x: event.clientX - box.left - stage.clientLeft,
        y: event.clientY - box.top - stage.clientTop,
      };
    },
    wheel(event) {
      event.preventDefault();
      const lines = event.deltaMode === 1 ? 16 : 1;
      this.zoom(Math.exp((-event.deltaY * lines) / 500), this.at(event));
    },
    // a pointer is down from hold to the end of its drags; hold tells where it is
    hold(event) {
      const at = this.at(event);
      this.pointers.set(event.pointerId, at);
      this.$refs.stage.setPointerCapture(event.pointerId);
      return at;
    },
    // where a held pointer was and is, and whether a second one made of it a zoom; null for others
    dragged(event) {
      const was = this.pointers.get(event.pointerId);
      if (!was) return null;
      const now = this.at(event);
      const other = [...this.pointers].find(([id]) => id !== event.pointerId);
      if (other) {
        const [, still] = other;
        const before = Math.hypot(was.x - still.x, was.y - still.y);
        const after = Math.hypot(now.x - still.x, now.y - still.y);
        if (before > 1 && after > 1) this.zoom(after / before, still);
      }
      this.pointers.set(event.pointerId, now);
      return { was, now, zoomed: Boolean(other) };
    },
    sight_key(event) {
      const far = event.shiftKey ? LARGE_STEP_PX : STEP_PX;
      return {
        ArrowLeft: () => this.pan(-far, 0),
        ArrowRight: () => this.pan(far, 0),
        ArrowUp: () => this.pan(0, -far),
        ArrowDown: () => this.pan(0, far),
        "+": () => this.zoom(1.25),
        "=": () => this.zoom(1.25),
        "-": () => this.zoom(0.8),
        0: () => this.fit(),
      }[event.key];
    },
  },
};
