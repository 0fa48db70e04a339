// Colours for light and dark, and what bars look like. Never colour alone: classes differ in
// thickness and in how light they are.

const DARK = "(prefers-color-scheme: dark)";

const LIGHT_LOOK = {
  back: "#f6f4ef", ink: "#1b2530", soft: "#535f6b", line: "#b4b1a8", hub: "#46525e", pale: "#b9bfc5",
  accent: "#0b5a8a", stop: "#a3201d", body: "#0b5a8a",
  classes: ["#7c8a96", "#2c6fa3", "#b96a00", "#9b0f3c"],
  kinds: ["#55626e", "#2c6fa3", "#8a5c00", "#9b0f3c", "#1c6b3c", "#6b4a86"],
};
const DARK_LOOK = {
  back: "#12171c", ink: "#e9edf0", soft: "#aab5bf", line: "#3f4b56", hub: "#8c99a5", pale: "#4a5763",
  accent: "#86c5f0", stop: "#ff9d94", body: "#86c5f0",
  classes: ["#74838f", "#6cb4ee", "#ffb347", "#ff7f9f"],
  kinds: ["#9aa7b3", "#6cb4ee", "#f2c65f", "#ff7f9f", "#7fd6a0", "#c9a6ea"],
};

/** Shares of what a bar takes from which a class begins, how thick it is, and its words. */
export const CLASSES = [
  { from: 0, thick: 0.8, words: "up to 30 %" },
  { from: 0.3, thick: 1.5, words: "30 to 60 %" },
  { from: 0.6, thick: 2.4, words: "60 to 100 %" },
  { from: 1, thick: 3.8, words: "100 % and more" },
];
/** Thickness of each kind of bar where nothing is known of its load. */
export const KIND_THICK = [1, 1, 1.25, 2.3, 2.3, 1];

/** The class of a share; -1 where nothing is known. */
export function classOf(ratio) {
  if (Number.isNaN(ratio)) return -1;
  let found = 0;
  CLASSES.forEach(({ from }, k) => (found = ratio >= from ? k : found));
  return found;
}

/** The look now; `changed` is called when the device goes from light to dark or back. */
export function lookNow() {
  return window.matchMedia(DARK).matches ? DARK_LOOK : LIGHT_LOOK;
}

export function onLookChange(changed, signal) {
  window.matchMedia(DARK).addEventListener("change", changed, { signal });
}
