// Names, numbers and units as people read them.

const SUFFIXES = [
  ["_n_mm_per_rad", "N mm/rad"], ["_kg_per_m3", "kg/m³"], ["_n_per_mm2", "N/mm²"],
  ["_mm_per_s", "mm/s"], ["_mm_s", "mm/s"], ["_m_s2", "m/s²"], ["_m_s", "m/s"],
  ["_n_per_mm", "N/mm"], ["_per_min", "per min"], ["_per_h", "per h"], ["_m_per_s", "m/s"],
  ["_mm2", "mm²"], ["_m2", "m²"], ["_nm", "N m"], ["_n_m", "N m"], ["_deg", "°"],
  ["_min", "min"], ["_percent", "%"], ["_hz", "Hz"], ["_mm", "mm"], ["_kg", "kg"], ["_g", "g"],
  ["_n", "N"], ["_j", "J"], ["_s", "s"], ["_h", "h"], ["_w", "W"], ["_m", "m"], ["_count", ""],
];
const PRINTED = {
  "1": "", "/min": "per min", "/h": "per h", deg: "°", "N/mm2": "N/mm²", "m/s2": "m/s²",
  mm2: "mm²", mm4: "mm⁴", "N.mm/rad": "N mm/rad", "N.m": "N m", "kg/m3": "kg/m³", "N.mm2": "N mm²",
};

export const LEVELS = ["ok", "watch", "stop"];
export const SHAPES = { ok: "✔", watch: "!", stop: "✖" };
export const HEADINGS = {
  stop: "Change before you build",
  watch: "Keep an eye on",
  ok: "Good to know",
};

/** A UCUM code as it is printed beside a number. */
export function printedUnit(code) {
  return PRINTED[code] ?? String(code ?? "").replaceAll(".", " ");
}

/** A field's name in words, and the unit that its suffix names. */
export function nameAndUnit(field) {
  for (const [suffix, unit] of SUFFIXES) {
    if (field.endsWith(suffix) && field.length > suffix.length) {
      const stem = field.slice(0, -suffix.length);
      const kept = suffix === "_count" && !stem.endsWith("s") ? field : stem;
      return [kept.replaceAll("_", " "), unit];
    }
  }
  return [field.replaceAll(/[_-]/g, " "), ""];
}

/** With a capital at its start. */
export function capital(words) {
  return words ? words[0].toUpperCase() + words.slice(1) : words;
}

/** A number short enough to read: whole digits kept, the rest to four places that count. */
export function numberText(value, digits = 4) {
  if (typeof value === "boolean") return value ? "yes" : "no";
  if (Number.isInteger(value) && Math.abs(value) < 1e15) return String(value);
  if (!Number.isFinite(value)) return String(value);
  const size = Math.abs(value);
  if (size < 1e-4 || size >= 1e9) return value.toPrecision(digits);
  const whole = size >= 1 ? String(Math.trunc(size)).length : 0;
  const small = digits - 1 - Math.floor(Math.log10(size));
  const places = whole ? Math.max(1, digits - whole) : Math.max(digits, small);
  return value.toFixed(Math.min(places, 20)).replace(/\.?0+$/, "");
}

/** A number beside its unit. */
export function withUnit(text, unit) {
  return unit ? `${text}${["°", "%"].includes(unit) ? "" : " "}${unit}` : text;
}

/** A finding's number beside its limit: "754 mm, limit 729 mm". */
export function measureText(measure) {
  if (!measure || typeof measure.value !== "number") return "";
  const unit = printedUnit(measure.unit ?? "1");
  const value = withUnit(numberText(measure.value), unit);
  if (typeof measure.limit !== "number") return unit ? value : "";
  return `${value}, limit ${withUnit(numberText(measure.limit), unit)}`;
}

/** The single values of a result as {group, name, text}; lists are left to tables. */
export function facts(result, depth = 2, group = "", groupUnit = "") {
  const rows = [];
  const inner = [];
  if (!isObject(result)) return rows;
  for (const [key, value] of Object.entries(result)) {
    const [name, own] = nameAndUnit(key);
    if (isObject(value)) {
      if (depth > 1) inner.push(...facts(value, depth - 1, name, own));
      continue;
    }
    const words = valueText(value);
    if (words === "") continue;
    const unit = typeof value === "number" ? own || groupUnit : own;
    rows.push({ group, name: capital(name), text: withUnit(words, unit) });
  }
  return [...rows, ...inner];
}

function valueText(value) {
  if (typeof value === "boolean" || typeof value === "number") return numberText(value);
  if (typeof value === "string") return value.length <= 200 ? value : `${value.slice(0, 199)}…`;
  if (Array.isArray(value) && value.length > 0 && value.length <= 6) {
    const parts = value.filter((each) => !isObject(each) && !Array.isArray(each)).map(valueText);
    return parts.length === value.length ? parts.join(", ") : "";
  }
  return "";
}

/** Whether a value is an object of JSON. */
export function isObject(value) {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

/** "3 findings", "1 finding". */
export function counted(count, one, many = `${one}s`) {
  return `${count} ${count === 1 ? one : many}`;
}

/** An instant as people of this device write it. */
export function instantText(instant) {
  const time = new Date(instant);
  if (Number.isNaN(time.getTime())) return "";
  return time.toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
}
