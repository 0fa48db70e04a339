// What stands around a frame: the ground, a person for scale, sizes, an opening with a body in it.

import * as THREE from "./vendor/three.module.min.js";

export const PERSON_MM = 1750;
/** Right half of a plain outline, from the crotch round to the crown, in shares of the height. */
const HALF = [
  [0, 0.47], [0.018, 0.25], [0.02, 0.03], [0.02, 0], [0.085, 0], [0.088, 0.018], [0.06, 0.04],
  [0.078, 0.27], [0.095, 0.48], [0.082, 0.62], [0.098, 0.745], [0.116, 0.6], [0.122, 0.445],
  [0.138, 0.42], [0.155, 0.445], [0.152, 0.6], [0.14, 0.76], [0.118, 0.808], [0.045, 0.836],
  [0.038, 0.862], [0.056, 0.9], [0.058, 0.94], [0.044, 0.98], [0.02, 0.998], [0, 1],
];
const SQUARES = [10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 50_000];

/** Sides of a box by its corners; bit k of a corner's number says which end of axis k. */
const SIDES = [[0, 2, 6, 4], [1, 3, 7, 5], [0, 1, 5, 4], [2, 3, 7, 6], [0, 1, 3, 2], [4, 5, 7, 6]];

/** Things that stand around; each is made anew when it changes and let go with `clear`. */
export class Around {
  constructor(scene) {
    this.group = new THREE.Group();
    scene.add(this.group);
  }

  clear() {
    for (const part of this.group.children.slice()) {
      part.geometry?.dispose();
      part.material?.dispose();
      this.group.remove(part);
    }
    this.person = undefined;
  }

  lines(points, colour, { closed = false, opacity = 1 } = {}) {
    const geometry = new THREE.BufferGeometry().setFromPoints(points.map((point) => new THREE.Vector3(...point)));
    const material = new THREE.LineBasicMaterial({ color: colour, transparent: opacity < 1, opacity });
    const part = closed ? new THREE.LineLoop(geometry, material) : new THREE.LineSegments(geometry, material);
    this.group.add(part);
    return part;
  }

  solid(low, high, colour, opacity) {
    const size = high.map((value, k) => Math.max(value - low[k], 1));
    const material = new THREE.MeshLambertMaterial({ color: colour, transparent: opacity < 1, opacity, depthWrite: opacity === 1 });
    const part = new THREE.Mesh(new THREE.BoxGeometry(...size), material);
    part.position.set(...low.map((value, k) => (value + high[k]) / 2));
    this.group.add(part);
    return part;
  }

  /** Squares on the ground around a box; gives the side of one in mm. */
  ground(box, floor, colour) {
    const wide = Math.max(box.high[0] - box.low[0], box.high[1] - box.low[1], 1);
    const side = SQUARES.find((each) => (2 * wide) / each <= 26) ?? SQUARES.at(-1);
    const ends = [0, 1].map((k) => [
      Math.floor((box.low[k] - 0.35 * wide) / side) * side,
      Math.ceil((box.high[k] + 0.35 * wide) / side) * side,
    ]);
    const [[x0, x1], [y0, y1]] = ends;
    const points = [];
    for (let x = x0; x <= x1 + 1e-6; x += side) points.push([x, y0, floor], [x, y1, floor]);
    for (let y = y0; y <= y1 + 1e-6; y += side) points.push([x0, y, floor], [x1, y, floor]);
    this.lines(points, colour);
    return side;
  }

  /** A person 1.75 m high, who turns to whoever looks. */
  standing(at, colour) {
    const points = [...HALF, ...HALF.slice(1, -1).reverse().map(([x, z]) => [-x, z])];
    this.person = this.lines(points.map(([x, z]) => [x * PERSON_MM, 0, z * PERSON_MM]), colour, { closed: true });
    this.person.position.set(...at);
    return [at[0], at[1], at[2] + PERSON_MM * 1.06];
  }

  /** Let the person face the eye. */
  face(camera) {
    if (!this.person) return;
    const { x, y } = this.person.position;
    this.person.rotation.z = Math.atan2(camera.position.x - x, -(camera.position.y - y));
  }

  /** Lengths beside a box, with ticks; gives the labels. `size` is what they say. */
  sizes(box, size, colour) {
    const away = 0.05 * Math.max(...box.high.map((value, k) => value - box.low[k]));
    const [x0, y0, z0] = box.low;
    const [x1, y1, z1] = box.high;
    const rows = [
      [[x0, y0 - away, z0], [x1, y0 - away, z0], [0, 1, 0]],
      [[x1 + away, y0, z0], [x1 + away, y1, z0], [1, 0, 0]],
      [[x0 - away, y0, z0], [x0 - away, y0, z1], [1, 0, 0]],
    ];
    const points = [];
    for (const [from, to, tick] of rows) {
      points.push(from, to);
      for (const end of [from, to]) {
        const step = tick.map((value) => value * away * 0.5);
        points.push(end.map((value, k) => value - step[k]), end.map((value, k) => value + step[k]));
      }
    }
    this.lines(points, colour);
    return rows.map(([from, to], k) => ({ at: from.map((value, i) => (value + to[i]) / 2), text: `${millimetres(size[k])} mm` }));
  }

  /** An opening in a wall, and the boxes of a body in it, `along` mm before its middle. */
  opening({ opening_mm: [wide, high], through_mm: deep, passes }, blocks, look) {
    const depth = Math.max(deep, 120);
    const post = Math.max(60, 0.05 * Math.max(wide, high));
    const half = wide / 2;
    const wall = (x0, x1, z0, z1) => {
      this.solid([x0, -depth / 2, z0], [x1, depth / 2, z1], look.soft, 0.35);
      this.edges([x0, -depth / 2, z0], [x1, depth / 2, z1], look.ink);
    };
    wall(-half - post, -half, 0, high + post);
    wall(half, half + post, 0, high + post);
    wall(-half, half, high, high + post);
    const colour = passes ? look.body : look.stop;
    for (const corners of blocks) {
      this.hull(corners, colour);
      this.rims(corners, colour);
    }
  }

  edges(low, high, colour) {
    this.rims(cornersOf(low, high), colour);
  }

  /** The twelve edges between eight corners. */
  rims(corners, colour) {
    const points = [];
    for (let k = 0; k < 8; k += 1) {
      for (const bit of [1, 2, 4]) if (!(k & bit)) points.push(corners[k], corners[k | bit]);
    }
    this.lines(points, colour);
  }

  /** The six sides between eight corners, seen through. */
  hull(corners, color) {
    const geometry = new THREE.BufferGeometry().setFromPoints(corners.map((corner) => new THREE.Vector3(...corner)));
    geometry.setIndex(SIDES.flatMap(([a, b, c, d]) => [a, b, c, a, c, d]));
    const look = { color, transparent: true, opacity: 0.12, side: THREE.DoubleSide, depthWrite: false };
    this.group.add(new THREE.Mesh(geometry, new THREE.MeshBasicMaterial(look)));
  }

  destroy() {
    this.clear();
    this.group.removeFromParent();
  }
}

/** Whole millimetres as people read them: 3 654. */
export function millimetres(value) {
  return Math.round(value).toString().replaceAll(/\B(?=(\d{3})+$)/g, "\u202f");
}

function cornersOf(low, high) {
  return [0, 1, 2, 3, 4, 5, 6, 7].map((k) => [0, 1, 2].map((axis) => ((k >> axis) & 1 ? high : low)[axis]));
}

/** Corners of a body's blocks after its turn, led `along` mm past the middle of the opening, and
 * the shift that brings every point of it there. */
export function turnedBlocks({ blocks_mm: blocks, turn, lifted_mm: lifted }, along) {
  const turned = (point) => turn.map((row) => row.reduce((sum, value, axis) => sum + value * point[axis], 0));
  const all = blocks.map(([low, high]) => cornersOf(low, high).map(turned));
  const ends = (pick) => [0, 1, 2].map((axis) => pick(...all.flat().map((corner) => corner[axis])));
  const [low, high] = [ends(Math.min), ends(Math.max)];
  const shift = [-(low[0] + high[0]) / 2, along - (low[1] + high[1]) / 2, lifted - low[2]];
  const moved = (point) => point.map((value, k) => value + shift[k]);
  return { blocks: all.map((corners) => corners.map(moved)), low: moved(low), high: moved(high), shift };
}
