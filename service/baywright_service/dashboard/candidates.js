// Results that hold whole plans: a picture of two of their numbers, in which a click opens one.

import { plansIn } from "./answers.js";
import { tableView } from "./csv.js";
import { lay } from "./drafts.js";
import { button, fill, h, s } from "./dom.js";
import { capital, isObject, nameAndUnit, numberText } from "./labels.js";

const WIDTH = 640;
const HEIGHT = 400;
const LEFT = 78;
const RIGHT = 18;
const TOP = 16;
const BOTTOM = 58;

/** The plans inside a result, to be opened; nothing where there is none. */
export function candidates(result, heading = "h3") {
  const found = plansIn(result).map(candidate);
  if (!found.length) return null;
  const names = numbersIn(found);
  return h(
    "section",
    { class: "candidates" },
    h(heading, null, found.length === 1 ? "A plan came out of this" : `${found.length} plans came out of this`),
    h("p", null, "Open one to see it calculated whole, to change it and to store it."),
    found.length > 1 && names.length > 1 ? scatter(found, names) : null,
    listing(found, names),
  );
}

function candidate({ place, plan, holder }, index) {
  const name = holder.title ?? holder.id ?? plan.title ?? `Candidate ${index + 1}`;
  const values = {};
  collect(holder, "", values, 2);
  return { place, plan, name: String(name), values };
}

function collect(object, prefix, values, depth) {
  for (const [key, value] of Object.entries(object)) {
    if (key === "plan") continue;
    if (typeof value === "number") values[prefix + key] = value;
    else if (isObject(value) && depth > 1) collect(value, `${prefix}${key}.`, values, depth - 1);
  }
}

/** Numbers that every candidate has and that are not the same for all. */
function numbersIn(found) {
  return Object.keys(found[0].values).filter((name) => {
    const all = found.map((each) => each.values[name]);
    return all.every((value) => typeof value === "number") && new Set(all).size > 1;
  });
}

const words = (name) => capital(nameAndUnit(name.split(".").pop()).filter(Boolean).join(", "));

const open = ({ plan, name }) => (window.location.hash = `#/open/${lay(plan, name)}`);

function scatter(found, names) {
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
  const show = () => fill(frame, plotted(found, chosen.x, chosen.y));
  show();
  return h(
    "div",
    null,
    h("div", { class: "tools" }, choose("x", "To the right"), choose("y", "Upwards")),
    frame,
  );
}

function plotted(found, x, y) {
  const [across, up] = [scale(found, x, LEFT, WIDTH - RIGHT), scale(found, y, HEIGHT - BOTTOM, TOP)];
  const axes = [
    s("path", { d: `M${LEFT} ${TOP}V${HEIGHT - BOTTOM}H${WIDTH - RIGHT}`, class: "axis" }),
    across.ticks.map((tick) => s("text", { x: across.at(tick), y: HEIGHT - BOTTOM + 20, "text-anchor": "middle" }, numberText(tick))),
    up.ticks.map((tick) => s("text", { x: LEFT - 8, y: up.at(tick) + 5, "text-anchor": "end" }, numberText(tick))),
    s("text", { x: (LEFT + WIDTH - RIGHT) / 2, y: HEIGHT - 10, "text-anchor": "middle", class: "axis-name" }, words(x)),
    s("text", { x: -(TOP + HEIGHT - BOTTOM) / 2, y: 16, transform: "rotate(-90)", "text-anchor": "middle", class: "axis-name" }, words(y)),
  ];
  const points = found.map((each) => {
    const [px, py] = [across.at(each.values[x]), up.at(each.values[y])];
    const label = `Open ${each.name}: ${words(x)} ${numberText(each.values[x])}, ${words(y)} ${numberText(each.values[y])}`;
    const act = (event) => {
      if (event.type === "keydown" && !["Enter", " "].includes(event.key)) return;
      event.preventDefault();
      open(each);
    };
    return s(
      "g",
      { class: "point", tabindex: "0", role: "button", "aria-label": label, on: { click: act, keydown: act } },
      s("circle", { cx: px, cy: py, r: 22, class: "reach" }),
      s("circle", { cx: px, cy: py, r: 7 }),
      s("title", null, label),
    );
  });
  return s(
    "svg",
    { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: "group", "aria-label": `Candidates by ${words(x)} and ${words(y)}` },
    axes,
    points,
  );
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

function listing(found, names) {
  const shown = names.slice(0, 8);
  const rows = found.map((each) => {
    const cell = h("span", { "data-sort": each.name }, button(`Open ${each.name}`, () => open(each)));
    return [cell, ...shown.map((name) => each.values[name] ?? "")];
  });
  return tableView("Plans that came out of this", ["plan", ...shown], rows, {
    named: (field) => (field === "plan" ? "Open as a plan" : words(field)),
  });
}
