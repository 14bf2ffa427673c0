// The pieces that an viewer sees: parts, their copies, the one that is pointed at. Methods of `Viewer`.
import { THREE } from "nicegui-scene";
import { fetchShapes } from "./shapes.js";

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

export const pieces = {
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
  },

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
  },

  /** Colours of the crowd, from those of its groups. */
  tint() {
    if (!this.crowd) return;
    const { owner, tint } = this.crowd.geometry.attributes;
    const tones = this.groups.flatMap((group) => [...group.mesh.instanceColor.array]);
    for (let i = 0; i < owner.count; i += 1) for (let k = 0; k < 3; k += 1) tint.array[3 * i + k] = Math.min(255, Math.round(255 * tones[3 * owner.array[i] + k]));
    tint.needsUpdate = true;
  },

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
  },

  material() {
    return new THREE.ShaderMaterial({
      vertexShader: VERTEX, fragmentShader: FRAGMENT, side: this.shared.cut.value < 1e8 ? THREE.DoubleSide : THREE.FrontSide,
      uniforms: { ...this.shared, chosen: { value: -1 }, hidden: { value: -1 } },
      defines: this.shared.cut.value < 1e8 ? { CUT: 1 } : {},
    });
  },

  /** Colour the copies of a group: three numbers (0 to 1) each. */
  paint(group, tones) {
    group.mesh.instanceColor.array.set(tones);
    group.mesh.instanceColor.needsUpdate = true;
    this.tint();
  },

  /** Stripe one copy and show it in full, or none. */
  async choose(group, copy) {
    const picked = this.picked = group ? { group, copy, hidden: false } : null;
    this.mark();
    this.close?.removeFromParent();
    this.close = null;
    this.draw();
    if (!group) return;
    group.full ??= fetchShapes(group.whole);
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
  },
};
