// The place for a view in three dimensions, taken where a frame and the module for it are there.

import { read } from "./api.js";
import { button, fill, h, say } from "./dom.js";
import { isObject } from "./labels.js";

const MODULE = "three-view.js";
let listed;

/** Whether the service brings the module; asked once. */
function isThere() {
  listed ??= read("/dashboard/files.json").then((found) => found.files.includes(MODULE));
  return listed;
}

/** What can be shown of a plan's answers, or of one run: undefined where there is no frame. */
export function threeData({ plan, inputs, results, own }) {
  const all = [own, ...(results ?? [])].filter(isObject);
  const frame = [inputs, ...all].find((each) => isObject(each?.frame))?.frame;
  if (!frame) return undefined;
  const withList = (name, member) =>
    all.find((each) => Array.isArray(each[name]) && (!member || each[name].some((one) => one?.[member])));
  return {
    frame,
    kit: inputs?.kit ?? plan?.kit,
    strength: withList("sections", "cases"),
    route: withList("passages"),
    worst: undefined,
    plan,
  };
}

/** A button that opens the view below itself. */
export function threeButton(data) {
  const place = h("div", { class: "three" });
  const part = h("div", { class: "three-part" });
  let shown;
  const toggle = async (event) => {
    const pressed = event.currentTarget;
    if (shown) {
      shown.destroy();
      shown = undefined;
      fill(place);
      pressed.textContent = "Show in 3D";
      return;
    }
    pressed.disabled = true;
    const { mount } = await import(`./${MODULE}`);
    shown = await mount(place, data);
    pressed.disabled = false;
    pressed.textContent = "Close the 3D view";
    say("The 3D view is open below the button.");
  };
  isThere()
    .then((there) => there && part.append(button("Show in 3D", toggle, { class: "primary" }), place))
    .catch(() => undefined);
  return part;
}
