// What there is to see of a scene: each mode says where points lie, what is shown, and its controls.

import { button, h } from "./dom.js";
import { turnedBlocks } from "./three-around.js";
import { columnOf, longest, magnification, placesOf } from "./three-model.js";
import { choice, slider } from "./three-panel.js";
import { plainNumber } from "./three-words.js";

const STILL = "(prefers-reduced-motion: reduce)";
const SWING = 0.06;
const STEPS = 8;

/** The names of cases, each once, in the order they come. */
export function casesOf(scene) {
  const known = new Map(scene.states.map((state) => [state.id, state.title || state.id]));
  return [...known];
}

/** Which modes a scene has something for. */
export function modesOf(scene) {
  return Object.keys(MODES).filter((mode) => MODES[mode].there(scene));
}

/** What is seen at first: what the scene knows most of. */
export function startOf(model) {
  const { scene } = model;
  const calm = window.matchMedia(STILL).matches;
  const first = ["opening", "load", "fold"].find((mode) => MODES[mode].there(scene)) ?? "frame";
  return {
    mode: first, group: -1, apart: 0, picked: -1,
    case: Math.max(0, casesOf(scene).findIndex(([id]) => id === scene.state_first)), enlarged: 1,
    motion: 0, phase: Math.PI / 2, playing: !calm && first === "fold", calm,
    attitude: 0, passing: Math.max(0, scene.passings.findIndex((each) => !each.passes)), along: 0,
  };
}

const most = (state) => (state ? Math.max(0, ...state.ratio) : 0);

const apartSlider = (model, state, change) =>
  model.scene.groups.length > 1 && state.group < 0
    ? slider("Sections apart", { min: 0, max: 1, step: 0.02, value: state.apart, words: (value) => (value ? `${Math.round(100 * value)} %` : "together") }, (apart) => change({ apart }, true))
    : null;

const ofGroup = (model, group) => (bar) => group < 0 || model.bars.group[bar] === group;
const apartOf = (state) => (state.group < 0 ? state.apart : 0);

/** `seen` gives {places, shown, groups, ratio, force, words, ghost, bare, opening}. */
export const MODES = {
  frame: {
    title: "The frame",
    groups: true,
    there: (scene) => scene.points_mm.length > 0,
    seen: (model, state) => ({
      places: placesOf(model, { apart: apartOf(state) }),
      shown: ofGroup(model, state.group),
      sizes: apartOf(state) === 0,
      words: state.apart > 0 && state.group < 0 ? "Pulled apart where it comes apart." : "",
    }),
    controls: (model, state, change) => apartSlider(model, state, change),
  },
  load: {
    title: "Under load",
    groups: true,
    there: (scene) => scene.states.length > 0,
    seen: (model, state) => {
      const states = caseStates(model, state);
      const moves = states.map(({ groups, moved_mm: moved }) => ({ groups, moved, factor: factorOf(model, state) }));
      const mine = states.filter((each) => state.group < 0 || each.groups.includes(state.group));
      const peak = Math.max(0, ...mine.map(most));
      const far = Math.max(0, ...mine.flatMap((each) => each.moved_mm.map((row) => Math.hypot(...row))));
      const used = mine.length ? `The most used rod bears ${(100 * peak).toFixed(0)} % ${model.scene.share_of}; ` : "This section is not in this case; ";
      return {
        places: placesOf(model, { apart: apartOf(state), moves }),
        ghost: state.enlarged > 0 ? placesOf(model, { apart: apartOf(state) }) : undefined,
        shown: ofGroup(model, state.group),
        ratio: columnOf(model, states, "ratio"),
        force: columnOf(model, states, "force_n"),
        down: states[0]?.down,
        words: `${used}it moves up to ${plainNumber(far)} mm, ${timesWords(factorOf(model, state))}.`,
      };
    },
    controls: (model, state, change) => [
      choice("Case", casesOf(model.scene).map(([, title], k) => [k, title]), state.case, (value) => change({ case: value })),
      slider("Movement enlarged", { min: 0, max: 3, step: 0.05, value: state.enlarged, words: (value) => timesWords(value * magnification(model, movesOf(model, state))) }, (enlarged) => change({ enlarged }, true)),
      apartSlider(model, state, change),
    ],
  },
  fold: {
    title: "How it folds",
    there: (scene) => scene.motions.length > 0,
    seen: (model, state) => {
      const motion = model.scene.motions[state.motion];
      const factor = SWING * longest(model) * Math.sin(state.phase);
      return {
        places: placesOf(model, { moves: [{ groups: motion.groups, moved: motion.moved, factor }] }),
        ghost: placesOf(model),
        shown: () => true,
        loose: looseBars(model, motion),
        words: `${motion.title}. Nothing holds this movement; it is drawn large.`,
      };
    },
    controls: (model, state, change) => [
      choice("Which of its mechanisms", model.scene.motions.map(({ title }, k) => [k, `${k + 1}: ${title}`]), state.motion, (motion) => change({ motion })),
      h(
        "div",
        { class: "tools", role: "group", "aria-label": "Movement" },
        state.calm ? null : button(state.playing ? "Hold it still" : "Let it move", () => change({ playing: !state.playing }), { "data-name": "play" }),
        button("One step", () => change({ playing: false, phase: (state.phase + (2 * Math.PI) / STEPS) % (2 * Math.PI) }), { "data-name": "step" }),
      ),
      state.calm ? h("p", { class: "soft small" }, "Your device asks for less motion, so it moves by steps.") : null,
    ],
  },
  turned: {
    title: "Worst way to hold it",
    there: (scene) => scene.attitudes.length > 0,
    seen: (model, state) => {
      const attitude = model.scene.attitudes[state.attitude];
      const first = attitude.groups[0];
      const entries = [{ ...attitude, groups: [first] }];
      return {
        places: placesOf(model, { turned: { groups: [first], down: attitude.down } }),
        shown: ofGroup(model, first),
        ratio: columnOf(model, entries, "ratio"),
        force: columnOf(model, entries, "force_n"),
        down: [0, 0, -1],
        words: `${attitude.title}: ${attitude.words}`,
      };
    },
    controls: (model, state, change) => choice("Section", model.scene.attitudes.map(({ title }, k) => [k, title]), state.attitude, (attitude) => change({ attitude, picked: -1 })),
  },
  opening: {
    title: "Through openings",
    there: (scene) => scene.passings.length > 0,
    seen: (model, state) => {
      const passing = model.scene.passings[state.passing];
      const long = spanThrough(passing);
      const { blocks, low, high, shift } = turnedBlocks(passing, (state.along * long) / 2);
      const placed = { group: passing.group, at: passing.inside_at_mm, turn: passing.turn, shift };
      const inside = passing.group !== undefined && model.scene.points_mm.length > 0;
      return {
        places: placesOf(model, inside ? { placed } : {}),
        shown: (bar) => inside && model.bars.group[bar] === passing.group,
        opening: { passing, blocks, low, high, long },
        bare: true,
        words: `${passing.words} ${passing.passes ? "It gets through." : "It does not get through."}`,
      };
    },
    controls: (model, state, change) => passingControls(model, state, change),
  },
};

function passingControls(model, state, change) {
  const { passings } = model.scene;
  const now = passings[state.passing];
  const bodies = [...new Set(passings.map((each) => each.body))];
  const openings = [...new Set(passings.map((each) => each.opening))];
  const go = (body, opening) => {
    const exact = passings.findIndex((each) => each.body === body && each.opening === opening);
    change({ passing: exact >= 0 ? exact : passings.findIndex((each) => each.body === body) });
  };
  const mark = (opening) => {
    const found = passings.find((each) => each.body === now.body && each.opening === opening);
    return found ? (found.passes ? "" : " – sticks") : " – not this one";
  };
  return [
    choice("What is led through", bodies.map((body, k) => [k, body]), bodies.indexOf(now.body), (k) => go(bodies[k], now.opening)),
    choice("Opening", openings.map((opening, k) => [k, `${opening}${mark(opening)}`]), openings.indexOf(now.opening), (k) => go(now.body, openings[k])),
    slider("How far it is through", { min: -1.4, max: 1.4, step: 0.02, value: state.along, words: throughWords }, (along) => change({ along }, true)),
  ];
}

const throughWords = (along) => (along < -0.98 ? "before it" : along > 0.98 ? "behind it" : `${Math.round(50 * (along + 1))} % through`);

function spanThrough({ blocks_mm: blocks, turn }) {
  const ends = blocks.flat().map((point) => turn[1].reduce((sum, value, k) => sum + value * point[k], 0));
  return Math.max(...ends) - Math.min(...ends);
}

function caseStates(model, state) {
  const [id] = casesOf(model.scene)[state.case];
  return model.scene.states.filter((each) => each.id === id);
}

const movesOf = (model, state) => caseStates(model, state).map(({ moved_mm: moved }) => ({ moved }));
const factorOf = (model, state) => state.enlarged * magnification(model, movesOf(model, state));

function timesWords(factor) {
  if (factor === 0) return "not drawn";
  return Math.abs(factor - 1) < 0.005 ? "drawn as it is" : `drawn ${plainNumber(factor)} times`;
}

/** Bars of which an end moves in a mechanism. */
function looseBars(model, { groups, moved }) {
  const far = new Uint8Array(model.points.length / 3);
  for (const group of groups) {
    model.pointsOf[group].forEach((point, row) => (far[point] = moved[row].some((value) => Math.abs(value) > 0.1) ? 1 : 0));
  }
  return (bar) => Boolean(far[model.bars.start[bar]] || far[model.bars.end[bar]]);
}
