// A three-dimensional picture: geometry is fetched as numbers and swapped in place, so that nothing
// flickers while a measure is dragged. Nothing moves by itself; a frame is drawn only when asked.
import { OrbitControls, THREE } from "nicegui-scene";

const UP = new THREE.Vector3(0, 0, 1);
// Where it is looked at from at first, radians; tools lower, so that they are seen apart.
const VIEW = { turn: -0.42, rise: 0.78 };
const TOOLS_RISE = 0.42;
const COLOURS = {
  leather: { grain: "#b98a5e", flesh: "#dcc4a0", edge: "#8f6440" },
  lining: { grain: "#cdbda6", flesh: "#e4d9c7", edge: "#a4937b" },
  board: { edge: "#d3bb94" },
  thread: { edge: "#f1e7d3" },
  brass: { edge: "#c9a24a" },
  copper: { edge: "#b87350" },
  steel: { edge: "#b4b6b8" },
};
const METAL = new Set(["brass", "copper", "steel"]);
const SKIN = new Set(["leather", "lining"]); // what a map is of; thread and metal keep their colours
const UNKNOWN = "#d9d6d0";
const LINE = "#3b2a1c";
const STYLE = `
.solid { position: relative; display: flex; flex-direction: column; width: 100%; height: 100%; min-height: 18rem; }
.solid-stage { position: relative; flex: 1 1 0; min-height: 12rem; }
.solid-stage canvas { position: absolute; inset: 0; width: 100%; height: 100%; display: block; touch-action: none; cursor: grab; }
.solid-stage canvas:active { cursor: grabbing; }
.solid-stage canvas:focus-visible { outline: 3px solid var(--accent, #0b5394); outline-offset: -3px; }
.solid-stage .solid-still { display: none; object-fit: contain; }
@media print {
  .solid-stage canvas { display: none; }
  .solid-stage .solid-still { display: block; }
}
.solid-sorry { position: absolute; inset: 0; margin: 0; padding: 1rem; display: grid; place-items: center; text-align: center; }
.solid-legend { margin: 0.25rem 0 0; }
.solid-legend .bar { height: 0.9rem; border: 1px solid #6b6257; }
.solid-legend .ticks { position: relative; height: 1.4em; margin: 0 2rem; }
.solid-legend .ticks span { position: absolute; transform: translateX(-50%); white-space: nowrap; }
.solid-legend .fill { margin: 0 2rem; }
.solid-legend p { margin: 0 0 0.2rem; }
.solid-legend .plain { display: inline-block; width: 0.9rem; height: 0.9rem; border: 1px solid #6b6257; vertical-align: -0.1rem; }
`;

// The bytes of a picture: uint32 length of the head, the head, then float32 and uint32 numbers.
export function decode(buffer) {
  const long = new DataView(buffer).getUint32(0, true);
  const head = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, long)));
  let at = 4 + long;
  const take = (Type, count) => {
    const part = new Type(buffer, at, count);
    at += 4 * count;
    return part;
  };
  for (const group of head.groups) {
    const { points, placements, steps } = group;
    group.at = take(Float32Array, 3 * points);
    group.normals = take(Float32Array, 3 * points);
    group.scalars = take(Float32Array, head.quantities.length * points);
    group.poses = take(Float32Array, placements * steps * 12);
    group.rows = placements > 1 ? take(Float32Array, points) : null;
    group.index = take(Uint32Array, 3 * group.triangles);
    group.edges = take(Uint32Array, 2 * group.lines);
  }
  return head;
}

// The placements of a group (3 x 4 each, row by row) between two steps, when so far closed.
function placements(group, close) {
  const at = Math.min(Math.max(close, 0), 1) * (group.steps - 1);
  const below = Math.min(Math.floor(at), Math.max(group.steps - 2, 0));
  const share = at - below;
  const out = new Float32Array(12 * group.placements);
  for (let r = 0; r < group.placements; r++) {
    const low = 12 * (r * group.steps + below);
    const high = group.steps > 1 ? low + 12 : low;
    for (let k = 0; k < 12; k++) {
      out[12 * r + k] = group.poses[low + k] * (1 - share) + group.poses[high + k] * share;
    }
  }
  return out;
}

// Points and normals of a bent strip: each goes with the mix of the two rows it lies between.
function bent(group, poses, points, normals) {
  const moved = (from, i, pose, shift, out, weight) => {
    for (let row = 0; row < 3; row++) {
      const m = pose + 4 * row;
      out[i + row] += weight * (poses[m] * from[i] + poses[m + 1] * from[i + 1] +
        poses[m + 2] * from[i + 2] + shift * poses[m + 3]);
    }
  };
  points.fill(0);
  normals.fill(0);
  for (let n = 0; n < group.points; n++) {
    const low = Math.floor(group.rows[n]);
    const share = group.rows[n] - low;
    const high = Math.min(low + 1, group.placements - 1);
    for (const [row, weight] of [[low, 1 - share], [high, share]]) {
      if (weight === 0) continue;
      moved(group.at, 3 * n, 12 * row, 1, points, weight);
      moved(group.normals, 3 * n, 12 * row, 0, normals, weight);
    }
  }
}

const linear = (style) => new THREE.Color(style).toArray();

export default {
  props: {
    url: { type: String, default: "" },
    quantity: { type: String, default: "leather" },
    close: { type: Number, default: 1 },
    apart: { type: Number, default: 0 },
    ranges: { type: Object, default: () => ({}) },
    ramp: { type: Array, default: () => ["#ffffff", "#000000"] },
    label: { type: String, default: "" },
  },
  emits: ["ready"],
  data: () => ({ shown: "", sorry: "", quantities: [], hasPlain: false }),
  computed: {
    shownQuantity() {
      const found = this.quantities.find((q) => q.key === this.quantity);
      const range = found && (this.ranges[found.key] || found.range);
      return range ? { ...found, range } : null;
    },
    // thin leather is what is looked for, so there the least is dark
    colours() {
      return this.quantity === "thickness" ? [...this.ramp].reverse() : this.ramp;
    },
    ticks() {
      const { range: [low, high], unit } = this.shownQuantity;
      const step = high - low > 20 ? 0 : high - low > 2 ? 1 : 2;
      return [0, 0.25, 0.5, 0.75, 1].map((share) => ({
        at: `${100 * share}%`,
        words: `${(low + share * (high - low)).toFixed(step)} ${unit}`,
      }));
    },
  },
  mounted() {
    if (!document.getElementById("solid-style")) {
      const style = document.createElement("style");
      style.id = "solid-style";
      style.textContent = STYLE;
      document.head.append(style);
    }
    try {
      this.renderer = new THREE.WebGLRenderer({ canvas: this.$refs.canvas, antialias: true, alpha: true });
    } catch {
      this.sorry = "This browser cannot show three-dimensional pictures: WebGL is missing or " +
        "switched off. The drawings show the same measures.";
      return;
    }
    this.renderer.setPixelRatio(Math.min(window.devicePixelRatio || 1, 2));
    this.scene = new THREE.Scene();
    this.sky = new THREE.HemisphereLight("#ffffff", "#b8ada0", 1);
    this.sun = new THREE.DirectionalLight("#fff6ea", 1);
    this.fill = new THREE.DirectionalLight("#eef3ff", 0.5);
    this.scene.add(this.sky);
    this.camera = new THREE.PerspectiveCamera(28, 1, 1, 10000);
    this.camera.up.copy(UP);
    this.camera.add(this.sun, this.fill); // the light comes over the shoulder of whoever looks
    this.sun.position.set(-0.6, 1.0, 0.8);
    this.fill.position.set(1.0, -0.3, 0.4);
    this.scene.add(this.camera, this.sun.target, this.fill.target);
    this.controls = new OrbitControls(this.camera, this.$refs.canvas);
    this.controls.enableDamping = false;
    this.controls.addEventListener("change", this.draw);
    this.controls.addEventListener("start", () => (this.touched = true));
    this.parts = new Map();
    this.watcher = new ResizeObserver(this.resize);
    this.watcher.observe(this.$refs.stage);
    window.addEventListener("beforeprint", this.hold);
    this.resize();
    this.fetchNewest();
  },
  beforeUnmount() {
    cancelAnimationFrame(this.frame);
    if (!this.renderer) return;
    window.removeEventListener("beforeprint", this.hold);
    this.watcher.disconnect();
    this.controls.dispose();
    for (const name of [...this.parts.keys()]) this.drop(name);
    this.renderer.dispose();
    this.renderer = null;
  },
  watch: {
    url() { this.fetchNewest(); },
    quantity() { this.paint(); },
    // every update brings them anew; the old picture must not be drawn again for that
    ranges(now, before) {
      if (JSON.stringify(now) !== JSON.stringify(before)) this.paint();
    },
    close() { this.pose(); },
    apart() { this.pose(); },
  },
  methods: {
    // One fetch at a time; what was asked for meanwhile, only the newest of it, comes next.
    async fetchNewest() {
      if (this.fetching || !this.renderer) return;
      this.fetching = true;
      while (this.url && this.url !== this.fetched && this.renderer) {
        const url = (this.fetched = this.url);
        try {
          const answer = await fetch(url);
          if (!answer.ok) throw new Error(`${answer.status}`);
          const picture = decode(await answer.arrayBuffer());
          if (!this.renderer) break;
          this.swap(picture);
          this.sorry = "";
          this.drawNow();
          this.shown = url;
          this.$emit("ready", url);
        } catch (error) {
          console.error(error);
          if (!this.shown) this.sorry = "The picture could not be fetched.";
        }
      }
      this.fetching = false;
    },
    swap(picture) {
      const names = new Set(picture.groups.map((group) => group.name));
      for (const name of [...this.parts.keys()]) if (!names.has(name)) this.drop(name);
      for (const group of picture.groups) this.put(group);
      this.quantities = picture.quantities;
      this.hasPlain = picture.groups.some((group) => SKIN.has(group.material) && group.scalars.some(Number.isNaN));
      this.pose();
      this.paint();
      const size = this.extent();
      const grown = size.radius / (this.fitted || 1);
      if (!this.fitted || (!this.touched && (grown > 1.4 || grown < 0.7))) this.fit();
    },
    put(group) {
      const old = this.parts.get(group.name);
      const geometry = new THREE.BufferGeometry();
      const attribute = (values) => new THREE.BufferAttribute(values, 3);
      const bends = group.rows !== null;
      geometry.setAttribute("position", attribute(bends ? group.at.slice() : group.at));
      geometry.setAttribute("normal", attribute(bends ? group.normals.slice() : group.normals));
      geometry.setAttribute("color", attribute(new Float32Array(3 * group.points)));
      geometry.setIndex(new THREE.BufferAttribute(group.index, 1));
      const edges = new THREE.BufferGeometry();
      edges.setAttribute("position", geometry.getAttribute("position"));
      edges.setIndex(new THREE.BufferAttribute(group.edges, 1));
      if (old) {
        old.mesh.geometry.dispose();
        old.lines.geometry.dispose();
        old.mesh.geometry = geometry;
        old.lines.geometry = edges;
        old.group = group;
        return;
      }
      const mesh = new THREE.Mesh(geometry, new THREE.MeshStandardMaterial({
        vertexColors: true, roughness: METAL.has(group.material) ? 0.45 : 0.85, metalness: 0,
        polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1,
      }));
      const lines = new THREE.LineSegments(edges, new THREE.LineBasicMaterial({
        color: LINE, transparent: true, opacity: group.sides[0] < group.points && group.sides[1] < group.points ? 0.45 : 0.25,
      }));
      for (const object of [mesh, lines]) {
        object.frustumCulled = false;
        object.matrixAutoUpdate = false;
        this.scene.add(object);
      }
      this.parts.set(group.name, { mesh, lines, group });
    },
    drop(name) {
      for (const object of Object.values(this.parts.get(name)).slice(0, 2)) {
        this.scene.remove(object);
        object.geometry.dispose();
        object.material.dispose();
      }
      this.parts.delete(name);
    },
    pose() {
      if (!this.parts) return;
      for (const { mesh, lines, group } of this.parts.values()) {
        const poses = placements(group, this.close);
        const up = this.apart * group.apart;
        if (group.rows) {
          const { position, normal } = mesh.geometry.attributes;
          bent(group, poses, position.array, normal.array);
          position.needsUpdate = normal.needsUpdate = true;
          mesh.matrix.makeTranslation(0, 0, up);
        } else {
          mesh.matrix.set(...poses, 0, 0, 0, 1);
          mesh.matrix.elements[14] += up;
        }
        lines.matrix.copy(mesh.matrix);
        mesh.matrixWorldNeedsUpdate = lines.matrixWorldNeedsUpdate = true;
      }
      if (this.fitted && !this.touched) this.fit();
      this.draw();
    },
    paint() {
      if (!this.parts) return;
      const found = this.shownQuantity;
      const which = this.quantities.findIndex((q) => found && q.key === found.key);
      const ramp = this.colours.map(linear);
      const unknown = linear(UNKNOWN);
      const many = this.quantities.length;
      for (const { mesh, group } of this.parts.values()) {
        const own = COLOURS[group.material];
        const sides = [own.grain, own.flesh, own.edge].map((it) => linear(it || own.edge));
        const { color } = mesh.geometry.attributes;
        const mapped = found && (SKIN.has(group.material) || group.material === "board");
        for (let n = 0; n < group.points; n++) {
          let rgb = sides[n >= group.sides[1] ? 2 : n >= group.sides[0] ? 1 : 0];
          if (mapped) {
            const value = group.scalars[many * n + which];
            const [low, high] = found.range;
            const share = Math.min(Math.max((value - low) / (high - low || 1), 0), 1);
            rgb = Number.isNaN(value) ? unknown : ramp[Math.round(share * (ramp.length - 1))];
          }
          color.array.set(rgb, 3 * n);
        }
        color.needsUpdate = true;
      }
      // flat, even light under a map, so that its colours are those of the legend
      this.sky.intensity = found ? 3.2 : 1.7;
      this.sun.intensity = found ? 0.4 : 1.7;
      this.fill.intensity = found ? 0.2 : 0.5;
      this.draw();
    },
    // Middle and radius of all that is seen now.
    extent() {
      const box = new THREE.Box3();
      this.eachPoint((at) => box.expandByPoint(at));
      return box.isEmpty() ? new THREE.Sphere(new THREE.Vector3(), 50) : box.getBoundingSphere(new THREE.Sphere());
    },
    eachPoint(use) {
      const at = new THREE.Vector3();
      for (const { mesh } of this.parts.values()) {
        const { position } = mesh.geometry.attributes;
        for (let n = 0; n < position.count; n++) {
          use(at.fromBufferAttribute(position, n).applyMatrix4(mesh.matrix));
        }
      }
    },
    // Look at the middle of it all, from as near as shows all of it.
    fit() {
      const { center, radius } = this.extent();
      const { turn, rise } = this.fitted ? this.direction() : this.firstView();
      this.fitted = radius;
      this.controls.target.copy(center);
      this.aim(turn, rise, 4 * radius);
      const high = 0.94 * Math.tan(THREE.MathUtils.degToRad(this.camera.fov / 2));
      const wide = high * this.camera.aspect;
      const [x, y, z] = [0, 1, 2].map((k) => new THREE.Vector3().setFromMatrixColumn(this.camera.matrixWorld, k));
      let away = 0;
      this.eachPoint((at) => {
        at.sub(center);
        const reach = Math.max(Math.abs(at.dot(x)) / wide, Math.abs(at.dot(y)) / high);
        away = Math.max(away, reach + at.dot(z));
      });
      this.aim(turn, rise, away || 4 * radius);
    },
    firstView() {
      const rises = [...this.parts.values()].some(({ group }) => group.apart > 0);
      return { ...VIEW, ...(rises && { rise: TOOLS_RISE }) };
    },
    direction() {
      const from = this.camera.position.clone().sub(this.controls.target);
      return {
        turn: Math.atan2(from.x, -from.y),
        rise: Math.asin(Math.min(Math.max(from.z / from.length(), -1), 1)),
        away: from.length(),
      };
    },
    aim(turn, rise, away) {
      const level = Math.cos(rise) * away;
      this.camera.position.copy(this.controls.target).add(
        new THREE.Vector3(level * Math.sin(turn), -level * Math.cos(turn), Math.sin(rise) * away),
      );
      this.camera.near = away / 100;
      this.camera.far = away * 20;
      this.camera.updateProjectionMatrix();
      this.controls.update();
      this.camera.updateMatrixWorld();
      this.draw();
    },
    key(event) {
      if (event.ctrlKey || event.metaKey || event.altKey || !this.renderer) return;
      const step = Math.PI / 18;
      const { turn, rise, away } = this.direction();
      const to = {
        ArrowLeft: [turn - step, rise, away],
        ArrowRight: [turn + step, rise, away],
        ArrowUp: [turn, Math.min(rise + step, 1.56), away],
        ArrowDown: [turn, Math.max(rise - step, -1.56), away],
        "+": [turn, rise, away / 1.15],
        "=": [turn, rise, away / 1.15],
        "-": [turn, rise, away * 1.15],
      }[event.key];
      if (to) {
        this.touched = true;
        this.aim(...to);
      } else if (event.key === "0") {
        this.reset();
      } else return;
      event.preventDefault();
    },
    reset() {
      this.fitted = 0;
      this.fit();
      this.touched = false;
    },
    resize() {
      const { clientWidth: wide, clientHeight: high } = this.$refs.stage;
      if (!wide || !high) return;
      this.renderer.setSize(wide, high, false);
      this.camera.aspect = wide / high;
      this.camera.updateProjectionMatrix();
      if (this.fitted && !this.touched) this.fit();
      this.drawNow();
    },
    draw() {
      if (this.frame) return;
      this.frame = requestAnimationFrame(this.drawNow);
    },
    drawNow() {
      cancelAnimationFrame(this.frame);
      this.frame = 0;
      if (this.renderer) this.renderer.render(this.scene, this.camera);
    },
    // A picture by WebGL is gone once it was shown, and would be white on paper: a still one is kept.
    hold() {
      const { canvas, still } = this.$refs;
      this.drawNow();
      [still.width, still.height] = [canvas.width, canvas.height];
      still.getContext("2d").drawImage(canvas, 0, 0);
    },
  },
  template: `
    <div class="solid" :data-url="shown">
      <div class="solid-stage" ref="stage">
        <canvas ref="canvas" tabindex="0" role="img" :aria-label="label + '. Turn it with the arrow ' +
          'keys, plus and minus bring it nearer and further, 0 shows all of it.'"
          :style="sorry && !shown ? 'visibility: hidden' : ''" @keydown="key"></canvas>
        <canvas ref="still" class="solid-still" aria-hidden="true"></canvas>
        <p class="solid-sorry" role="status" v-if="sorry">{{ sorry }}</p>
      </div>
      <div class="solid-legend" v-if="shownQuantity">
        <p>{{ shownQuantity.words }}, {{ shownQuantity.unit }}<template v-if="quantity === 'reserve'">;
          the rest to 100 is reserve</template><template v-if="hasPlain">;
          <span class="plain" style="background: ${UNKNOWN}" aria-hidden="true"></span>
          not formed</template></p>
        <div class="fill"><div class="bar" aria-hidden="true"
          :style="{ background: 'linear-gradient(to right, ' + colours.join(', ') + ')' }"></div></div>
        <div class="ticks"><span v-for="tick in ticks" :key="tick.at" :style="{ left: tick.at }">
          {{ tick.words }}</span></div>
      </div>
    </div>
  `,
};
