// A frame in three dimensions: turned by mouse, touch and keys, pulled apart, loaded, folding, laid
// the worst way, led through openings. Loaded only when somebody opens it.

import { button, fill, freshId, h } from "./dom.js";
import { MODES, modesOf, startOf } from "./three-modes.js";
import { modelOf } from "./three-model.js";
import { eyeButtons, groupChoice, legend, pickPart } from "./three-panel.js";
import { lookNow, onLookChange } from "./three-palette.js";
import { pictureOf } from "./three-picture.js";
import { Stage, contextOf } from "./three-stage.js";
import { barName, barWords, sceneWords } from "./three-words.js";

const STYLE = "/dashboard/three-view.css";
const MOST_LISTED = 10;
const KEYS =
  "Drag, or use the arrow keys, to turn it; two fingers, the wheel, + and − bring it nearer; Home shows it as at first. Tap a rod to hear what it is.";

/** Show a scene in `element`; `still` gives a picture for devices without WebGL.
 *
 * Gives {destroy}, which frees what the device holds for it.
 */
export async function mount(element, { scene, still }) {
  await styled();
  if (!scene.points_mm.length && !scene.passings.length) {
    fill(element, h("p", { role: "status" }, scene.words));
    return { destroy: () => fill(element) };
  }
  const canvas = h("canvas", { "aria-hidden": "true" });
  const context = contextOf(canvas);
  const view = context ? new View(element, scene, canvas, context, still) : new Still(element, scene, still);
  return { destroy: () => view.destroy() };
}

async function styled() {
  if (document.querySelector(`link[href="${STYLE}"]`)) return;
  const link = h("link", { rel: "stylesheet", href: STYLE });
  const loaded = new Promise((done) => {
    link.addEventListener("load", done);
    link.addEventListener("error", done);
  });
  document.head.append(link);
  await loaded;
}

/** The drawing in place of the view, and why. */
class Still {
  constructor(element, scene, still, why = "This device or browser has no WebGL, which a view in three dimensions needs.") {
    this.element = element;
    fill(
      element,
      h(
        "div",
        { class: "three-view" },
        h("p", { role: "status" }, `${why} Here is a still picture instead.`),
        h("p", null, sceneWords(scene)),
        still?.() ?? null,
      ),
    );
  }

  destroy() {
    fill(this.element);
  }
}

class View {
  constructor(element, scene, canvas, context, still) {
    Object.assign(this, { element, scene, still });
    this.model = modelOf(scene);
    this.state = startOf(this.model);
    this.look = lookNow();
    this.leave = new AbortController();
    this.build(canvas, context);
    onLookChange(() => {
      this.look = lookNow();
      this.change({});
    }, this.leave.signal);
    this.show();
  }

  build(canvas, context) {
    const keys = freshId("three-keys");
    this.place = h(
      "div",
      { class: "three-stage", tabindex: "0", role: "application", "aria-roledescription": "view in three dimensions", "aria-label": this.scene.title, "aria-describedby": keys },
      canvas,
    );
    this.said = h("p", { class: "three-said", role: "status" });
    this.now = h("p", { class: "three-now", role: "status" });
    this.controls = h("div", { class: "three-controls" });
    this.key = h("div");
    this.pick = pickPart({ said: this.said, step: (by) => this.step(by), most: () => this.mostUsed() });
    const modes = modesOf(this.scene);
    this.modes = modes.map((mode) => [mode, button(MODES[mode].title, () => this.change({ mode, picked: -1 }), { "aria-pressed": "false" })]);
    const kept = this.scene.left_out.length ? h("p", { class: "soft small" }, this.scene.left_out.join(" ")) : null;
    fill(
      this.element,
      h(
        "section",
        { class: "three-view", "aria-label": `In 3D: ${this.scene.title}` },
        h("p", null, sceneWords(this.scene)),
        modes.length > 1 ? h("div", { class: "choices", role: "group", "aria-label": "What to see" }, this.modes.map(([, each]) => each)) : null,
        h("div", { class: "three-body" }, h("div", { class: "three-left" }, this.place, this.now), h("div", { class: "three-side" }, this.controls, this.key, this.pick.part)),
        kept,
        h("p", { id: keys, class: "soft small" }, KEYS),
      ),
    );
    this.stage = new Stage(this.place, canvas, context, { lost: () => this.lost(), gone: () => this.destroy() });
    this.place.after(eyeButtons(this.stage.orbit));
    this.picture = pictureOf(this.stage, this.model);
    this.watchTaps();
  }

  /** A tap that is no drag chooses the rod under it. */
  watchTaps() {
    const { signal } = this.leave;
    let from;
    this.place.addEventListener("pointerdown", (event) => (from = [event.clientX, event.clientY]), { signal });
    this.place.addEventListener("pointerup", (event) => {
      if (!from || Math.hypot(event.clientX - from[0], event.clientY - from[1]) > 6) return;
      const edge = this.place.getBoundingClientRect();
      this.choose(this.picture.barAt(event.clientX - edge.left, event.clientY - edge.top));
    }, { signal });
  }

  /** Take on what is different, and show it. `light`: only numbers of the same picture. */
  change(patch, light = false) {
    Object.assign(this.state, patch);
    this.show(light);
  }

  show(light = false) {
    const { state, model, look } = this;
    const mode = MODES[state.mode];
    this.seen = mode.seen(model, state);
    this.picture.show(this.seen, state, look);
    if (!this.state.playing) this.now.textContent = this.seen.words;
    if (light) return;
    this.modes.forEach(([name, each]) => each.setAttribute("aria-pressed", String(name === state.mode)));
    const focused = document.activeElement?.closest?.(".three-controls") ? document.activeElement.dataset.name : undefined;
    fill(
      this.controls,
      mode.groups ? groupChoice(model, state.group, (group) => this.change({ group, picked: -1 })) : null,
      mode.controls(model, state, (patch, small) => this.change(patch, small)),
    );
    if (focused) this.controls.querySelector(`[data-name="${focused}"]`)?.focus();
    fill(this.key, this.seen.bare ? null : legend(model, look, this.seen));
    this.pick.part.hidden = Boolean(this.seen.bare);
    this.pick.list();
    this.now.textContent = this.seen.words;
    this.tell();
    this.play();
  }

  /** Mechanisms swing to and fro while they are played. */
  play() {
    window.cancelAnimationFrame(this.beat);
    if (!this.state.playing || this.state.mode !== "fold") return;
    const started = performance.now() - (this.state.phase / (2 * Math.PI)) * 3000;
    const turn = (now) => {
      this.change({ phase: (((now - started) / 3000) * 2 * Math.PI) % (2 * Math.PI) }, true);
      this.beat = window.requestAnimationFrame(turn);
    };
    this.beat = window.requestAnimationFrame(turn);
  }

  choose(bar) {
    this.change({ picked: bar }, true);
    this.tell();
  }

  tell() {
    const { picked } = this.state;
    this.said.textContent = picked < 0 ? "None is chosen." : barWords(this.model, picked, this.seen);
  }

  /** Visible rods: the most used first where loads are known. */
  ordered() {
    const { ratio, shown } = this.seen;
    const bars = this.model.bars.start.map((_, bar) => bar).filter(shown);
    if (!ratio) return bars;
    const share = (bar) => (Number.isNaN(ratio[bar]) ? -1 : ratio[bar]);
    return bars.sort((a, b) => share(b) - share(a) || a - b);
  }

  step(by) {
    const bars = this.ordered();
    if (!bars.length) return;
    const at = bars.indexOf(this.state.picked);
    this.choose(bars[at < 0 ? (by > 0 ? 0 : bars.length - 1) : (at + by + bars.length) % bars.length]);
  }

  mostUsed() {
    const { ratio } = this.seen;
    if (!ratio) return { rows: [] };
    const rows = this.ordered().slice(0, MOST_LISTED).map((bar) => [barName(this.model, bar, ratio), () => this.choose(bar)]);
    return { rows, title: `The ${rows.length} most used rods` };
  }

  lost() {
    this.free();
    new Still(this.element, this.scene, this.still, "The device took WebGL away from this view; close it and open it again.");
  }

  free() {
    if (this.freed) return;
    this.freed = true;
    window.cancelAnimationFrame(this.beat);
    this.leave.abort();
    this.picture.destroy();
    this.stage.destroy();
  }

  destroy() {
    this.free();
    fill(this.element);
  }
}
