// A surface coloured point by point, which may be drawn farther off than it is.
import { THREE } from "nicegui-scene";

const MOST = 7; // colours of a scale
const VERTEX = `
  attribute vec3 off; attribute float share;
  uniform mat4 sight; uniform float times;
  varying vec3 at; varying float level;
  void main() {
    at = position + times * off;
    level = share;
    gl_Position = sight * vec4(at, 1.0);
  }`;
const FRAGMENT = `
  uniform vec3 tones[${MOST}]; uniform float last; uniform vec3 sun;
  varying vec3 at; varying float level;
  void main() {
    float place = clamp(level, 0.0, 1.0) * last;
    vec3 tone = tones[0];
    for (int i = 1; i < ${MOST}; i += 1) tone = mix(tone, tones[i], clamp(place - float(i - 1), 0.0, 1.0));
    vec3 normal = normalize(cross(dFdx(at), dFdy(at)));
    gl_FragColor = vec4(tone * (0.78 + 0.22 * dot(normal, sun)), 1.0);
  }`;

/**
 * Put a surface in the place of pieces; `show` colours it: `off` three numbers a vertex, `values` one a corner of each
 * triangle, ends of the scale, colours.
 */
export function addMap(viewer, vertices, corners) {
  const form = new THREE.BufferGeometry(), count = corners.length;
  const spread = (from, to) => corners.forEach((corner, i) => { for (let k = 0; k < 3; k += 1) to[3 * i + k] = from[3 * corner + k]; });
  for (const [name, size] of [["position", 3], ["off", 3], ["share", 1]]) form.setAttribute(name, new THREE.BufferAttribute(new Float32Array(size * count), size));
  spread(vertices, form.attributes.position.array);
  const uniforms = { ...viewer.shared, times: { value: 1 }, last: { value: 1 }, tones: { value: Array.from({ length: MOST }, () => new THREE.Vector3()) } };
  const mesh = new THREE.Mesh(form, new THREE.ShaderMaterial({ vertexShader: VERTEX, fragmentShader: FRAGMENT, uniforms }));
  mesh.frustumCulled = false;
  mesh.triangles = count / 3;
  viewer.map = mesh;
  viewer.scene.add(mesh);
  return {
    show(off, values, [low, high], colours) {
      spread(off, form.attributes.off.array);
      values.forEach((value, i) => { form.attributes.share.array[i] = (value - low) / (high - low); });
      form.attributes.off.needsUpdate = form.attributes.share.needsUpdate = true;
      uniforms.last.value = colours.length - 1;
      colours.forEach((tone, i) => uniforms.tones.value[i].set(...tone));
      viewer.draw();
    },
    stretch(times) {
      uniforms.times.value = times;
      viewer.move();
    },
  };
}
