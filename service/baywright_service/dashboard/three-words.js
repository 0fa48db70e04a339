// What is seen, in words: for screen readers, and for all who want a number.

import { millimetres } from "./three-around.js";

const VERDICTS = {
  ok: "The verdict of the calculation is ok.",
  watch: "The verdict of the calculation is watch: there is something to keep an eye on.",
  stop: "The verdict of the calculation is stop: there is something to change first.",
};

/** The scene as a whole. */
export function sceneWords(scene) {
  return [scene.words, VERDICTS[scene.verdict]].filter(Boolean).join(" ");
}

/** The name of a group as people say it. */
export function groupName({ id, title }) {
  return title && title !== id ? `${id}, ${title}` : id;
}

/** Three digits of a number, without a power of ten. */
export function plainNumber(value) {
  const size = Math.abs(value);
  return size >= 100 ? millimetres(size) : size.toPrecision(size >= 1 ? 3 : 2).replace(/(\.\d*?)0+$/, "$1").replace(/\.$/, "");
}

/** A share as a percentage. */
export function percent(ratio) {
  const value = 100 * ratio;
  if (value >= 999.5) return `${millimetres(value)} %`;
  return value >= 10 ? `${value.toFixed(0)} %` : `${value.toFixed(1)} %`;
}

/** One bar: what it is, where, its force and how much of what it takes that is. */
export function barWords(model, bar, { ratio, force } = {}) {
  const { scene, bars } = model;
  const piece = scene.pieces[bars.piece[bar]].id;
  const ends = [bars.start[bar], bars.end[bar]];
  const length = Math.hypot(...[0, 1, 2].map((k) => model.points[3 * ends[0] + k] - model.points[3 * ends[1] + k]));
  const where = ends.map((point) => pointName(scene, point));
  const group = bars.group[bar] < 0 ? `between ${ends.map((end) => scene.groups[scene.group_of_point[end]].id).join(" and ")}` : `in ${groupName(scene.groups[bars.group[bar]])}`;
  const kind = scene.kinds[bars.kind[bar]];
  const parts = [`${piece}, ${millimetres(length)} mm, one of the ${kind}, ${group}, from ${where.join(" to ")}`];
  if (force && !Number.isNaN(force[bar])) {
    const pull = Math.abs(force[bar]) < 5e-3 ? "no force to speak of" : `${plainNumber(force[bar])} N ${force[bar] > 0 ? "pulled" : "pressed"}`;
    parts.push(`${pull}, ${percent(ratio[bar])} ${scene.share_of}`);
  }
  return `${parts.join(": ")}.`;
}

function pointName(scene, point) {
  const place = scene.places[point];
  return place ? `hub (${place.join(", ")})` : `hub ${point}`;
}

/** A bar in a few words, for a list. */
export function barName(model, bar, ratio) {
  const { scene, bars } = model;
  const group = bars.group[bar] < 0 ? "joint" : scene.groups[bars.group[bar]].id;
  const share = ratio && !Number.isNaN(ratio[bar]) ? `, ${percent(ratio[bar])}` : "";
  return `${scene.pieces[bars.piece[bar]].id} in ${group}${share}`;
}
