// Which editor a place gets, and those of things with parts: objects, choices, references.

import { button, fill, freshId, h, say } from "./dom.js";
import {
  choiceEditor, documentEditor, flagEditor, groupBox, jsonEditor, numberEditor, numbersEditor, rowsEditor,
  textEditor, textsEditor, titleOf,
} from "./fields.js";
import { capital, isObject, nameAndUnit } from "./labels.js";
import { listEditor, mapEditor } from "./lists.js";
import { pointer } from "./pointers.js";
import { alternatives, documentKind, fits, kindOf } from "./schema.js";

/** A longer list of things is edited as text. */
export const MOST_ITEMS = 60;
const SIMPLE = {
  number: numberEditor, choice: choiceEditor, flag: flagEditor, text: textEditor,
  numbers: numbersEditor, rows: rowsEditor, texts: textsEditor, json: jsonEditor,
};

/** The editor for what may stand at one place. `context` has `root` (the schema) and `documents`. */
export function editorFor(schema, name, required, context, value) {
  if (isObject(value) && typeof value.$ref === "string") {
    return referenceEditor(schema, name, required, context, value);
  }
  const shapes = alternatives(schema, context.root);
  const made = shapes.length > 1
    ? choiceOfShapes(schema, shapes, name, required, context, value)
    : oneShape(shapes[0] ?? schema, name, required, context, value);
  return made;
}

function oneShape(shape, name, required, context, value) {
  const kind = kindOf(shape, context.root);
  let made;
  if (kind === "object") made = objectEditor(shape, name, context);
  else if (kind === "map") made = mapEditor(shape, name, context);
  else if (kind === "document") {
    made = documentEditor(shape, name, required, documentKind(shape), context.documents);
  } else if (kind === "list") {
    const long = Array.isArray(value) && value.length > MOST_ITEMS;
    made = long ? jsonEditor(shape, name, required) : listEditor(shape, name, context);
  } else made = SIMPLE[kind](shape, name, required);
  if (value !== undefined) made.write(value);
  return made;
}

const isSimple = (schema, context) => {
  const shapes = alternatives(schema, context.root);
  return shapes.length === 1 && kindOf(shapes[0], context.root) in SIMPLE;
};

/** An object: what it must have first, then what it may have. */
export function objectEditor(shape, name, context, { top = false } = {}) {
  const { box, body, element } = groupBox(top ? "Inputs" : titleOf(shape, name), top ? "" : shape.description);
  const required = new Set(shape.required ?? []);
  let members = [];

  function build(value = {}) {
    members = [];
    const must = [];
    const may = [];
    for (const [key, inner] of Object.entries(shape.properties)) {
      const given = value[key] ?? undefined;
      const member = member_(key, inner, given);
      members.push(member);
      (required.has(key) || given !== undefined ? must : may).push(member);
    }
    const more = h("details", { class: "more" }, h("summary", null, `More that may be said (${may.length})`), may.map((each) => each.element));
    fill(body, must.map((each) => each.element), may.length ? more : null);
    if (!must.length && may.length) more.open = true;
  }

  function member_(key, inner, given) {
    const needed = required.has(key);
    if (needed || given !== undefined || isSimple(inner, context)) {
      const made = editorFor(inner, key, needed, context, given);
      const removable = !needed && !isSimple(inner, context);
      return removable ? optional(key, inner, context, made) : { key, element: made.element, editor: () => made };
    }
    return optional(key, inner, context);
  }

  build();
  return {
    ...box,
    element,
    write: build,
    read(at, reading) {
      reading.places.set(at, box);
      box.fault("");
      const value = {};
      for (const { key, editor } of members) {
        const read = editor()?.read(at + pointer(key), reading);
        if (read !== undefined) value[key] = read;
      }
      return value;
    },
  };
}

/** A larger thing that may be left out: a button adds it, another takes it away. */
function optional(key, schema, context, present) {
  const shape = alternatives(schema, context.root)[0] ?? schema;
  const title = schema.title || titleOf(shape, key);
  const element = h("div", { class: "optional" });
  let editor = present;
  const show = () => {
    if (editor) {
      fill(element, editor.element, button(`Leave out: ${title}`, () => set(undefined), { class: "quiet" }));
    } else {
      fill(
        element,
        button(`Add: ${title}`, () => set(editorFor(schema, key, true, context)), { class: "quiet" }),
        schema.description ? h("p", { class: "hint" }, schema.description) : null,
      );
    }
  };
  const set = (made) => {
    editor = made;
    show();
    element.querySelector("input, select, textarea, button")?.focus();
    say(made ? `${title} is added.` : `${title} is left out.`);
  };
  show();
  return { key, element, editor: () => editor };
}

/** One of several shapes: the shape is chosen first. */
function choiceOfShapes(schema, shapes, name, required, context, value) {
  const { box, body, element } = groupBox(schema.title || titleOf({}, name), schema.description);
  const id = freshId("shape");
  const select = h("select", { id }, shapes.map((shape, k) => h("option", { value: String(k) }, shapeName(shape, shapes, context))));
  const inside = h("div");
  let editor;
  const show = (given) => {
    editor = oneShape({ ...shapes[Number(select.value)], ...titled(shapes, select.value) }, name, required, context, given);
    fill(inside, editor.element);
  };
  const write = (given) => {
    const at = shapes.findIndex((shape) => fits(shape, given));
    select.value = String(Math.max(at, 0));
    show(given);
  };
  select.addEventListener("change", () => show(undefined));
  fill(body, h("div", { class: "field" }, h("label", { for: id }, "How it is given"), select), inside);
  write(value);
  return {
    ...box,
    element,
    write,
    read(at, reading) {
      const read = editor.read(at, reading);
      box.fault("");
      return read;
    },
  };
}

const titled = (shapes, at) => (shapes[Number(at)].title ? {} : { title: "Given here" });

function shapeName(shape, shapes, context) {
  if (shape.title) return shape.title;
  const others = shapes.filter((each) => each !== shape).flatMap((each) => Object.keys(each.properties ?? {}));
  const own = Object.keys(shape.properties ?? {}).filter((key) => !others.includes(key));
  const key = (shape.required ?? []).find((each) => own.includes(each)) ?? own[0];
  if (key) return `by its ${nameAndUnit(key)[0]}`;
  return { number: "one number", numbers: "several numbers", text: "one word", texts: "several words", list: "a list" }[kindOf(shape, context.root)] ?? capital(kindOf(shape, context.root));
}

/** A value that comes from another step: shown, and kept until something is put in its place. */
function referenceEditor(schema, name, required, context, value) {
  const { box, body, element } = groupBox(schema.title || titleOf({}, name));
  const words = decodeURIComponent(value.$ref).replace("#/steps/", "").split("/").filter((part) => part !== "result");
  let editor;
  const show = () => {
    if (editor) fill(body, editor.element);
    else {
      fill(
        body,
        h("p", null, "Taken from step ", h("b", null, words[0]), words.length > 1 ? `: ${words.slice(1).join(", ").replaceAll("_", " ")}` : "", "."),
        button("Put something else in its place", () => {
          editor = editorFor(schema, name, required, context);
          show();
        }, { class: "quiet" }),
      );
    }
  };
  show();
  return {
    ...box,
    element,
    write: () => undefined,
    read(at, reading) {
      if (editor) return editor.read(at, reading);
      reading.places.set(at, box);
      box.fault("");
      return value;
    },
  };
}
