// JSON Pointer (RFC 6901) and JSON Merge Patch (RFC 7396) on plain values.

import { isObject } from "./labels.js";

/** The pointer made of `parts`. */
export function pointer(...parts) {
  return parts.map((part) => `/${String(part).replaceAll("~", "~0").replaceAll("/", "~1")}`).join("");
}

/** The parts of a pointer. */
export function partsOf(text) {
  if (!text.startsWith("/")) return [];
  return text.slice(1).split("/").map((part) => part.replaceAll("~1", "/").replaceAll("~0", "~"));
}

/** The value at a pointer; undefined where nothing stands there. */
export function valueAt(document, text) {
  let value = document;
  for (const part of partsOf(text)) {
    if (typeof value !== "object" || value === null || !Object.hasOwn(value, part)) return undefined;
    value = value[part];
  }
  return value;
}

/** `target` with `patch` merged in; neither is changed. */
export function mergePatch(target, patch) {
  if (!isObject(patch)) return patch;
  const merged = isObject(target) ? { ...target } : {};
  for (const [key, value] of Object.entries(patch)) {
    if (value === null) delete merged[key];
    else merged[key] = mergePatch(merged[key], value);
  }
  return merged;
}

/** Whether two values of JSON are equal. */
export function equal(one, other) {
  if (one === other) return true;
  if (typeof one !== "object" || typeof other !== "object" || !one || !other) return false;
  if (Array.isArray(one) !== Array.isArray(other)) return false;
  const keys = Object.keys(one);
  return (
    keys.length === Object.keys(other).length &&
    keys.every((key) => Object.hasOwn(other, key) && equal(one[key], other[key]))
  );
}

/** What differs between two values: {place, before, after}, deepest places, at most `most`. */
export function differences(before, after, place = "", found = [], most = 200) {
  if (found.length >= most || equal(before, after)) return found;
  const both = [before, after];
  if (both.every(isObject) || both.every(Array.isArray)) {
    const keys = new Set([...Object.keys(before), ...Object.keys(after)]);
    for (const key of keys) {
      differences(before[key], after[key], place + pointer(key), found, most);
    }
  } else {
    found.push({ place, before, after });
  }
  return found;
}
