// Where the eye is: turned by mouse, touch and keys, one way of turning for all.

import * as THREE from "./vendor/three.module.min.js";

const TURN_DEG = 10;
const NEARER = 1.2;
/** Seen more from the end where the picture is narrow. */
const homeOf = (aspect) => ({ azimuth: aspect < 0.9 ? -56 : -32, elevation: 16 });
const FAR = 40;
/** Share of the picture that is filled at first. */
const FILLED = 0.86;

/** From what is looked at to the eye; the front is at -y. */
function direction(azimuth, elevation) {
  const [a, e] = [azimuth, elevation].map(THREE.MathUtils.degToRad);
  return new THREE.Vector3(Math.sin(a) * Math.cos(e), -Math.cos(a) * Math.cos(e), Math.sin(e));
}

/** An eye that looks at a middle; `changed` is called whenever it moves. */
export class Orbit {
  constructor(camera, element, changed) {
    this.camera = camera;
    this.changed = changed;
    this.half = [1, 1, 1];
    this.radius = 1;
    this.target = new THREE.Vector3();
    this.touches = new Map();
    this.leave = new AbortController();
    const options = { signal: this.leave.signal };
    element.addEventListener("pointerdown", (event) => this.down(event, element), options);
    element.addEventListener("pointermove", (event) => this.move(event), options);
    for (const name of ["pointerup", "pointercancel"]) {
      element.addEventListener(name, (event) => this.touches.delete(event.pointerId), options);
    }
    element.addEventListener("keydown", (event) => this.key(event), options);
    element.addEventListener("wheel", (event) => this.wheel(event, element), { ...options, passive: false });
    this.home();
  }

  /** Look at a box as a whole. */
  fit(box) {
    const [x, y, z] = box.low.map((value, k) => (value + box.high[k]) / 2);
    this.middle = new THREE.Vector3(x, y, z);
    this.half = box.low.map((value, k) => Math.max((box.high[k] - value) / 2, 0.5));
    this.radius = Math.hypot(...this.half);
    this.target.copy(this.middle);
    this.place();
  }

  home() {
    Object.assign(this, { ...homeOf(this.camera.aspect), nearness: 1 });
    if (this.middle) this.target.copy(this.middle);
    this.place();
  }

  turn(right, up) {
    this.azimuth = (this.azimuth + right) % 360;
    this.elevation = Math.min(89, Math.max(-89, this.elevation + up));
    this.place();
  }

  nearer(times) {
    this.nearness = Math.min(FAR, Math.max(0.25, this.nearness * times));
    this.place();
  }

  /** Shift what is looked at, in pixels of a view `height` high. */
  shift(right, down, height) {
    const scale = (2 * this.distance * Math.tan(THREE.MathUtils.degToRad(this.camera.fov / 2))) / height;
    const side = new THREE.Vector3().setFromMatrixColumn(this.camera.matrix, 0);
    const up = new THREE.Vector3().setFromMatrixColumn(this.camera.matrix, 1);
    this.target.addScaledVector(side, -right * scale).addScaledVector(up, down * scale);
    this.place();
  }

  /** So far away that the box just fits as it is seen at first. */
  get distance() {
    const home = homeOf(this.camera.aspect);
    const up = Math.tan(THREE.MathUtils.degToRad(this.camera.fov / 2)) * FILLED;
    const side = up * (this.camera.aspect || 1);
    const away = direction(home.azimuth, home.elevation);
    const right = new THREE.Vector3(-away.y, away.x, 0).normalize();
    const above = new THREE.Vector3().crossVectors(away, right);
    let most = 0;
    for (let k = 0; k < 8; k += 1) {
      const corner = new THREE.Vector3(...this.half.map((value, axis) => ((k >> axis) & 1 ? value : -value)));
      const deep = corner.dot(away);
      most = Math.max(most, deep + Math.abs(corner.dot(right)) / side, deep + Math.abs(corner.dot(above)) / up);
    }
    return most / this.nearness;
  }

  place() {
    const away = direction(this.azimuth, this.elevation);
    const { camera, distance } = this;
    camera.position.copy(this.target).addScaledVector(away, distance);
    camera.near = Math.max(distance / 200, distance - 4 * this.radius);
    camera.far = distance + 8 * this.radius;
    camera.lookAt(this.target);
    camera.updateMatrix();
    camera.updateProjectionMatrix();
    this.changed();
  }

  /** In words, for those who do not see it. */
  get words() {
    const sides = ["the front", "the front right", "the right", "the back right", "the back", "the back left", "the left", "the front left"];
    const side = sides[Math.round((((this.azimuth % 360) + 360) % 360) / 45) % 8];
    const high = this.elevation > 60 ? " from high above" : this.elevation > 5 ? " and above" : this.elevation < -5 ? " and below" : "";
    return `Seen from ${side}${high}.`;
  }

  down(event, element) {
    if (event.button > 0) return;
    element.setPointerCapture(event.pointerId);
    this.touches.set(event.pointerId, { x: event.clientX, y: event.clientY });
  }

  move(event) {
    const before = this.touches.get(event.pointerId);
    if (!before) return;
    const now = { x: event.clientX, y: event.clientY };
    const [dx, dy] = [now.x - before.x, now.y - before.y];
    const { clientHeight } = event.currentTarget;
    const other = [...this.touches].find(([id]) => id !== event.pointerId)?.[1];
    this.touches.set(event.pointerId, now);
    if (other) {
      const apart = (place) => Math.max(1, Math.hypot(place.x - other.x, place.y - other.y));
      this.nearer(apart(now) / apart(before));
      this.shift(dx / 2, dy / 2, clientHeight);
    } else if (event.shiftKey) this.shift(dx, dy, clientHeight);
    else this.turn(-dx * 0.4, dy * 0.4);
  }

  wheel(event, element) {
    if (document.activeElement !== element) return; // the page scrolls until the view is chosen
    event.preventDefault();
    this.nearer(event.deltaY > 0 ? 1 / 1.1 : 1.1);
  }

  key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const done = {
      ArrowLeft: () => this.turn(-TURN_DEG, 0),
      ArrowRight: () => this.turn(TURN_DEG, 0),
      ArrowUp: () => this.turn(0, TURN_DEG),
      ArrowDown: () => this.turn(0, -TURN_DEG),
      "+": () => this.nearer(NEARER),
      "=": () => this.nearer(NEARER),
      "-": () => this.nearer(1 / NEARER),
      Home: () => this.home(),
    }[event.key];
    if (!done) return;
    event.preventDefault();
    done();
  }

  destroy() {
    this.leave.abort();
  }
}
