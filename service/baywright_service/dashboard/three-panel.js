// The controls beside the picture, made anew for each thing to see.

import { button, fill, freshId, h } from "./dom.js";
import { CLASSES, KIND_THICK } from "./three-palette.js";
import { groupName } from "./three-words.js";

/** A choice from a list. */
export function choice(label, entries, value, changed) {
  const id = freshId("three");
  const select = h(
    "select",
    { id, on: { change: () => changed(Number(select.value)) } },
    entries.map(([key, text]) => h("option", { value: String(key), selected: key === value }, text)),
  );
  return h("div", { class: "field" }, h("label", { for: id }, label), select);
}

/** A slider with its value in words. */
export function slider(label, { min, max, step, value, words }, changed) {
  const id = freshId("three");
  const output = h("output", { for: id, class: "soft" }, words(value));
  const input = h("input", {
    id, type: "range", min, max, step, value, "aria-valuetext": words(value),
    on: {
      input: () => {
        const now = Number(input.value);
        output.textContent = words(now);
        input.setAttribute("aria-valuetext", words(now));
        changed(now);
      },
    },
  });
  return h("div", { class: "field" }, h("label", { for: id }, label), input, output);
}

/** The buttons for those who have no mouse, no touch and no arrow keys. */
export function eyeButtons(orbit) {
  const step = 15;
  const rows = [
    ["Turn left", "←", () => orbit.turn(-step, 0)],
    ["Turn right", "→", () => orbit.turn(step, 0)],
    ["Look from higher", "↑", () => orbit.turn(0, step)],
    ["Look from lower", "↓", () => orbit.turn(0, -step)],
    ["Nearer", "+", () => orbit.nearer(1.25)],
    ["Further away", "−", () => orbit.nearer(0.8)],
    ["As at first", "⌂", () => orbit.home()],
  ];
  return h(
    "div",
    { class: "three-eye", role: "group", "aria-label": "Turn the view" },
    rows.map(([name, sign, act]) => button(sign, act, { "aria-label": name, title: name })),
  );
}

/** Colours and thicknesses: of kinds where no load is known, else of shares used. */
export function legend(model, look, { ratio, shown, loose }) {
  const bars = model.bars.start.map((_, bar) => bar).filter(shown);
  if (ratio) {
    const counts = CLASSES.map(({ from }, k) => bars.filter((bar) => ratio[bar] >= from && !(ratio[bar] >= (CLASSES[k + 1]?.from ?? Infinity))).length);
    const rows = CLASSES.map(({ thick, words }, k) => [look.classes[k], thick, `${words} (${counts[k]})`]);
    const unknown = bars.filter((bar) => Number.isNaN(ratio[bar])).length;
    if (unknown) rows.push([look.pale, 0.6, `not in this case (${unknown})`]);
    return entries(`Each rod, in % ${model.scene.share_of}`, rows);
  }
  if (loose) {
    const moving = bars.filter(loose).length;
    return entries("Rods", [[look.classes[3], 2, `move (${moving})`], [look.pale, 0.7, `stay (${bars.length - moving})`]]);
  }
  const rows = model.scene.kinds.map((words, k) => [look.kinds[k % look.kinds.length], KIND_THICK[k % KIND_THICK.length], `${words} (${bars.filter((bar) => model.bars.kind[bar] === k).length})`]);
  return entries("Rods", rows.filter(([, , words]) => !words.endsWith("(0)")));
}

function entries(title, rows) {
  const swatch = (colour, thick) => {
    const mark = h("span", { class: "swatch", "aria-hidden": "true" });
    mark.style.background = colour;
    mark.style.height = `${(2 + 2.2 * thick).toFixed(1)}px`;
    return mark;
  };
  return h(
    "div",
    { class: "three-legend" },
    h("p", { class: "group-name" }, title),
    h("ul", { class: "plain" }, rows.map(([colour, thick, words]) => h("li", null, swatch(colour, thick), h("span", null, words)))),
  );
}

/** Which group is shown. */
export function groupChoice(model, value, changed) {
  if (model.scene.groups.length < 2) return null;
  const all = model.scene.groups.map((group, k) => [k, groupName(group)]);
  return choice("Show", [[-1, "The whole machine"], ...all], value, changed);
}

/** Step from bar to bar, and go to the most used ones. */
export function pickPart({ said, step, most }) {
  const list = h("div", { class: "three-most" });
  const part = h(
    "div",
    { class: "three-pick" },
    h("p", { class: "group-name" }, "A rod"),
    said,
    h(
      "div",
      { class: "tools", role: "group", "aria-label": "From rod to rod" },
      button("Previous rod", () => step(-1)),
      button("Next rod", () => step(1)),
    ),
    list,
  );
  return {
    part,
    list: () => {
      const { rows, title } = most();
      fill(
        list,
        rows.length
          ? h("details", null, h("summary", null, title), h("ol", null, rows.map(([name, pick]) => h("li", null, button(name, pick, { class: "link" })))))
          : null,
      );
    },
  };
}
