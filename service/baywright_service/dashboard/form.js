// A form for a JSON Schema nobody here has seen before, and the service's faults beside its fields.

import { readAll } from "./api.js";
import { button, fill, h, say } from "./dom.js";
import { objectEditor } from "./groups.js";
import { counted } from "./labels.js";
import { alternatives } from "./schema.js";

/** A form for inputs of `schema`. `send(value)` is called with what was filled in. */
export function schemaForm(schema, { value, label, send }) {
  const lists = new Map();
  const documents = (kind) => {
    if (!lists.has(kind)) lists.set(kind, readAll(`/v1/${kind}s`));
    return lists.get(kind);
  };
  const context = { root: schema, documents };
  const shape = alternatives(schema, schema)[0] ?? schema;
  const editor = objectEditor({ properties: {}, ...shape }, "inputs", context, { top: true });
  const summary = h("div", { class: "fault-summary", role: "alert", tabindex: "-1" });
  const text = h("textarea", { rows: 18, class: "many", spellcheck: "false", "aria-label": "Inputs as JSON" });
  const place = h("div", null, editor.element);
  const swap = button("Edit as text (JSON)", () => turn(!asText), { class: "quiet" });
  const submit = h("button", { type: "submit", class: "primary" }, label);
  let asText = false;
  let places = new Map();

  const form = h(
    "form",
    { novalidate: true, on: { submit: act } },
    summary,
    place,
    h("div", { class: "tools sticky" }, submit, swap),
  );

  function read() {
    places = new Map();
    if (asText) {
      try {
        return { value: JSON.parse(text.value), faults: [] };
      } catch (error) {
        return { faults: [{ pointer: "", detail: `This is not JSON: ${error.message}` }] };
      }
    }
    const reading = { places, faults: [] };
    return { value: editor.read("", reading), faults: reading.faults };
  }

  function turn(toText) {
    const { value: found, faults } = read();
    if (faults.length) return showFaults(faults);
    asText = toText;
    if (asText) {
      text.value = JSON.stringify(found, null, 2);
      fill(place, text);
    } else {
      editor.write(found);
      fill(place, editor.element);
    }
    swap.textContent = asText ? "Edit as a form" : "Edit as text (JSON)";
    return clear();
  }

  async function act(event) {
    event.preventDefault();
    const { value: found, faults } = read();
    clear();
    if (faults.length) showFaults(faults);
    else await send(found);
  }

  function clear() {
    fill(summary);
  }

  /** Faults with JSON Pointers, each beside its field and all in a list that leads there. */
  function showFaults(errors) {
    if (!places.size) read();
    const beside = errors.map((error) => ({ ...error, box: nearest(error.pointer ?? "") }));
    for (const { box, detail, pointer: at } of beside) {
      if (box) unfold(box.place);
      if (box) box.place.fault(box.at === at ? detail : `${at.slice(box.at.length + 1)}: ${detail}`);
    }
    fill(
      summary,
      h("p", null, h("b", null, `${counted(errors.length, "thing")} to mend:`)),
      h(
        "ul",
        null,
        beside.slice(0, 20).map(({ box, detail, pointer: at }) => {
          const words = `${name(at, box)}${detail}`;
          return h("li", null, box ? button(words, () => reveal(box.place), { class: "link" }) : words);
        }),
      ),
    );
    summary.focus();
    say(`${counted(errors.length, "thing")} to mend.`);
  }

  const name = (at, box) => {
    const title = box?.place.element.querySelector("label, legend")?.firstChild?.textContent;
    return at ? `${title ?? at}: ` : "";
  };

  function nearest(at) {
    for (let here = at; ; here = here.slice(0, here.lastIndexOf("/"))) {
      if (places.has(here)) return { at: here, place: places.get(here) };
      if (here === "") return undefined;
    }
  }

  function unfold(box) {
    for (let up = box.element.parentElement; up; up = up.parentElement) {
      if (up.tagName === "DETAILS") up.open = true;
    }
  }

  function reveal(box) {
    unfold(box);
    box.focus();
    box.element.scrollIntoView({ block: "center" });
  }

  const write = (given) => {
    asText ? (text.value = JSON.stringify(given, null, 2)) : editor.write(given);
    clear();
  };
  if (value !== undefined) write(value);
  return { element: form, write, read, showFaults, busy: (is) => (submit.disabled = is) };
}
