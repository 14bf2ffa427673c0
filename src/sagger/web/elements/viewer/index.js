// A view of many pieces in space. It draws on change only; while something moves it draws fewer triangles and
// fewer pixels, at rest as many as this machine draws in time. How quick it is, it measures as it draws.
import { THREE, OrbitControls } from "nicegui-scene";
import { camera } from "./camera.js";
import { fetchShapes } from "./shapes.js";
import { pieces } from "./pieces.js";
export { addMap } from "./map.js";
export { addFaces } from "./faces.js";
export * from "./shapes.js";

const MOVING_S = 0.016; // a frame may take while turning
const RESTING_S = 0.3; // and once it stands still
const STILL_MS = 220; // after the last move
const ALWAYS = [20_000, 150_000]; // triangles that are drawn in any case, moving and at rest
const TELLING = 20_000; // fewer triangles than this say nothing of the rate: the frame itself costs more
/** Whether the browser draws without a graphics card; asked once, for it takes a while. */
function drawsBySoftware() {
  const known = sessionStorage.getItem("sagger-drawn-by");
  if (known) return known === "software";
  const probe = document.createElement("canvas").getContext("webgl2");
  const debug = probe?.getExtension("WEBGL_debug_renderer_info");
  const name = debug ? probe.getParameter(debug.UNMASKED_RENDERER_WEBGL) : "";
  probe?.getExtension("WEBGL_lose_context")?.loseContext();
  const found = /swiftshader|llvmpipe|software/i.test(name);
  sessionStorage.setItem("sagger-drawn-by", found ? "software" : "hardware");
  return found;
}

export class Viewer {
  /**
   * `low` and `high` are the ends of what is looked at [mm]; `rungs` the triangles of coarser forms, coarsest
   * first; `forms(rung)` the address of all groups' forms, 0 = every triangle.
   */
  constructor(canvas, { low, high, rungs, forms, room = true }) {
    this.forms = forms;
    this.loaded = new Map(); // by rung: the forms, or the promise of them
    this.canvas = canvas;
    this.low = new THREE.Vector3(...low);
    this.high = new THREE.Vector3(...high);
    this.rungs = rungs;
    this.software = drawsBySoftware();
    this.rate = this.software ? 4e6 : 2e8; // triangles a second, until measured
    this.groups = [];
    this.crowd = null; // all pieces at the coarsest rung as one mesh
    this.map = null; // one surface with a colour at each vertex, in place of pieces
    this.moving = false;
    this.frames = 0;
    this.after = () => {};
    this.renderer = new THREE.WebGLRenderer({ canvas, antialias: !this.software, alpha: false, powerPreference: "high-performance" });
    this.dress();
    new MutationObserver(() => { this.dress(); this.draw(); }).observe(document.body, { attributeFilter: ["class"] });
    this.scene = new THREE.Scene();
    this.camera = new THREE.PerspectiveCamera(32, 1, 1, 10000);
    this.camera.up.set(0, 0, 1);
    this.shared = { cut: { value: 1e9 }, sight: { value: new THREE.Matrix4() }, sun: { value: new THREE.Vector3(0.35, -0.6, 0.72).normalize() } };
    this.control = new OrbitControls(this.camera, canvas);
    this.control.zoomToCursor = true;
    this.control.addEventListener("change", () => this.move());
    this.lines = new THREE.LineBasicMaterial({ color: 0x7d858f });
    if (room) this.addRoom();
    this.fit();
    new ResizeObserver(() => this.draw()).observe(canvas.parentElement);
  }

  // --- what is shown -----------------------------------------------------------------------------

  addRoom() {
    const size = this.high.clone().sub(this.low);
    const box = new THREE.LineSegments(new THREE.EdgesGeometry(new THREE.BoxGeometry(...size.toArray())), this.lines);
    box.position.copy(this.low).addScaledVector(size, 0.5);
    const floor = [];
    for (let x = 50; x < size.x; x += 50) floor.push(x, 0, 0, x, size.y, 0);
    for (let y = 50; y < size.y; y += 50) floor.push(0, y, 0, size.x, y, 0);
    const grid = new THREE.BufferGeometry();
    grid.setAttribute("position", new THREE.Float32BufferAttribute(floor, 3));
    this.scene.add(box, new THREE.LineSegments(grid, this.lines));
  }

  /** The forms of all groups at a rung. */
  load(rung) {
    if (!this.loaded.has(rung)) {
      this.loaded.set(rung, fetchShapes(this.forms(rung)).then((forms) => (this.loaded.set(rung, forms), forms)));
    }
    return this.loaded.get(rung);
  }

  /** Show only what lies below `height` mm; null shows all. */
  cutAt(height) {
    const had = this.shared.cut.value < 1e8;
    this.shared.cut.value = height ?? 1e9;
    if (had !== (height != null)) {
      for (const { material } of [...this.groups, this.crowd, this.close].filter(Boolean)) {
        material.defines = height != null ? { CUT: 1 } : {};
        material.side = height != null ? THREE.DoubleSide : THREE.FrontSide;
        material.needsUpdate = true;
      }
    }
    this.move();
  }

  /** Take the ground from the page, light or dark. */
  dress() {
    const [red, green, blue] = getComputedStyle(this.canvas.parentElement).backgroundColor.match(/\d+/g).map((level) => level / 255);
    this.renderer.setClearColor(new THREE.Color().setRGB(red, green, blue, THREE.SRGBColorSpace));
  }

  // --- drawing -----------------------------------------------------------------------------------

  move() {
    this.moving = true;
    clearTimeout(this.still);
    this.still = setTimeout(() => { this.moving = false; this.draw(); }, STILL_MS);
    this.draw();
  }

  draw() {
    if (this.asked) return;
    this.asked = requestAnimationFrame(() => { this.asked = 0; this.drawNow(); });
  }

  drawNow() {
    const width = this.canvas.clientWidth, height = this.canvas.clientHeight;
    if (!width || !height) return;
    const ratio = this.moving && this.software ? 0.5 : Math.min(devicePixelRatio, this.software ? 1 : 2);
    if (this.canvas.width !== Math.floor(width * ratio) || this.canvas.height !== Math.floor(height * ratio)) {
      this.renderer.setPixelRatio(ratio);
      this.renderer.setSize(width, height, false);
      this.camera.aspect = width / height;
      this.camera.updateProjectionMatrix();
    }
    const shown = this.takeForms();
    const began = performance.now();
    this.camera.updateMatrixWorld();
    this.shared.sight.value.multiplyMatrices(this.camera.projectionMatrix, this.camera.matrixWorldInverse);
    this.renderer.render(this.scene, this.camera);
    this.frames += 1;
    if (shown > 0) this.measure(shown, began);
    this.after(this);
  }

  /** Give each group the finest form that is there and that the time allows; triangles drawn then. */
  takeForms() {
    if (this.map) return this.map.triangles;
    const most = Math.max(this.rate * (this.moving ? MOVING_S : RESTING_S), ALWAYS[this.moving ? 0 : 1]);
    const total = (rung) => this.groups.reduce((sum, g) => sum + g.count * (rung ? Math.min(rung, g.triangles) : g.triangles), 0);
    const rungs = [...this.rungs, 0];
    const rung = rungs.filter((each) => total(each) <= most).at(-1) ?? rungs[0];
    const forms = this.loaded.get(rung);
    if (!Array.isArray(forms) && !this.moving) Promise.resolve(this.load(rung)).then(() => this.draw());
    // What is not there yet is stood in for by the finest that is, or by the coarsest.
    const there = Array.isArray(forms) ? forms : rungs.map((each) => this.loaded.get(each)).find(Array.isArray);
    if (!there) return 0;
    const coarsest = there === this.loaded.get(rungs[0]);
    if (coarsest && !this.crowd) this.gather(there);
    if (this.crowd) this.crowd.visible = coarsest;
    this.groups.forEach(({ mesh }, n) => {
      mesh.geometry = there[n];
      mesh.visible = !coarsest;
    });
    this.rung = rung;
    this.shown = coarsest ? this.crowd.triangles : this.groups.reduce((sum, group, n) => sum + group.count * there[n].triangles, 0);
    return this.shown;
  }

  /** How many triangles a second came out, by waiting for the picture; the rate follows slowly. */
  measure(shown, began) {
    if (shown < TELLING || (this.moving && this.frames % 8)) return; // waiting costs a frame's time itself
    const gl = this.renderer.getContext();
    gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4));
    const took = (performance.now() - began) / 1000;
    // A quick frame says little of the most there can be; a slow one says it all.
    if (took > 0.004) this.rate += 0.3 * (shown / took - this.rate);
    else this.rate = Math.max(this.rate, shown / 0.004);
  }

  // --- between places and pixels -----------------------------------------------------------------

  /** Place on the page, from the canvas' upper left corner, of a point [mm]; null behind the viewer. */
  project(at) {
    const v = new THREE.Vector3(...at).project(this.camera);
    return v.z > 1 ? null : [((v.x + 1) / 2) * this.canvas.clientWidth, ((1 - v.y) / 2) * this.canvas.clientHeight];
  }

  /** What lies under a place of the page: group, copy, point; null if nothing. */
  pick(x, y) {
    const ray = new THREE.Raycaster();
    ray.setFromCamera(new THREE.Vector2((2 * x) / this.canvas.clientWidth - 1, 1 - (2 * y) / this.canvas.clientHeight), this.camera);
    let first = null;
    for (const group of this.groups) {
      if (!group.mesh.geometry.index) continue;
      group.mesh.boundingSphere = null;
      for (const hit of ray.intersectObject(group.mesh, false)) {
        if (hit.point.z <= this.shared.cut.value && (!first || hit.distance < first.distance)) {
          first = { group, copy: hit.instanceId, at: hit.point.toArray(), distance: hit.distance };
        }
      }
    }
    return first;
  }

  /** Whether something stands between the viewer and a point [mm]. */
  hides(at, slack) {
    const seen = this.project(at);
    const hit = seen && this.pick(...seen);
    return Boolean(hit) && hit.distance < this.camera.position.distanceTo(new THREE.Vector3(...at)) - slack;
  }

  end() {
    clearTimeout(this.still);
    cancelAnimationFrame(this.asked);
    this.control.dispose();
    this.renderer.dispose();
    this.renderer.forceContextLoss();
  }
}

Object.assign(Viewer.prototype, camera, pieces);
