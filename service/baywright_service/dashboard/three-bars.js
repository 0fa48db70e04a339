// Bars and hubs, each kind drawn at one go however many there are.

import * as THREE from "./vendor/three.module.min.js";

const MANY = 2500;

/** All bars and points of a model. What is hidden has no thickness. */
export class Bars {
  constructor(model) {
    this.model = model;
    const count = model.bars.start.length;
    const many = count > MANY;
    const rod = new THREE.CylinderGeometry(1, 1, 1, many ? 4 : 8, 1, many);
    const hub = many ? new THREE.OctahedronGeometry(1, 0) : new THREE.IcosahedronGeometry(1, 1);
    this.rods = this.instances(rod, count);
    this.hubs = this.instances(hub, model.points.length / 3);
    this.group = new THREE.Group();
    this.group.add(this.rods, this.hubs);
    this.halfThick = model.bars.piece.map((piece) => Math.max(0.5, model.scene.pieces[piece].thickness_mm / 2));
    this.hubSize = Math.max(...this.halfThick, 1) * 1.7;
  }

  instances(geometry, count) {
    const mesh = new THREE.InstancedMesh(geometry, new THREE.MeshLambertMaterial(), Math.max(1, count));
    mesh.count = count;
    mesh.frustumCulled = false;
    mesh.setColorAt(0, new THREE.Color(1, 1, 1));
    return mesh;
  }

  /** Put everything where `places` says; `thick(bar)` is 0 for what is hidden. */
  place(places, thick, shown) {
    const { start, end } = this.model.bars;
    const out = this.rods.instanceMatrix.array;
    for (let bar = 0; bar < start.length; bar += 1) {
      writeBar(out, 16 * bar, places, 3 * start[bar], 3 * end[bar], thick(bar) * this.halfThick[bar]);
    }
    this.rods.instanceMatrix.needsUpdate = true;
    const hubs = this.hubs.instanceMatrix.array;
    for (let point = 0; point < places.length / 3; point += 1) {
      const size = shown(point) ? this.hubSize : 0;
      const at = 16 * point;
      hubs.fill(0, at, at + 16);
      hubs[at] = hubs[at + 5] = hubs[at + 10] = size;
      hubs[at + 12] = places[3 * point];
      hubs[at + 13] = places[3 * point + 1];
      hubs[at + 14] = places[3 * point + 2];
      hubs[at + 15] = 1;
    }
    this.hubs.instanceMatrix.needsUpdate = true;
  }

  /** Colour everything; `colour(bar)` is a name of a colour. */
  paint(colour, hubColour) {
    const known = new Map();
    const value = (name) => known.get(name) ?? known.set(name, new THREE.Color(name)).get(name);
    const out = this.rods.instanceColor.array;
    for (let bar = 0; bar < this.model.bars.start.length; bar += 1) value(colour(bar)).toArray(out, 3 * bar);
    this.rods.instanceColor.needsUpdate = true;
    const hub = value(hubColour);
    for (let point = 0; point < this.model.points.length / 3; point += 1) hub.toArray(this.hubs.instanceColor.array, 3 * point);
    this.hubs.instanceColor.needsUpdate = true;
  }

  destroy() {
    for (const mesh of [this.rods, this.hubs]) {
      mesh.geometry.dispose();
      mesh.material.dispose();
      mesh.dispose();
    }
  }
}

/** A matrix that lays a cylinder of height 1 along y from one point to another. */
function writeBar(out, at, places, a, b, half) {
  const dx = places[b] - places[a];
  const dy = places[b + 1] - places[a + 1];
  const dz = places[b + 2] - places[a + 2];
  const length = Math.hypot(dx, dy, dz) || 1e-9;
  // Any direction square to the bar will do: a cylinder is round.
  let [ux, uy, uz] = Math.abs(dz) < 0.9 * length ? [-dy, dx, 0] : [0, -dz, dy];
  const u = half / (Math.hypot(ux, uy, uz) || 1);
  [ux, uy, uz] = [ux * u, uy * u, uz * u];
  out[at] = ux;
  out[at + 1] = uy;
  out[at + 2] = uz;
  out[at + 3] = 0;
  out[at + 4] = dx;
  out[at + 5] = dy;
  out[at + 6] = dz;
  out[at + 7] = 0;
  out[at + 8] = (uy * dz - uz * dy) / length;
  out[at + 9] = (uz * dx - ux * dz) / length;
  out[at + 10] = (ux * dy - uy * dx) / length;
  out[at + 11] = 0;
  out[at + 12] = (places[a] + places[b]) / 2;
  out[at + 13] = (places[a + 1] + places[b + 1]) / 2;
  out[at + 14] = (places[a + 2] + places[b + 2]) / 2;
  out[at + 15] = 1;
}
