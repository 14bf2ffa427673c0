// From where an viewer looks, and what moves it. Methods of `Viewer`.
import { THREE } from "nicegui-scene";

export const camera = {
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
  },

  /** Turn about what is looked at, by radians around z and up. */
  turn(around, up = 0) {
    const arm = new THREE.Spherical().setFromVector3(this.upright(this.camera.position.clone().sub(this.control.target)));
    arm.theta += around;
    arm.phi = Math.min(Math.max(arm.phi - up, 0.02), Math.PI - 0.02);
    this.camera.position.copy(this.lying(new THREE.Vector3().setFromSpherical(arm))).add(this.control.target);
    this.control.update();
  },

  upright(v) { return new THREE.Vector3(v.x, v.z, -v.y); },
  lying(v) { return new THREE.Vector3(v.x, -v.z, v.y); },

  zoom(times) {
    const arm = this.camera.position.clone().sub(this.control.target).divideScalar(times);
    this.camera.position.copy(this.control.target).add(arm);
    this.control.update();
  },

  shift(right, up) {
    const step = this.camera.position.distanceTo(this.control.target) * 0.05;
    const move = new THREE.Vector3().setFromMatrixColumn(this.camera.matrix, 0).multiplyScalar(right * step);
    move.addScaledVector(new THREE.Vector3().setFromMatrixColumn(this.camera.matrix, 1), up * step);
    this.camera.position.add(move);
    this.control.target.add(move);
    this.control.update();
  },

  /** Look at a place [mm], from where one looks now, `near` mm away. */
  goTo(at, near = null) {
    const arm = this.camera.position.clone().sub(this.control.target);
    if (near) arm.setLength(near);
    this.control.target.set(...at);
    this.camera.position.copy(this.control.target).add(arm);
    this.control.update();
    this.move();
  },

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
  },
};
