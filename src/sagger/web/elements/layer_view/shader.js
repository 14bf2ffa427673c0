// How a square cut of a layer becomes tones on the page.
const VERTEX = `#version 300 es
  uniform vec4 box; uniform vec2 drops; out vec2 at; out vec2 place;
  void main() {
    at = vec2(gl_VertexID & 1, gl_VertexID >> 1);
    place = at * drops;
    gl_Position = vec4(mix(box.xy, box.zw, at), 0.0, 1.0);
  }`;
const FRAGMENT = `#version 300 es
  precision highp float;
  uniform sampler2D cut; uniform vec3 paper; uniform vec3 ink; uniform vec2 near;
  in vec2 at; in vec2 place; out vec4 shown;
  void main() {
    vec3 tone = mix(paper, ink, texture(cut, at).r);
    // Lines between the places of drops, a pixel wide, once these are large.
    if (near.x > 0.0) {
      vec2 line = fract(place);
      if (line.x < near.x || line.y < near.y) tone = mix(tone, vec3(0.5, 0.52, 0.55), 0.55);
    }
    shown = vec4(tone, 1.0);
  }`;

/** Make the context ready to draw cuts; places of what may be set. */
export function program(gl) {
  const made = gl.createProgram();
  for (const [kind, text] of [[gl.VERTEX_SHADER, VERTEX], [gl.FRAGMENT_SHADER, FRAGMENT]]) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, text);
    gl.compileShader(shader);
    gl.attachShader(made, shader);
  }
  gl.linkProgram(made);
  gl.useProgram(made);
  gl.pixelStorei(gl.UNPACK_ALIGNMENT, 1);
  return Object.fromEntries(["box", "drops", "paper", "ink", "near"].map((name) => [name, gl.getUniformLocation(made, name)]));
}

export function texture(gl, { pixels, wide, tall }) {
  const made = gl.createTexture();
  gl.bindTexture(gl.TEXTURE_2D, made);
  gl.texImage2D(gl.TEXTURE_2D, 0, gl.R8, wide, tall, 0, gl.RED, gl.UNSIGNED_BYTE, pixels);
  const ways = [[gl.TEXTURE_MIN_FILTER, gl.LINEAR], [gl.TEXTURE_MAG_FILTER, gl.NEAREST], [gl.TEXTURE_WRAP_S, gl.CLAMP_TO_EDGE], [gl.TEXTURE_WRAP_T, gl.CLAMP_TO_EDGE]];
  for (const [what, how] of ways) gl.texParameteri(gl.TEXTURE_2D, what, how);
  return made;
}
