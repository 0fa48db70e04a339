// The picture: a canvas, light, words that stay beside places, drawn when something has changed.

import * as THREE from "./vendor/three.module.min.js";
import { h } from "./dom.js";
import { Orbit } from "./three-orbit.js";

const SHARPEST = 2;

/** What WebGL this device has for a canvas; undefined where it has none. */
export function contextOf(canvas) {
  try {
    return canvas.getContext("webgl2", { antialias: true, alpha: false }) ?? undefined;
  } catch {
    return undefined;
  }
}

/** Draws one scene. `lost` is called where the device takes its WebGL away, `gone` where the page
 * has put something else in its place. */
export class Stage {
  constructor(element, canvas, context, { lost, gone }) {
    this.element = element;
    this.renderer = new THREE.WebGLRenderer({ canvas, context, antialias: true });
    this.scene = new THREE.Scene();
    this.camera = new THREE.PerspectiveCamera(32, 1, 1, 1000);
    this.camera.up.set(0, 0, 1);
    this.lamp = new THREE.DirectionalLight(0xffffff, 1.9);
    this.scene.add(new THREE.HemisphereLight(0xffffff, 0x888888, 1.7), this.lamp, this.lamp.target);
    this.words = h("div", { class: "three-words", "aria-hidden": "true" });
    this.scale = h("span");
    this.where = h("span", { role: "status" });
    element.append(this.words, h("p", { class: "three-scale" }, this.scale, " ", this.where));
    this.labels = [];
    this.waiting = 0;
    this.frames = 0;
    this.orbit = new Orbit(this.camera, element, () => this.ask());
    this.sized = new ResizeObserver(() => (element.isConnected ? this.resize() : gone()));
    this.sized.observe(element);
    this.leave = new AbortController();
    canvas.addEventListener("webglcontextlost", (event) => {
      event.preventDefault();
      lost();
    }, { signal: this.leave.signal });
    this.resize();
  }

  /** Draw soon; many changes are drawn once. */
  ask() {
    if (!this.waiting && !this.ended) this.waiting = window.requestAnimationFrame(() => this.draw());
  }

  draw() {
    this.waiting = 0;
    if (this.ended) return;
    this.beforeDraw?.();
    this.lamp.position.copy(this.camera.position);
    this.lamp.target.position.copy(this.orbit.target);
    this.renderer.render(this.scene, this.camera);
    this.placeLabels();
    this.frames += 1;
    if (this.where.textContent !== this.orbit.words) this.where.textContent = this.orbit.words;
  }

  resize() {
    const { clientWidth, clientHeight } = this.element;
    if (!clientWidth || !clientHeight) return;
    this.renderer.setPixelRatio(Math.min(window.devicePixelRatio || 1, SHARPEST));
    this.renderer.setSize(clientWidth, clientHeight, false);
    this.camera.aspect = clientWidth / clientHeight;
    if (this.sizedBefore) this.orbit.place();
    else this.orbit.home();
    this.sizedBefore = true;
  }

  background(colour) {
    this.scene.background = new THREE.Color(colour);
    this.ask();
  }

  /** Words beside places: [{at, text, strong}]. */
  label(entries) {
    this.labels = entries.map(({ at, text, strong }) => ({
      at: new THREE.Vector3(...at),
      element: h("span", { class: strong ? "strong" : null }, text),
    }));
    this.words.replaceChildren(...this.labels.map(({ element }) => element));
    this.ask();
  }

  placeLabels() {
    const { clientWidth, clientHeight } = this.element;
    for (const { at, element } of this.labels) {
      const place = at.clone().project(this.camera);
      const [x, y] = [((place.x + 1) / 2) * clientWidth, ((1 - place.y) / 2) * clientHeight];
      element.hidden = place.z > 1 || x < 0 || y < 0 || x > clientWidth || y > clientHeight;
      element.style.transform = `translate(${x.toFixed(1)}px, ${y.toFixed(1)}px) translate(-50%, -50%)`;
    }
  }

  /** Where a place of the scene is on the canvas, in pixels, and how far away. */
  onScreen(x, y, z) {
    const place = new THREE.Vector3(x, y, z).project(this.camera);
    const { clientWidth, clientHeight } = this.element;
    return [((place.x + 1) / 2) * clientWidth, ((1 - place.y) / 2) * clientHeight, place.z];
  }

  destroy() {
    this.ended = true;
    window.cancelAnimationFrame(this.waiting);
    this.leave.abort();
    this.sized.disconnect();
    this.orbit.destroy();
    this.lamp.dispose();
    this.renderer.dispose();
    this.renderer.forceContextLoss();
  }
}
