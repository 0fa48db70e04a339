// A scene of the service as columns, and where its points come to lie. No picture in here.

const UP = [0, 0, -1];

/** Columns of a scene (`application/vnd.baywright.scene+json`), and the bars and points of each group. */
export function modelOf(scene) {
  const { bars } = scene;
  const groups = scene.groups.length;
  const barsOf = listsOf(bars.group, groups);
  const pointsOf = listsOf(scene.group_of_point, groups);
  const points = Float64Array.from(scene.points_mm.flat());
  return { scene, points, bars, barsOf, pointsOf, boxes: pointsOf.map((which) => boxOf(points, which)) };
}

function listsOf(column, count) {
  const lists = Array.from({ length: count }, () => []);
  column.forEach((group, place) => lists[group]?.push(place));
  return lists;
}

/** Lower and upper corner of some points. */
export function boxOf(points, which) {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (const point of which) {
    for (let k = 0; k < 3; k += 1) {
      low[k] = Math.min(low[k], points[3 * point + k]);
      high[k] = Math.max(high[k], points[3 * point + k]);
    }
  }
  return { low, high };
}

/** The box around several boxes. */
export function around(boxes) {
  const real = boxes.filter((box) => Number.isFinite(box.low[0]));
  if (!real.length) return { low: [0, 0, 0], high: [1000, 1000, 1000] };
  return {
    low: [0, 1, 2].map((k) => Math.min(...real.map((box) => box.low[k]))),
    high: [0, 1, 2].map((k) => Math.max(...real.map((box) => box.high[k]))),
  };
}

export const sizeOf = (box) => box.high.map((value, k) => value - box.low[k]);

/** The longest side of the whole. */
export const longest = (model) => Math.max(...sizeOf(around(model.boxes)), 1);

/** How far a group stands from its place when all is pulled apart by `share` (0 to 1). */
export function apartBy(model, group, share) {
  const step = 0.4 * Math.max(...model.boxes.map((box) => Math.max(...sizeOf(box))), 1) * share;
  return model.scene.groups[group].apart.map((value) => value * step);
}

/** Where all points lie.
 *
 * `apart` 0 to 1; `moves` a list of {groups, moved, factor}: displacements to add, times a factor;
 * `turned` {groups, down}: groups turned about their middle so that `down` points to the ground;
 * `placed` {group, at, turn, shift}: one group whose lowest corner is `at`, turned by rows, shifted.
 */
export function placesOf(model, { apart = 0, moves = [], turned, placed } = {}) {
  const places = Float64Array.from(model.points);
  for (const { groups, moved, factor } of moves) {
    for (const group of groups) {
      model.pointsOf[group].forEach((point, row) => {
        for (let k = 0; k < 3; k += 1) places[3 * point + k] += factor * moved[row][k];
      });
    }
  }
  if (turned) for (const group of turned.groups) turnDown(model, places, group, turned.down);
  if (placed) placeInside(model, places, placed);
  if (apart > 0) {
    model.scene.groups.forEach((_, group) => {
      const away = apartBy(model, group, apart);
      for (const point of model.pointsOf[group]) {
        for (let k = 0; k < 3; k += 1) places[3 * point + k] += away[k];
      }
    });
  }
  return places;
}

function turnDown(model, places, group, down) {
  const turn = shortestTurn(down, UP);
  const { low, high } = model.boxes[group];
  const middle = low.map((value, k) => (value + high[k]) / 2);
  let lowest = Infinity;
  for (const point of model.pointsOf[group]) {
    const from = [0, 1, 2].map((k) => places[3 * point + k] - middle[k]);
    turn.forEach((row, k) => (places[3 * point + k] = middle[k] + dot(row, from)));
    lowest = Math.min(lowest, places[3 * point + 2]);
  }
  const floor = Math.min(...model.boxes.map((box) => box.low[2]));
  for (const point of model.pointsOf[group]) places[3 * point + 2] += floor - lowest;
}

function placeInside(model, places, { group, at, turn, shift }) {
  const { low } = model.boxes[group];
  for (const point of model.pointsOf[group]) {
    const from = [0, 1, 2].map((k) => places[3 * point + k] - low[k] + at[k]);
    turn.forEach((row, k) => (places[3 * point + k] = dot(row, from) + shift[k]));
  }
}

const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];

/** Rows of the shortest turn that takes unit vector `from` to `to`. */
export function shortestTurn(from, to) {
  const axis = cross(from, to);
  const c = dot(from, to);
  if (c < -0.999999) return [[1, 0, 0], [0, -1, 0], [0, 0, -1]]; // half a turn about x
  const k = 1 / (1 + c);
  const [x, y, z] = axis;
  return [
    [c + k * x * x, k * x * y - z, k * x * z + y],
    [k * y * x + z, c + k * y * y, k * y * z - x],
    [k * z * x - y, k * z * y + x, c + k * z * z],
  ];
}

/** One number for each bar from columns of groups; NaN where nothing is known. */
export function columnOf(model, entries, name) {
  const column = new Float64Array(model.bars.start.length).fill(Number.NaN);
  for (const entry of entries) {
    for (const group of entry.groups) {
      model.barsOf[group].forEach((bar, row) => (column[bar] = entry[name][row]));
    }
  }
  return column;
}

/** How much to enlarge a movement so that it is seen: 1, 2 or 5 times a power of ten. */
export function magnification(model, moves) {
  const most = Math.max(0, ...moves.map(({ moved }) => Math.sqrt(Math.max(0, ...moved.map((row) => dot(row, row))))));
  if (!(most > 0)) return 1;
  const scale = (0.06 * longest(model)) / most;
  const power = 10 ** Math.floor(Math.log10(scale));
  return Math.max(...[1, 2, 5].map((k) => k * power).filter((k) => k <= scale));
}
