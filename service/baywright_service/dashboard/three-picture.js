// From what is to be seen to what the stage draws.

import * as THREE from "./vendor/three.module.min.js";
import { Around, PERSON_MM, millimetres } from "./three-around.js";
import { Bars } from "./three-bars.js";
import { apartBy, around, boxOf } from "./three-model.js";
import { CLASSES, KIND_THICK, classOf } from "./three-palette.js";

const REACH_PX = 14;
const LEAST_BESIDE_PERSON = 900;

export function pictureOf(stage, model) {
  return new Picture(stage, model);
}

class Picture {
  constructor(stage, model) {
    Object.assign(this, { stage, model });
    this.bars = new Bars(model);
    this.ghost = new THREE.LineSegments(new THREE.BufferGeometry(), new THREE.LineBasicMaterial());
    this.ghost.frustumCulled = false;
    this.around = new Around(stage.scene);
    stage.scene.add(this.bars.group, this.ghost);
    stage.beforeDraw = () => this.around.face(stage.camera);
  }

  show(seen, state, look) {
    const { model, stage } = this;
    this.seen = seen;
    this.bars.place(seen.places, this.thickness(seen, state), this.hubShown(seen));
    this.bars.paint(this.colours(seen, state, look), look.hub);
    this.drawGhost(seen, look);
    const box = this.boxNow(seen, state);
    const key = JSON.stringify([state.mode, state.group, state.attitude, state.passing, model.scene.groups.length > 1 && state.apart]);
    if (key !== this.fitted) {
      this.fitted = key;
      stage.orbit.fit(withPerson(box.wide, seen.opening));
    }
    this.surround(seen, state, look, box);
    stage.background(look.back);
  }

  thickness({ shown, ratio, loose }, { picked }) {
    const { kind } = this.model.bars;
    return (bar) => {
      if (!shown(bar)) return 0;
      const more = bar === picked ? 1.8 : 1;
      if (ratio) return more * (CLASSES[classOf(ratio[bar])]?.thick ?? 0.6);
      if (loose) return more * (loose(bar) ? 2 : 0.7);
      return more * KIND_THICK[kind[bar] % KIND_THICK.length];
    };
  }

  colours({ ratio, loose }, { picked }, look) {
    const { kind } = this.model.bars;
    return (bar) => {
      if (bar === picked) return look.accent;
      if (ratio) return look.classes[classOf(ratio[bar])] ?? look.pale;
      if (loose) return loose(bar) ? look.classes[3] : look.pale;
      return look.kinds[kind[bar] % look.kinds.length];
    };
  }

  /** Points of bars that are shown. */
  hubShown({ shown }) {
    const { start, end } = this.model.bars;
    const seen = new Uint8Array(this.model.points.length / 3);
    for (let bar = 0; bar < start.length; bar += 1) if (shown(bar)) seen[start[bar]] = seen[end[bar]] = 1;
    this.visible = seen;
    return (point) => seen[point] === 1;
  }

  /** Where it stood before it moved, as thin lines. */
  drawGhost({ ghost, shown }, look) {
    setLines(this.ghost, ghost ? this.segments(ghost, shown) : [], look.pale);
  }

  segments(places, shown) {
    const { start, end } = this.model.bars;
    const out = [];
    for (let bar = 0; bar < start.length; bar += 1) {
      if (!shown(bar)) continue;
      for (const point of [start[bar], end[bar]]) out.push(places[3 * point], places[3 * point + 1], places[3 * point + 2]);
    }
    return out;
  }

  /** The box of what is seen, and a wider one to look at. */
  boxNow({ places, opening }, state) {
    if (opening) {
      const { passing, low, high, long } = opening;
      const half = passing.opening_mm[0] / 2;
      const tall = Math.max(passing.opening_mm[1], high[2]);
      const wide = { low: [Math.min(-half, low[0]) - 300, -0.75 * long, 0], high: [Math.max(half, high[0]) + 1000, 0.75 * long, tall + 150] };
      return { tight: wide, wide };
    }
    const which = [...this.visible.keys()].filter((point) => this.visible[point]);
    const tight = around([boxOf(places, which)]);
    const boxes = [tight];
    if (state.group < 0 && state.apart > 0) {
      this.model.boxes.forEach((box, group) => {
        const away = apartBy(this.model, group, state.apart);
        boxes.push({ low: box.low.map((value, k) => value + away[k]), high: box.high.map((value, k) => value + away[k]) });
      });
    }
    return { tight, wide: around(boxes) };
  }

  surround(seen, state, look, { tight, wide }) {
    const { model, around: things } = this;
    things.clear();
    const margin = model.scene.margin_mm;
    const floor = seen.opening ? 0 : wide.low[2] - margin;
    const side = things.ground(wide, floor, look.line);
    this.stage.scale.textContent = `Squares of ${millimetres(side)} mm.`;
    const labels = [];
    const beside = personBeside(wide, seen.opening);
    if (beside) labels.push({ at: things.standing([...beside, floor], look.ink), text: "1.75 m" });
    if (seen.sizes) {
      const whole = state.group < 0;
      const size = whole ? model.scene.size_mm : tight.high.map((value, k) => value - tight.low[k] + 2 * margin);
      const outer = { low: tight.low.map((value) => value - margin), high: tight.high.map((value) => value + margin) };
      labels.push(...things.sizes(outer, size, look.ink).map((entry) => ({ ...entry, strong: true })));
    }
    if (seen.opening) {
      things.opening(seen.opening.passing, seen.opening.blocks, look);
      const [w, h] = seen.opening.passing.opening_mm;
      labels.push({ at: [0, 0, h + 120], text: `${millimetres(w)} × ${millimetres(h)} mm clear`, strong: true });
    }
    if (!seen.opening && model.scene.groups.length > 1) labels.push(...this.names());
    this.stage.label(labels);
  }

  /** The name of each group over its top. */
  names() {
    return this.model.scene.groups.flatMap((group, k) => {
      const which = this.model.pointsOf[k].filter((point) => this.visible[point]);
      if (!which.length) return [];
      const { low, high } = boxOf(this.seen.places, which);
      return [{ at: [(low[0] + high[0]) / 2, (low[1] + high[1]) / 2, high[2] + 90], text: group.id, strong: true }];
    });
  }

  /** The bar nearest to a place on the screen, within reach of a finger; -1 where none is. */
  barAt(x, y) {
    const { start, end } = this.model.bars;
    const { places, shown } = this.seen;
    const flat = new Map();
    const at = (point) => flat.get(point) ?? flat.set(point, this.stage.onScreen(places[3 * point], places[3 * point + 1], places[3 * point + 2])).get(point);
    let best = { bar: -1, cost: Infinity };
    for (let bar = 0; bar < start.length; bar += 1) {
      if (!shown(bar)) continue;
      const [away, depth] = distance([x, y], at(start[bar]), at(end[bar]));
      const cost = away + 2000 * depth; // of bars behind one another the nearer one
      if (away < REACH_PX && depth < 1 && cost < best.cost) best = { bar, cost };
    }
    return best.bar;
  }

  destroy() {
    this.bars.destroy();
    this.around.destroy();
    this.ghost.geometry.dispose();
    this.ghost.material.dispose();
  }
}

/** Where a person stands for scale: beside what is large enough for that, right of an opening. */
function personBeside({ low, high }, opening) {
  if (opening) return [high[0] - 350, 0];
  const size = high.map((value, k) => value - low[k]);
  if (Math.max(...size) < LEAST_BESIDE_PERSON) return undefined;
  return [low[0] - 0.06 * size[0] - 520, (low[1] + high[1]) / 2];
}

function withPerson(box, opening) {
  const beside = personBeside(box, opening);
  if (!beside || opening) return box;
  return {
    low: [beside[0] - 300, box.low[1], box.low[2]],
    high: [box.high[0], box.high[1], Math.max(box.high[2], box.low[2] + PERSON_MM + 100)],
  };
}

function setLines(lines, numbers, colour) {
  lines.geometry.dispose();
  lines.geometry = new THREE.BufferGeometry();
  lines.geometry.setAttribute("position", new THREE.Float32BufferAttribute(numbers, 3));
  lines.material.color.set(colour);
  lines.visible = numbers.length > 0;
}

/** How far a place is from a stretch on the screen, and how deep that stretch lies there. */
function distance([x, y], [ax, ay, az], [bx, by, bz]) {
  const [dx, dy] = [bx - ax, by - ay];
  const along = Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy || 1)));
  return [Math.hypot(ax + along * dx - x, ay + along * dy - y), az + along * (bz - az)];
}
