// Faces of a part that stand out: triangles of its finest form, drawn over it in stripes.
import { THREE } from "nicegui-scene";

const VERTEX = `
  uniform mat4 sight; varying vec3 at;
  void main() { at = position; gl_Position = sight * vec4(position, 1.0); }`;
const FRAGMENT = `
  uniform vec3 tone; uniform float way; uniform vec3 sun; varying vec3 at;
  void main() {
    vec3 normal = normalize(cross(dFdx(at), dFdy(at)));
    float stripe = mod(gl_FragCoord.x + way * gl_FragCoord.y, 11.0);
    vec3 shown = stripe < 3.0 ? vec3(0.06) : tone;
    gl_FragColor = vec4(shown * (0.72 + 0.28 * dot(normal, sun)), 1.0);
  }`;
const TONES = [[1.0, 1.0, 1.0], [0.45, 0.8, 1.0]]; // first and second face; their stripes lean apart as well

/** What a click needs: every triangle of the part, as the bench numbers them. */
export function addFaces(viewer, form) {
  const solid = new THREE.Mesh(form, new THREE.MeshBasicMaterial({ side: THREE.FrontSide }));
  const shown = [];
  return {
    /** The triangle under a place of the canvas; null if there is none. */
    under(x, y) {
      const ray = new THREE.Raycaster();
      const { clientWidth: width, clientHeight: height } = viewer.canvas;
      ray.setFromCamera(new THREE.Vector2((2 * x) / width - 1, 1 - (2 * y) / height), viewer.camera);
      const [hit] = ray.intersectObject(solid, false);
      return hit ? hit.faceIndex : null;
    },
    /** Show faces, each as runs of triangles: first, how many, first, how many, … */
    show(faces) {
      for (const mesh of shown.splice(0)) { mesh.removeFromParent(); mesh.geometry.dispose(); mesh.material.dispose(); }
      faces.forEach((runs, n) => {
        const corners = [];
        for (let i = 0; i < runs.length; i += 2) {
          for (let k = 3 * runs[i]; k < 3 * (runs[i] + runs[i + 1]); k += 1) corners.push(form.index.array[k]);
        }
        const face = new THREE.BufferGeometry();
        face.setAttribute("position", form.attributes.position);
        face.setIndex(new THREE.BufferAttribute(new Uint32Array(corners), 1));
        const uniforms = { ...viewer.shared, tone: { value: new THREE.Vector3(...TONES[n % 2]) }, way: { value: n % 2 ? -1 : 1 } };
        const material = new THREE.ShaderMaterial({ vertexShader: VERTEX, fragmentShader: FRAGMENT, uniforms, polygonOffset: true, polygonOffsetFactor: -2, polygonOffsetUnits: -2 });
        const mesh = new THREE.Mesh(face, material);
        mesh.frustumCulled = false;
        shown.push(mesh);
        viewer.scene.add(mesh);
      });
      viewer.draw();
    },
    get triangles() { return shown.reduce((sum, mesh) => sum + mesh.geometry.index.count / 3, 0); },
  };
}
