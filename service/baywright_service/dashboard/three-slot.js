// The place for a view in three dimensions; what it needs is fetched when somebody opens it.

import { button, fill, h, say } from "./dom.js";
import { problemView } from "./verdict.js";

/** A button that opens the view below itself.
 *
 * `load(signal)` gives the response with the scene, `still` a picture for devices without WebGL.
 */
export function threeButton({ load, still, signal }) {
  const place = h("div", { class: "three" });
  let shown;
  const opened = async () => {
    const [{ mount }, response] = await Promise.all([import("./three-view.js"), load(signal)]);
    shown = await mount(place, { scene: await response.json(), still });
  };
  const closed = () => {
    shown?.destroy();
    shown = undefined;
    fill(place);
  };
  const toggle = async () => {
    if (shown) {
      closed();
      pressed.textContent = "Show in 3D";
      return;
    }
    pressed.disabled = true;
    fill(place, h("p", { class: "soft", role: "status" }, "The view is made …"));
    try {
      await opened();
      pressed.textContent = "Close the 3D view";
      say("The 3D view is open below the button.");
    } catch (error) {
      if (error.name !== "AbortError") fill(place, problemView(error, "h4"));
    }
    pressed.disabled = false;
  };
  const pressed = button("Show in 3D", toggle, { class: "primary" });
  signal?.addEventListener("abort", closed);
  return h("div", { class: "three-part" }, pressed, place);
}
