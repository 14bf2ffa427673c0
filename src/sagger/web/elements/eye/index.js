// A view of many pieces in space. It draws on change only; while something moves it draws fewer triangles and
// fewer pixels, at rest as many as this machine draws in time. How quick it is, it measures as it draws.
import { THREE, OrbitControls } from "nicegui-scene";
export { addMap } from "./map.js";

const MOVING_S = 0.016; // a frame may take while turning
const RESTING_S = 0.3; // and once it stands still
const STILL_MS = 220; // after the last move
const VERTEX = `
  uniform int chosen; uniform int hidden; uniform mat4 sight;
  varying vec3 at; flat varying vec3 tone; flat varying float mark;
  #ifndef USE_INSTANCING
    attribute float owner; attribute vec3 tint;
  #endif
  void main() {
    #ifdef USE_INSTANCING
      vec4 placed = instanceMatrix * vec4(position, 1.0);
      int which = gl_InstanceID;
      tone = instanceColor;
    #else
      vec4 placed = vec4(position, 1.0);
      int which = int(owner);
      tone = tint;
    #endif
    mark = which == chosen ? 1.0 : 0.0;
    bool gone = which == hidden;
    at = placed.xyz;
    gl_Position = gone ? vec4(2.0, 2.0, 2.0, 1.0) : sight * placed;
  }`;
const FRAGMENT = `
  uniform float cut; uniform vec3 sun;
  varying vec3 at; flat varying vec3 tone; flat varying float mark;
  void main() {
    #ifdef CUT
      if (at.z > cut) discard;
    #endif
    vec3 normal = normalize(cross(dFdx(at), dFdy(at)));
    float light = 0.62 + 0.38 * dot(normal, sun);
    vec3 shown = tone * light;
    float stripe = mod(gl_FragCoord.x + gl_FragCoord.y, 12.0);
    #ifdef CUT
      // The inside, seen where the cut opened a piece: hatched, as sections are in drawings.
      if (!gl_FrontFacing) shown = tone * (stripe < 3.0 ? 0.32 : 0.6);
    #endif
    if (mark > 0.5) shown = mix(shown, stripe < 4.0 ? vec3(0.05) : vec3(1.0), 0.55);
    gl_FragColor = vec4(shown, 1.0);
  }`;

/** Shapes as the bench sends them, one after the other: counts, vertices, corners. */
export async function fetchForms(url) {
  const bytes = await fetchBytes(url), forms = [];
  for (let at = 0; at < bytes.byteLength;) {
    const [vertices, triangles] = new Uint32Array(bytes, at, 2);
    const form = new THREE.BufferGeometry();
    form.setAttribute("position", new THREE.BufferAttribute(new Float32Array(bytes, at + 8, 3 * vertices), 3));
    form.setIndex(new THREE.BufferAttribute(new Uint32Array(bytes, at + 8 + 12 * vertices, 3 * triangles), 1));
    form.triangles = triangles;
    forms.push(form);
    at += 8 + 12 * (vertices + triangles);
  }
  return forms;
}

export async function fetchBytes(url) {
  const answer = await fetch(url);
  if (!answer.ok) throw new Error(`${url}: ${(await answer.text()).trim()}`);
  return answer.arrayBuffer();
}

export function rgb(text) {
  return [1, 3, 5].map((at) => parseInt(text.slice(at, at + 2), 16) / 255);
}

/** Colour at `share` (0 to 1) along a row of colours. */
export function along(colours, share) {
  const at = Math.min(Math.max(share, 0), 1) * (colours.length - 1);
  const low = Math.min(Math.floor(at), colours.length - 2);
  const [from, to] = [rgb(colours[low]), rgb(colours[low + 1])];
  return from.map((level, i) => level + (to[i] - level) * (at - low));
}

/** Whether the browser draws without a graphics card. */
function drawsBySoftware() {
  const probe = document.createElement("canvas").getContext("webgl2");
  const told = probe?.getExtension("WEBGL_debug_renderer_info");
  const name = told ? probe.getParameter(told.UNMASKED_RENDERER_WEBGL) : "";
  probe?.getExtension("WEBGL_lose_context")?.loseContext();
  return /swiftshader|llvmpipe|software/i.test(name);
}

export class Eye {
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

  /** A part and its copies: `whole` is the address of every triangle, `places` 16 numbers a copy. */
  addGroup({ triangles, whole, places }) {
    const count = places.length / 16;
    const material = this.material();
    const mesh = new THREE.InstancedMesh(new THREE.BufferGeometry(), material, count);
    mesh.instanceMatrix = new THREE.InstancedBufferAttribute(places, 16);
    mesh.instanceColor = new THREE.InstancedBufferAttribute(new Float32Array(3 * count).fill(0.75), 3);
    mesh.frustumCulled = false;
    mesh.visible = false;
    this.scene.add(mesh);
    const group = { mesh, material, triangles, whole, count, first: this.groups.reduce((sum, each) => sum + each.count, 0) };
    this.groups.push(group);
    return group;
  }

  /** All pieces in these forms, already in their places: one thing to draw instead of one for each piece. */
  gather(forms) {
    const sizes = this.groups.map((group, n) => [group.count * forms[n].attributes.position.count, group.count * forms[n].index.count]);
    const [corners, edges] = [0, 1].map((of) => sizes.reduce((sum, size) => sum + size[of], 0));
    const place = new Float32Array(3 * corners), owner = new Float32Array(corners), index = new Uint32Array(edges), spot = new THREE.Matrix4(), v = new THREE.Vector3();
    let at = 0, edge = 0;
    this.groups.forEach((group, n) => {
      const { position } = forms[n].attributes, old = forms[n].index.array;
      for (let copy = 0; copy < group.count; copy += 1) {
        spot.fromArray(group.mesh.instanceMatrix.array, 16 * copy);
        for (const corner of old) index[edge++] = at + corner;
        for (let i = 0; i < position.count; i += 1, at += 1) {
          v.fromBufferAttribute(position, i).applyMatrix4(spot).toArray(place, 3 * at);
          owner[at] = group.first + copy;
        }
      }
    });
    const form = new THREE.BufferGeometry();
    form.setAttribute("position", new THREE.BufferAttribute(place, 3));
    form.setAttribute("owner", new THREE.BufferAttribute(owner, 1));
    form.setAttribute("tint", new THREE.BufferAttribute(new Uint8Array(3 * corners), 3, true));
    form.setIndex(new THREE.BufferAttribute(index, 1));
    this.crowd = new THREE.Mesh(form, this.material());
    this.crowd.frustumCulled = false;
    this.crowd.triangles = edges / 3;
    this.scene.add(this.crowd);
    this.tint();
    this.mark();
  }

  /** Colours of the crowd, from those of its groups. */
  tint() {
    if (!this.crowd) return;
    const { owner, tint } = this.crowd.geometry.attributes;
    const tones = this.groups.flatMap((group) => [...group.mesh.instanceColor.array]);
    for (let i = 0; i < owner.count; i += 1) for (let k = 0; k < 3; k += 1) tint.array[3 * i + k] = Math.min(255, Math.round(255 * tones[3 * owner.array[i] + k]));
    tint.needsUpdate = true;
  }

  /** Stripe the chosen copy and leave out the hidden one, in crowd and groups alike. */
  mark() {
    const { group: chosen, copy, hidden } = this.picked ?? {};
    for (const each of this.groups) {
      each.material.uniforms.chosen.value = each === chosen ? copy : -1;
      each.material.uniforms.hidden.value = each === chosen && hidden ? copy : -1;
    }
    if (!this.crowd) return;
    this.crowd.material.uniforms.chosen.value = chosen ? chosen.first + copy : -1;
    this.crowd.material.uniforms.hidden.value = chosen && hidden ? chosen.first + copy : -1;
  }

  material() {
    return new THREE.ShaderMaterial({
      vertexShader: VERTEX, fragmentShader: FRAGMENT, side: this.shared.cut.value < 1e8 ? THREE.DoubleSide : THREE.FrontSide,
      uniforms: { ...this.shared, chosen: { value: -1 }, hidden: { value: -1 } },
      defines: this.shared.cut.value < 1e8 ? { CUT: 1 } : {},
    });
  }

  /** Colour the copies of a group: three numbers (0 to 1) each. */
  paint(group, tones) {
    group.mesh.instanceColor.array.set(tones);
    group.mesh.instanceColor.needsUpdate = true;
    this.tint();
  }

  /** The forms of all groups at a rung. */
  load(rung) {
    if (!this.loaded.has(rung)) {
      this.loaded.set(rung, fetchForms(this.forms(rung)).then((forms) => (this.loaded.set(rung, forms), forms)));
    }
    return this.loaded.get(rung);
  }

  /** Stripe one copy and show it in full, or none. */
  async choose(group, copy) {
    const picked = this.picked = group ? { group, copy, hidden: false } : null;
    this.mark();
    this.close?.removeFromParent();
    this.close = null;
    this.draw();
    if (!group) return;
    group.full ??= fetchForms(group.whole);
    const [form] = await group.full;
    if (this.picked !== picked) return;
    const tone = group.mesh.instanceColor.array.slice(3 * copy, 3 * copy + 3);
    this.close = new THREE.InstancedMesh(form, group.material.clone(), 1);
    Object.assign(this.close.material.uniforms, this.shared, { chosen: { value: 0 }, hidden: { value: -1 } });
    this.close.instanceMatrix = new THREE.InstancedBufferAttribute(group.mesh.instanceMatrix.array.slice(16 * copy, 16 * copy + 16), 16);
    this.close.instanceColor = new THREE.InstancedBufferAttribute(tone, 3);
    this.close.frustumCulled = false;
    this.scene.add(this.close);
    picked.hidden = true;
    this.mark();
    this.draw();
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

  // --- where it is looked at from ----------------------------------------------------------------

  fit(azimuth = -58, elevation = 27) {
    const middle = this.low.clone().add(this.high).multiplyScalar(0.5);
    const [a, e] = [azimuth, elevation].map((degrees) => (degrees * Math.PI) / 180);
    const out = new THREE.Vector3(Math.cos(e) * Math.cos(a), Math.cos(e) * Math.sin(a), Math.sin(e));
    const right = new THREE.Vector3(-Math.sin(a), Math.cos(a), 0), up = out.clone().cross(right);
    // As near as it can be with every corner inside, a margin around.
    const high = Math.tan((this.camera.fov * Math.PI) / 360) * 0.88, wide = (high * this.canvas.clientWidth) / (this.canvas.clientHeight || 1) || high;
    const half = this.high.clone().sub(middle);
    let away = 1;
    for (let i = 0; i < 8; i += 1) {
      const corner = new THREE.Vector3(i & 1 ? half.x : -half.x, i & 2 ? half.y : -half.y, i & 4 ? half.z : -half.z);
      away = Math.max(away, corner.dot(out) + Math.max(Math.abs(corner.dot(right)) / wide, Math.abs(corner.dot(up)) / high));
    }
    this.camera.near = away / 100;
    this.camera.far = away * 8;
    this.control.target.copy(middle);
    this.camera.position.copy(out).multiplyScalar(away).add(middle);
    this.control.update();
    this.move();
  }

  /** Turn about what is looked at, by radians around z and up. */
  turn(around, up = 0) {
    const arm = new THREE.Spherical().setFromVector3(this.upright(this.camera.position.clone().sub(this.control.target)));
    arm.theta += around;
    arm.phi = Math.min(Math.max(arm.phi - up, 0.02), Math.PI - 0.02);
    this.camera.position.copy(this.lying(new THREE.Vector3().setFromSpherical(arm))).add(this.control.target);
    this.control.update();
  }

  upright(v) { return new THREE.Vector3(v.x, v.z, -v.y); }
  lying(v) { return new THREE.Vector3(v.x, -v.z, v.y); }

  zoom(times) {
    const arm = this.camera.position.clone().sub(this.control.target).divideScalar(times);
    this.camera.position.copy(this.control.target).add(arm);
    this.control.update();
  }

  shift(right, up) {
    const step = this.camera.position.distanceTo(this.control.target) * 0.05;
    const move = new THREE.Vector3().setFromMatrixColumn(this.camera.matrix, 0).multiplyScalar(right * step);
    move.addScaledVector(new THREE.Vector3().setFromMatrixColumn(this.camera.matrix, 1), up * step);
    this.camera.position.add(move);
    this.control.target.add(move);
    this.control.update();
  }

  /** Look at a place [mm], from where one looks now, `near` mm away. */
  goTo(at, near = null) {
    const arm = this.camera.position.clone().sub(this.control.target);
    if (near) arm.setLength(near);
    this.control.target.set(...at);
    this.camera.position.copy(this.control.target).add(arm);
    this.control.update();
    this.move();
  }

  /** What a key does to the view; true if it does anything. */
  key(event) {
    const [right, up] = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key] ?? [];
    if (right !== undefined) event.shiftKey ? this.shift(right, up) : this.turn(right * 0.12, up * 0.12);
    else if (event.key === "+" || event.key === "=") this.zoom(1.2);
    else if (event.key === "-") this.zoom(1 / 1.2);
    else if (event.key === "Home") this.fit();
    else if (event.key === "t") this.fit(-90, 89);
    else if (event.key === "f") this.fit(-90, 0);
    else return false;
    return true;
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
    const most = this.rate * (this.moving ? MOVING_S : RESTING_S);
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
    if (this.moving && this.frames % 8) return; // waiting costs a frame's time itself
    const gl = this.renderer.getContext();
    gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4));
    const took = (performance.now() - began) / 1000;
    // A quick frame says little of the most there can be; a slow one says it all.
    if (took > 0.004) this.rate += 0.3 * (shown / took - this.rate);
    else this.rate = Math.max(this.rate, shown / 0.004);
  }

  // --- between places and pixels -----------------------------------------------------------------

  /** Place on the page, from the canvas' upper left corner, of a point [mm]; null behind the eye. */
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

  /** Whether something stands between the eye and a point [mm]. */
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
