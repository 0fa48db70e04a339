// "32 in", "5 ft 2 in", "1/32 in", "100 lbf" in a field that takes a number in one unit.
// Arithmetic with whole-number fractions, so that 32 in is 812.8 mm and not the float next to it.

/** The text is no quantity that fits the field; the message says why and what to write. */
export class NotAQuantity extends Error {}

// Each group: the units it can be written in, as [over, under] of the group's own unit.
const LENGTH = { // mm
  mm: [1, 1], cm: [10, 1], m: [1000, 1], um: [1, 1000], "µm": [1, 1000], in: [254, 10],
  inch: [254, 10], inches: [254, 10], '"': [254, 10], "″": [254, 10], ft: [3048, 10],
  foot: [3048, 10], feet: [3048, 10], "'": [3048, 10], "′": [3048, 10], yd: [9144, 10],
  mil: [254, 10000], thou: [254, 10000],
};
const FORCE = { // N
  N: [1, 1], kN: [1000, 1], lbf: [44482216152605, 10000000000000], kgf: [980665, 100000],
};
const MASS = { // g
  g: [1, 1], kg: [1000, 1], mg: [1, 1000], t: [1000000, 1], lb: [45359237, 100000],
  lbs: [45359237, 100000], oz: [45359237, 1600000],
};
const TIME = { // s
  s: [1, 1], sec: [1, 1], ms: [1, 1000], min: [60, 1], h: [3600, 1], hr: [3600, 1], hrs: [3600, 1],
  d: [86400, 1], day: [86400, 1], days: [86400, 1],
};
const RATE = { // per minute
  "/min": [1, 1], "per min": [1, 1], rpm: [1, 1], "/s": [60, 1], "per s": [60, 1], Hz: [60, 1],
  "/h": [1, 60], "per h": [1, 60],
};
const SPEED = { // mm/s
  "mm/s": [1, 1], "m/s": [1000, 1], "cm/s": [10, 1], "m/min": [1000, 60], "km/h": [1000000, 3600],
  "in/s": [254, 10], "ft/s": [3048, 10], mph: [1609344, 3600],
};
const ANGLE = { deg: [1, 1], "°": [1, 1], degree: [1, 1], degrees: [1, 1], turn: [360, 1] };
const SHARE = { "%": [1, 1], percent: [1, 1] };
const PRESSURE = { // N/mm2
  "N/mm2": [1, 1], "N/mm²": [1, 1], MPa: [1, 1], GPa: [1000, 1], kPa: [1, 1000],
};

// The unit of a field: its group, and its own size in the group's unit.
const FIELDS = {
  mm: [LENGTH, 1, 1], m: [LENGTH, 1000, 1], N: [FORCE, 1, 1], kg: [MASS, 1000, 1], g: [MASS, 1, 1],
  s: [TIME, 1, 1], min: [TIME, 60, 1], h: [TIME, 3600, 1], d: [TIME, 86400, 1],
  "/min": [RATE, 1, 1], Hz: [RATE, 60, 1], "/h": [RATE, 1, 60], "mm/s": [SPEED, 1, 1],
  "m/s": [SPEED, 1000, 1], deg: [ANGLE, 1, 1], "%": [SHARE, 1, 1], "N/mm2": [PRESSURE, 1, 1],
};

const NUMBER = "\\d+(?:\\.\\d*)?(?:[eE][-+]?\\d{1,3})?|\\.\\d+(?:[eE][-+]?\\d{1,3})?";
const TERM = new RegExp(
  `\\s*(?:(\\d+)\\s+(\\d+)/(\\d+)|(\\d+)/(\\d+)|(${NUMBER}))\\s*(per\\s+\\w+|/\\s*\\w+|[^\\d\\s.,;+-][^\\d\\s,;]*\\d?)?\\s*`,
  "y",
);
const PLAIN = new RegExp(`^[-+]?(?:${NUMBER})$`);

/** The number that a text stands for in a field of `unit` (UCUM): {number, converted}. */
export function quantity(text, unit) {
  const written = text.trim().replace("−", "-");
  if (PLAIN.test(written)) return { number: Number(written), converted: false };
  const sign = written.startsWith("-") ? -1n : 1n;
  const [over, under] = total(written.replace(/^[-+]\s*/, ""), unit);
  const number = nearest(sign * over, under);
  if (!Number.isFinite(number)) throw new NotAQuantity("That is beyond every number that can be sent.");
  return { number, converted: true };
}

function total(body, unit) {
  let sum = [0n, 1n];
  TERM.lastIndex = 0;
  let at = 0;
  let terms = 0;
  let bare = 0;
  while (at < body.length) {
    TERM.lastIndex = at;
    const match = TERM.exec(body);
    if (!match) throw new NotAQuantity(`“${body}” is not a number with a unit; ${example(unit)}.`);
    const name = (match[7] ?? "").replaceAll(/\s+/g, " ").replace("/ ", "/");
    bare += name ? 0 : 1;
    terms += 1;
    sum = plus(sum, times(number(match), factor(name, unit, body)));
    at = TERM.lastIndex;
  }
  if (!terms || (bare && (terms > 1 || !["1", undefined, ""].includes(unit)) && !fraction(body))) {
    throw new NotAQuantity(`“${body}” has a part without a unit; ${example(unit)}.`);
  }
  return sum;
}

const fraction = (body) => /^\d+(\s+\d+)?\/\d+$|^\d+\s+\d+\/\d+$/.test(body);

function number([, whole, over, under, top, bottom, decimal]) {
  if (whole !== undefined) return plus([BigInt(whole), 1n], ratio(over, under));
  if (top !== undefined) return ratio(top, bottom);
  const [digits, power] = decimal.toLowerCase().split("e");
  const [before, after = ""] = digits.split(".");
  const ten = BigInt(power ?? 0) - BigInt(after.length);
  const value = BigInt((before || "0") + after);
  return ten >= 0n ? [value * 10n ** ten, 1n] : [value, 10n ** -ten];
}

function ratio(over, under) {
  if (BigInt(under) === 0n) throw new NotAQuantity("Nothing can be divided by zero.");
  return [BigInt(over), BigInt(under)];
}

function factor(name, unit, body) {
  if (!name) return [1n, 1n];
  const field = FIELDS[unit];
  if (!field) throw new NotAQuantity(`Write a plain number here; “${name}” is not known for this field.`);
  const [group, over, under] = field;
  if (!Object.hasOwn(group, name)) {
    throw new NotAQuantity(`“${body}”: ${name} does not fit here; ${example(unit)}.`);
  }
  const [a, b] = group[name];
  return [BigInt(a) * BigInt(under), BigInt(b) * BigInt(over)];
}

const plus = ([a, b], [c, d]) => [a * d + c * b, b * d];
const times = ([a, b], [c, d]) => [a * c, b * d];

/** The double nearest to a fraction, as exact as a division of two doubles can be. */
function nearest(over, under) {
  let [a, b] = [over < 0n ? -over : over, under];
  let [x, y] = [a, b];
  while (y) [x, y] = [y, x % y];
  a /= x || 1n;
  b /= x || 1n;
  return (over < 0n ? -1 : 1) * (Number(a) / Number(b));
}

function example(unit) {
  const examples = {
    mm: "write 812.8, or a length such as 32 in", N: "write 445, or a force such as 100 lbf",
    kg: "write 12, or a mass such as 26 lb", g: "write 11, or a mass such as 0.4 oz",
    s: "write 90, or a time such as 1.5 min", min: "write 90, or a time such as 1.5 h",
    h: "write 1.5, or a time such as 90 min", "/min": "write 60, or a rate such as 1 Hz",
  };
  return examples[unit] ?? "write a plain number";
}
