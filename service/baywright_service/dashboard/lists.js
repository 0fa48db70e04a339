// Editors of many things: lists and maps, each entry with a button that takes it away.

import { button, fill, freshId, h, say } from "./dom.js";
import { groupBox, titleOf } from "./fields.js";
import { MOST_ITEMS, editorFor } from "./groups.js";
import { isObject, nameAndUnit } from "./labels.js";
import { pointer } from "./pointers.js";

const MOST_OPEN = 1;

/** A list of things, each folded under what it is called, with buttons to add and to remove. */
export function listEditor(shape, name, context) {
  const title = titleOf(shape, name);
  const { box, body, element } = groupBox(title, shape.description);
  const least = shape.minItems ?? 0;
  const most = shape.maxItems ?? Infinity;
  const rows = h("ol", { class: "items" });
  const add = button(`Add to: ${title}`, () => append(undefined, true), { class: "quiet" });
  let items = [];
  fill(body, rows, add);

  function append(value, open) {
    const item = listEntry(editorFor(shape.items ?? {}, title, true, context, value), open, () => {
      items = items.filter((each) => each !== item);
      item.row.remove();
      renew();
      say("Removed.");
      add.focus();
    });
    items.push(item);
    rows.append(item.row);
    renew();
    if (open && value === undefined) item.row.querySelector("input, select, textarea")?.focus();
  }

  function renew() {
    items.forEach((item, k) => item.rename(k + 1, title, items.length > least));
    add.hidden = items.length >= most;
  }

  function write(value) {
    items = [];
    fill(rows);
    const given = value ?? [];
    given.forEach((each) => append(each, given.length <= MOST_OPEN));
    while (items.length < Math.min(least, MOST_ITEMS)) append(undefined, false);
    renew();
  }

  write([]);
  return {
    ...box,
    element,
    write,
    read(at, reading) {
      reading.places.set(at, box);
      box.fault("");
      return items.map(({ editor }, k) => editor.read(`${at}/${k}`, reading) ?? null);
    },
  };
}

function listEntry(editor, open, takeAway) {
  const words = h("span");
  const remove = button("Remove", takeAway, { class: "quiet" });
  editor.element.classList.add("one-entry");
  const part = h("details", { open }, h("summary", null, words), editor.element, remove);
  let number = 0;
  const name = () => (words.textContent = [`${number}.`, entryName(editor)].filter(Boolean).join(" "));
  part.addEventListener("change", name);
  return {
    editor,
    row: h("li", null, part),
    rename(now, title, removable) {
      number = now;
      name();
      remove.setAttribute("aria-label", `Remove entry ${now} of ${title}`);
      remove.hidden = !removable;
    },
  };
}

/** What an entry calls itself: its first texts, or its first number. */
function entryName(editor) {
  const value = editor.read("", { places: new Map(), faults: [] });
  if (!isObject(value)) return typeof value === "object" ? "" : String(value ?? "");
  const texts = Object.values(value).filter((each) => typeof each === "string" && each);
  const number = Object.entries(value).find(([, each]) => typeof each === "number");
  if (texts.length) return texts.slice(0, 2).join(", ").slice(0, 60);
  return number ? `${nameAndUnit(number[0])[0]} ${number[1]}` : "";
}

/** Entries by a name that the user gives. */
export function mapEditor(shape, name, context) {
  const title = titleOf(shape, name);
  const { box, body, element } = groupBox(title, shape.description);
  const rows = h("div", { class: "items" });
  let entries = [];
  fill(body, rows, button(`Add to: ${title}`, () => append("", undefined, true), { class: "quiet" }));

  function append(key, value, focus) {
    const id = freshId("key");
    const input = h("input", { id, type: "text", value: key, autocomplete: "off" });
    const editor = editorFor(shape.additionalProperties, "value", true, context, value);
    const entry = { input, editor };
    const remove = button("Remove", () => {
      entries = entries.filter((each) => each !== entry);
      row.remove();
    }, { class: "quiet", "aria-label": `Remove an entry of ${title}` });
    const row = h(
      "div",
      { class: "map-entry" },
      h("div", { class: "field" }, h("label", { for: id }, "Name"), input),
      editor.element,
      remove,
    );
    entries.push(entry);
    rows.append(row);
    if (focus) input.focus();
  }

  return {
    ...box,
    element,
    write(value) {
      entries = [];
      fill(rows);
      for (const [key, inner] of Object.entries(value ?? {})) append(key, inner, false);
    },
    read(at, reading) {
      reading.places.set(at, box);
      box.fault("");
      const value = {};
      for (const { input, editor } of entries) {
        const read = editor.read(at + pointer(input.value), reading);
        if (input.value !== "" && read !== undefined) value[input.value] = read;
      }
      return value;
    },
  };
}
