// Reading JSON Schema (2020-12) for a form: what may stand at one place, in few kinds.

import { isObject } from "./labels.js";

/** The shapes a value may have: references followed, choices opened, null left out. */
export function alternatives(shape, root, outer = {}, depth = 0) {
  if (depth > 30) return [];
  const own = { ...shape, ...pick(outer) };
  if (shape.$ref) {
    const name = shape.$ref.replace("#/$defs/", "");
    const target = root.$defs?.[name] ?? {};
    return alternatives({ ...target, ...without(shape, "$ref") }, root, outer, depth + 1);
  }
  if (shape.allOf) {
    const merged = Object.assign({}, ...shape.allOf.map((each) => alternatives(each, root, {}, depth + 1)[0]));
    return alternatives({ ...merged, ...without(own, "allOf") }, root, {}, depth + 1);
  }
  const choices = [...(shape.anyOf ?? []), ...(shape.oneOf ?? [])].filter((each) => each.type !== "null");
  if (choices.length === 1) return alternatives(choices[0], root, pick(own), depth + 1);
  if (choices.length > 1) {
    return choices.flatMap((each) => alternatives(each, root, {}, depth + 1));
  }
  return typeOf(own) === "null" ? [] : [own];
}

const pick = ({ title, description, default: usual }) =>
  Object.fromEntries(
    Object.entries({ title, description, default: usual }).filter(([, value]) => value !== undefined),
  );

function without(object, key) {
  return Object.fromEntries(Object.entries(object).filter(([name]) => name !== key));
}

/** The one JSON type of a shape, null left out; "" where it leaves that open. */
export function typeOf(shape) {
  const types = [shape.type ?? []].flat().filter((each) => each !== "null");
  if (types.length) return types[0];
  if ([shape.type].flat().includes("null")) return "null";
  if (shape.properties) return "object";
  if (shape.enum) return typeof shape.enum.find((each) => each !== null);
  return "";
}

/** The kind of editor a shape asks for. */
export function kindOf(shape, root) {
  if (shape.enum) return "choice";
  switch (typeOf(shape)) {
    case "number":
    case "integer":
      return "number";
    case "boolean":
      return "flag";
    case "string":
      return "text";
    case "array":
      return arrayKind(shape, root);
    case "object":
      if (shape.properties) return isReference(shape) ? "document" : "object";
      return isObject(shape.additionalProperties) ? "map" : "json";
    default:
      return "json";
  }
}

function arrayKind(shape, root) {
  const items = alternatives(shape.items ?? {}, root);
  if (items.length !== 1) return "list";
  const kind = kindOf(items[0], root);
  if (kind === "number") return "numbers";
  if (kind === "rows-of" || (kind === "numbers" && items[0].minItems === items[0].maxItems)) return "rows";
  return kind === "text" ? "texts" : "list";
}

function isReference(shape) {
  return /^Stored \w+$/.test(shape.title ?? "") && "id" in shape.properties && "revision" in shape.properties;
}

/** The kind of document that a reference shape means: "kit". */
export function documentKind(shape) {
  return shape.title.replace("Stored ", "");
}

/** Whether a value may be meant for a shape; enough to tell choices apart. */
export function fits(shape, value) {
  const type = typeOf(shape);
  if (Array.isArray(value)) return type === "array" || type === "";
  if (isObject(value)) {
    if (type !== "object" && type !== "") return false;
    const known = shape.properties;
    if (!known) return true;
    const keys = Object.keys(value);
    const missing = (shape.required ?? []).some((key) => !keys.includes(key));
    return !missing && (shape.additionalProperties !== false || keys.every((key) => key in known));
  }
  if (shape.enum) return shape.enum.includes(value);
  const is = typeof value;
  return type === "" || (type === "integer" ? is === "number" : type === is);
}

/** What a number may be, in words: "1 to 2000". */
export function boundsText(shape) {
  const { minimum: low, exclusiveMinimum: above, maximum: high } = shape;
  if (low !== undefined && high !== undefined) return `${low} to ${high}`;
  if (above !== undefined && high !== undefined) return `above ${above}, up to ${high}`;
  if (low !== undefined) return `${low} or more`;
  if (above !== undefined) return `above ${above}`;
  return high === undefined ? "" : `up to ${high}`;
}
