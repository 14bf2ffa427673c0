// What the bench sends: triangles as numbers, and colours.
import { THREE } from "nicegui-scene";

/** Shapes as the bench sends them, one after the other: counts, vertices, corners. */
export async function fetchShapes(url) {
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
