// Editors of single values: number with unit, choice, yes or no, text, many numbers, JSON.
//
// Every editor has `element`, `write(value)`, and `read(at, context)`, which gives the value or
// undefined for nothing, notes the editor under its JSON Pointer, and adds what cannot be read to
// the context's faults.

import { fill, freshId, h } from "./dom.js";
import { capital, nameAndUnit, printedUnit, withUnit } from "./labels.js";
import { boundsText, typeOf } from "./schema.js";
import { quantity } from "./units.js";

/** What a field is called. */
export function titleOf(shape, name) {
  return shape.title || capital(nameAndUnit(String(name))[0]) || "Value";
}

/** Label, control, hint, note and fault of one field; the parts that all editors share. */
export function fieldBox(shape, name, required, control, { unit, hints = [] } = {}) {
  const id = freshId("field");
  const hint = h("p", { class: "hint", id: `${id}-hint` }, hints.filter(Boolean).join(" "));
  const note = h("p", { class: "note", id: `${id}-note`, role: "status" });
  const fault = h("p", { class: "fault", id: `${id}-fault` });
  control.id = id;
  control.setAttribute("aria-describedby", `${id}-hint ${id}-note ${id}-fault`);
  if (required) control.setAttribute("aria-required", "true");
  const element = h(
    "div",
    { class: "field" },
    h("label", { for: id }, titleOf(shape, name), required ? null : h("span", { class: "soft" }, " (optional)")),
    h("div", { class: "entry" }, control, unit ? h("span", { class: "unit", "aria-hidden": "true" }, unit) : null),
    hint,
    note,
    fault,
  );
  return {
    element,
    control,
    note: (text) => (note.textContent = text),
    fault: (text) => {
      fault.textContent = text;
      element.classList.toggle("wrong", Boolean(text));
      if (text) control.setAttribute("aria-invalid", "true");
      else control.removeAttribute("aria-invalid");
    },
    focus: () => control.focus(),
  };
}

function hintsOf(shape, ...more) {
  const usual = shape.default;
  const plain = usual !== undefined && usual !== "" && typeof usual !== "object";
  const unit = printedUnit(shape["x-unit"]);
  const left = plain ? `Left empty: ${withUnit(capitalless(usual), typeof usual === "number" ? unit : "")}.` : "";
  return [sentence(shape.description), ...more, left];
}

const capitalless = (value) => ({ true: "yes", false: "no" }[String(value)] ?? String(value));
const sentence = (text) => (text && !/[.!?:]$/.test(text) ? `${text}.` : text);

function editor(box, { read, write }) {
  return {
    ...box,
    write,
    read(at, context) {
      context.places.set(at, box);
      box.fault("");
      try {
        return read();
      } catch (error) {
        context.faults.push({ pointer: at, detail: error.message });
        return undefined;
      }
    },
  };
}

/** A number; "32 in" is taken and converted, and what is sent is shown. */
export function numberEditor(shape, name, required) {
  const unit = shape["x-unit"] ?? "1";
  const whole = typeOf(shape) === "integer";
  const input = h("input", { type: "text", inputmode: "decimal", autocomplete: "off", class: "short" });
  const range = boundsText(shape);
  const bounds = range ? `${capital(range)}${whole ? ", whole" : ""}.` : "";
  const box = fieldBox(shape, name, required, input, {
    unit: printedUnit(unit),
    hints: hintsOf(shape, bounds),
  });
  const value = () => (input.value.trim() === "" ? undefined : quantity(input.value, unit));
  const show = () => {
    box.fault("");
    try {
      const found = value();
      box.note(found?.converted ? `${withUnit(String(found.number), printedUnit(unit))} is sent.` : "");
    } catch (error) {
      box.note("");
      box.fault(error.message);
    }
  };
  input.addEventListener("change", show);
  return editor(box, {
    read: () => value()?.number,
    write: (given) => {
      input.value = given ?? "";
      box.note("");
    },
  });
}

/** One of a closed set. */
export function choiceEditor(shape, name, required) {
  const words = shape.enum.filter((each) => each !== null);
  const empty = required ? "choose …" : shape.default === undefined ? "not said" : `as usual: ${shape.default}`;
  const select = h(
    "select",
    null,
    h("option", { value: "" }, empty),
    words.map((word, k) => h("option", { value: String(k) }, String(word).replaceAll("-", " "))),
  );
  const box = fieldBox(shape, name, required, select, { hints: [sentence(shape.description)] });
  return editor(box, {
    read: () => (select.value === "" ? undefined : words[Number(select.value)]),
    write: (given) => (select.value = words.includes(given) ? String(words.indexOf(given)) : ""),
  });
}

/** Yes or no. */
export function flagEditor(shape, name, required) {
  const usual = { true: "as usual: yes", false: "as usual: no" }[String(shape.default)] ?? "not said";
  const select = h(
    "select",
    null,
    [["", required ? "choose …" : usual], ["true", "yes"], ["false", "no"]].map(([value, word]) =>
      h("option", { value }, word),
    ),
  );
  const box = fieldBox(shape, name, required, select, { hints: [sentence(shape.description)] });
  return editor(box, {
    read: () => (select.value === "" ? undefined : select.value === "true"),
    write: (given) => (select.value = given === undefined || given === null ? "" : String(given)),
  });
}

/** Text, in one line or several. */
export function textEditor(shape, name, required) {
  const long = (shape.maxLength ?? 0) > 300;
  const input = long ? h("textarea", { rows: 2 }) : h("input", { type: "text", autocomplete: "off" });
  const length = shape.maxLength && !long ? `At most ${shape.maxLength} characters.` : "";
  const box = fieldBox(shape, name, required, input, { hints: hintsOf(shape, length) });
  return editor(box, {
    read: () => (input.value === "" ? undefined : input.value),
    write: (given) => (input.value = given ?? ""),
  });
}

/** Many values in one area: `parse` reads a line's words, `join` writes one entry. */
function areaEditor(shape, name, required, hint, parse, join) {
  const area = h("textarea", { rows: 4, class: "many", spellcheck: "false" });
  const box = fieldBox(shape, name, required, area, {
    unit: printedUnit(shape["x-unit"]),
    hints: [sentence(shape.description), hint],
  });
  return editor(box, {
    read: () => {
      const text = area.value.trim();
      return text === "" ? undefined : parse(text);
    },
    write: (given) => {
      area.value = (given ?? []).map(join).join("\n");
      area.rows = Math.min(12, Math.max(3, (given ?? []).length));
    },
  });
}

const unitOf = (shape) => shape["x-unit"] ?? shape.items?.["x-unit"] ?? shape.items?.items?.["x-unit"] ?? "1";

/** Many numbers, one a line or separated by commas or spaces. */
export function numbersEditor(shape, name, required) {
  const parse = (text) =>
    text.split(/[\n,;]+/).map((word) => word.trim()).filter(Boolean).flatMap((word) =>
      /^[-+.\deE\s]+$/.test(word) ? word.split(/\s+/).map(Number).map(finite) : quantity(word, unitOf(shape)).number,
    );
  return areaEditor(shape, name, required, "One a line, or separated by commas.", parse, String);
}

function finite(value) {
  if (!Number.isFinite(value)) throw new Error("Something here is not a number.");
  return value;
}

/** Rows of as many numbers each. */
export function rowsEditor(shape, name, required) {
  const width = shape.items.minItems ?? 2;
  const parse = (text) =>
    text.split("\n").filter((line) => line.trim()).map((line, k) => {
      const row = line.trim().split(/[,;\s]+/).map(Number);
      if (row.length !== width || row.some((value) => !Number.isFinite(value))) {
        throw new Error(`Line ${k + 1} must hold ${width} numbers.`);
      }
      return row;
    });
  return areaEditor(shape, name, required, `One row a line, ${width} numbers each.`, parse, (row) => row.join(", "));
}

/** Many short texts, one a line. */
export function textsEditor(shape, name, required) {
  const parse = (text) => text.split("\n").map((line) => line.trim()).filter(Boolean);
  return areaEditor(shape, name, required, "One a line.", parse, String);
}

/** Anything, as JSON. */
export function jsonEditor(shape, name, required) {
  const area = h("textarea", { rows: 5, class: "many", spellcheck: "false" });
  const box = fieldBox(shape, name, required, area, { hints: [sentence(shape.description), "Written as JSON."] });
  return editor(box, {
    read: () => {
      if (area.value.trim() === "") return undefined;
      try {
        return JSON.parse(area.value);
      } catch (error) {
        throw new Error(`This is not JSON: ${error.message}`);
      }
    },
    write: (given) => (area.value = given === undefined ? "" : JSON.stringify(given, null, 1)),
  });
}

/** A stored document, chosen from what is stored. `list(kind)` gives {id, title}. */
export function documentEditor(shape, name, required, kind, list) {
  const select = h("select", null, h("option", { value: "" }, "choose …"));
  const box = fieldBox({ title: `Stored ${kind}` }, name, required, select, {
    hints: [`One of the ${kind}s stored in the service.`],
  });
  let wanted;
  const choose = () => {
    if (!wanted?.id) return;
    if (![...select.options].some((option) => option.value === wanted.id)) {
      select.append(h("option", { value: wanted.id }, wanted.id));
    }
    select.value = wanted.id;
  };
  list(kind).then((items) => {
    const options = items.map((item) => h("option", { value: item.id }, item.title ? `${item.id}: ${item.title}` : item.id));
    fill(select, h("option", { value: "" }, items.length ? "choose …" : `no ${kind} is stored`), options);
    choose();
  }).catch((error) => box.note(error.message));
  return editor(box, {
    read: () => {
      if (select.value === "") return undefined;
      return wanted?.id === select.value ? wanted : { id: select.value };
    },
    write: (given) => {
      wanted = given;
      choose();
    },
  });
}

/** The frame of a thing with parts: a legend, a hint, its own fault, a place for the parts. */
export function groupBox(title, description) {
  const legend = h("legend", null, title);
  const fault = h("p", { class: "fault", tabindex: "-1" });
  const body = h("div", { class: "members" });
  const element = h(
    "fieldset",
    { class: "group-field" },
    legend,
    description ? h("p", { class: "hint" }, description) : null,
    fault,
    body,
  );
  const box = {
    element,
    fault: (text) => {
      fault.textContent = text;
      element.classList.toggle("wrong", Boolean(text));
    },
    focus: () => fault.focus(),
  };
  return { box, body, element };
}
