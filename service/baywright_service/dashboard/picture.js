// A drawing of a calculator: which view, in words too, large enough to read on a phone.

import { button, download, fill, freshId, h, say } from "./dom.js";
import { problemView } from "./verdict.js";

const MOST_BUTTONS = 3;

/** The drawings of one answer. `load(view, form, signal)` gives the response; `files` are the forms
 * that can be saved. */
export function pictures({ name, views, files, load, signal, chosen, onChoose }) {
  const figure = h("figure", { class: "picture" });
  const buttons = views.map((view) => button(view.title, () => choose(view), { "aria-pressed": "false" }));
  const select = h(
    "select",
    { id: freshId("view"), on: { change: () => choose(views[Number(select.value)]) } },
    views.map((view, k) => h("option", { value: String(k) }, view.title)),
  );
  let leave = new AbortController();

  function choose(view) {
    onChoose?.(view.name);
    show(view);
  }

  async function show(view) {
    leave.abort();
    leave = new AbortController();
    const { signal: left } = leave;
    buttons.forEach((each, k) => each.setAttribute("aria-pressed", String(views[k] === view)));
    select.value = String(views.indexOf(view));
    figure.setAttribute("aria-busy", "true");
    try {
      const response = await load(view.name, "svg", AbortSignal.any([left, signal]));
      const text = await response.text();
      if (!left.aborted) fill(figure, drawn(text, view), saving(view));
    } catch (error) {
      if (error.name === "AbortError") return;
      fill(figure, problemView(error, "h4"));
    }
    figure.removeAttribute("aria-busy");
  }

  /** Buttons that fetch the drawing in the forms there are. */
  function saving(view) {
    const fetched = async (form, place) => {
      try {
        const response = await load(view.name, form, signal);
        download(`${name}-${view.name}.${form}`, await response.blob());
      } catch (error) {
        if (error.name !== "AbortError") place.after(problemView(error, "h4"));
      }
    };
    return h(
      "div",
      { class: "tools" },
      button("Larger", (event) => enlarge(event.currentTarget, figure.querySelector(".paper")), { "aria-pressed": "false" }),
      files.map((form) =>
        button(`Save as ${form.toUpperCase()}`, (event) => fetched(form, event.currentTarget.parentElement)),
      ),
    );
  }

  if (views.length) show(views.find((view) => view.name === chosen) ?? views[0]);
  return h("div", { class: "pictures" }, chooser(views, buttons, select), figure);
}

/** A few views as buttons, many as a list to choose from. */
function chooser(views, buttons, select) {
  if (views.length < 2) return null;
  if (views.length <= MOST_BUTTONS) {
    return h("div", { class: "choices", role: "group", "aria-label": "Which drawing" }, buttons);
  }
  return h("div", { class: "field" }, h("label", { for: select.id }, `Which of ${views.length} drawings`), select);
}

function drawn(text, view) {
  const root = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  const words = (tag) => root.querySelector(`:scope > ${tag}`)?.textContent ?? "";
  const [, , width, height] = (root.getAttribute("viewBox") ?? "0 0 4 3").split(" ").map(Number);
  root.setAttribute("width", String(width));
  root.setAttribute("height", String(height));
  const blob = new Blob([new XMLSerializer().serializeToString(root)], { type: "image/svg+xml" });
  const url = URL.createObjectURL(blob);
  const ratio = width / height;
  const image = h("img", {
    src: url,
    alt: [words("title") || view.title, words("desc")].filter(Boolean).join(". "),
    on: { load: () => URL.revokeObjectURL(url) },
    class: ratio > 1.3 ? "wide" : ratio < 0.8 ? "tall" : "square",
  });
  image.style.aspectRatio = `${width} / ${height}`;
  const frame = h(
    "div",
    { class: "paper", tabindex: "0", role: "group", "aria-label": `Drawing: ${view.title}` },
    image,
  );
  return [
    frame,
    h("figcaption", null, words("desc")),
  ];
}

function enlarge(pressed, frame) {
  const large = frame.classList.toggle("large");
  pressed.setAttribute("aria-pressed", String(large));
  say(large ? "The drawing is larger; scroll it." : "The drawing fits the page again.");
}
