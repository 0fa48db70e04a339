// A picture of two numbers of many things, in which each point can be opened by click or key.

import { fill, h, s } from "./dom.js";
import { numberText } from "./labels.js";

const LEFT = 70;
const RIGHT = 22;
const TOP = 16;
const BOTTOM = 58;
// How far from a point it can be pressed, in units of the picture.
const REACH = 30;
// A verdict is told by the shape of its point: round, three corners, four corners.
const MARKS = { ok: "M-7 0a7 7 0 1 0 14 0a7 7 0 1 0 -14 0", watch: "M0 -9L8 6H-8z", stop: "M-7 -7H7V7H-7z" };
const SIGNS = { ok: "●", watch: "▲", stop: "■" };

/** Points to be opened, by two of their numbers that can be chosen.
 *
 * `found` holds {name, values, open, level?}; `names` the numbers' names, `words(name)` what they are called.
 */
export function scatter(found, names, words) {
  const chosen = { x: names[0], y: names[1] };
  const frame = h("div", { class: "paper plot" });
  const choose = (axis, label) =>
    h(
      "label",
      { class: "inline-field" },
      `${label} `,
      h(
        "select",
        {
          on: {
            change: (event) => {
              chosen[axis] = event.target.value;
              show();
            },
          },
        },
        names.map((name) => h("option", { value: name, selected: name === chosen[axis] }, words(name))),
      ),
    );
  const show = () => fill(frame, plotted(found, chosen.x, chosen.y, words));
  show();
  const levels = ["ok", "watch", "stop"].filter((level) => found.some((each) => each.level === level));
  return h(
    "div",
    null,
    h("div", { class: "tools" }, choose("x", "To the right"), choose("y", "Upwards")),
    frame,
    levels.length ? h("p", { class: "soft small" }, levels.map((level) => `${SIGNS[level]} ${level}`).join("   ")) : null,
  );
}

function plotted(found, x, y, words) {
  const width = Math.min(640, Math.max(280, window.innerWidth - 56));
  const height = Math.round(Math.max(280, width * 0.62));
  const [across, up] = [scale(found, x, LEFT, width - RIGHT), scale(found, y, height - BOTTOM, TOP)];
  const axes = [
    s("path", { d: `M${LEFT} ${TOP}V${height - BOTTOM}H${width - RIGHT}`, class: "axis" }),
    across.ticks.map((tick) => s("text", { x: across.at(tick), y: height - BOTTOM + 20, "text-anchor": "middle" }, numberText(tick))),
    up.ticks.map((tick) => s("text", { x: LEFT - 8, y: up.at(tick) + 5, "text-anchor": "end" }, numberText(tick))),
    s("text", { x: (LEFT + width - RIGHT) / 2, y: height - 10, "text-anchor": "middle", class: "axis-name" }, words(x)),
    s("text", { x: -(TOP + height - BOTTOM) / 2, y: 16, transform: "rotate(-90)", "text-anchor": "middle", class: "axis-name" }, words(y)),
  ];
  const places = found.map((each) => [across.at(each.values[x]), up.at(each.values[y])]);
  const points = found.map((each, k) => {
    const [px, py] = places[k];
    const label = `Open ${each.name}: ${words(x)} ${numberText(each.values[x])}, ${words(y)} ${numberText(each.values[y])}`;
    return s(
      "g",
      { class: "point", tabindex: k ? "-1" : "0", role: "button", "aria-label": label },
      s("circle", { cx: px, cy: py, r: 16, class: "ring" }),
      s("path", { d: MARKS[each.level] ?? MARKS.ok, transform: `translate(${px} ${py})`, class: "dot" }),
      s("title", null, label),
    );
  });
  const picture = s(
    "svg",
    { viewBox: `0 0 ${width} ${height}`, role: "group", "aria-label": `By ${words(x)} and ${words(y)}; arrow keys go from point to point` },
    axes,
    points,
  );
  picture.addEventListener("click", (event) => {
    const at = nearest(places, picture, event, width, height);
    if (at >= 0) found[at].open();
  });
  picture.addEventListener("keydown", (event) => byKey(event, points, found, places));
  return picture;
}

/** The point nearest to where was pressed; -1 where none is near. */
function nearest(places, picture, event, width, height) {
  const size = picture.getBoundingClientRect();
  const [x, y] = [
    ((event.clientX - size.left) * width) / size.width,
    ((event.clientY - size.top) * height) / size.height,
  ];
  const away = places.map(([px, py]) => Math.hypot(px - x, py - y));
  const least = Math.min(...away);
  return least <= REACH ? away.indexOf(least) : -1;
}

/** Arrows go to the next point to the left or right, Enter opens it. */
function byKey(event, points, found, places) {
  const at = points.indexOf(document.activeElement);
  if (at < 0) return;
  if (["Enter", " "].includes(event.key)) {
    event.preventDefault();
    found[at].open();
    return;
  }
  const way = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1 }[event.key];
  if (!way) return;
  event.preventDefault();
  const order = places.map((_, k) => k).sort((one, other) => places[one][0] - places[other][0] || one - other);
  const next = order[order.indexOf(at) + way];
  if (next === undefined) return;
  points[at].setAttribute("tabindex", "-1");
  points[next].setAttribute("tabindex", "0");
  points[next].focus();
}

/** Where a value lies between two places of the picture, and round numbers along it. */
function scale(found, name, from, to) {
  const all = found.map((each) => each.values[name]);
  const [low, high] = [Math.min(...all), Math.max(...all)];
  const room = (high - low) * 0.08;
  const [first, last] = [low - room, high + room];
  const step = roundStep((last - first) / 4);
  const ticks = [];
  for (let tick = Math.ceil(first / step) * step; tick <= last; tick += step) {
    ticks.push(Number(tick.toPrecision(12)));
  }
  return { ticks, at: (value) => from + ((value - first) / (last - first)) * (to - from) };
}

function roundStep(rough) {
  const size = 10 ** Math.floor(Math.log10(rough));
  return size * ([1, 2, 5].find((each) => each * size >= rough) ?? 10);
}
