// Elements from plain data. Everything that comes from the service becomes text, never markup.

const SVG = "http://www.w3.org/2000/svg";

/** An element with its properties and children; `on` holds listeners, children may be lists. */
export function h(tag, properties, ...children) {
  return filled(document.createElement(tag), properties, children);
}

/** The same for a shape of a picture drawn here. */
export function s(tag, properties, ...children) {
  return filled(document.createElementNS(SVG, tag), properties, children);
}

function filled(element, properties, children) {
  for (const [name, value] of Object.entries(properties ?? {})) {
    if (value === undefined || value === null || value === false) continue;
    if (name === "on") {
      for (const [event, listener] of Object.entries(value)) {
        element.addEventListener(event, listener);
      }
    } else if (name === "value" || name === "checked" || name === "selected") {
      element[name] = value;
    } else {
      element.setAttribute(name, value === true ? "" : String(value));
    }
  }
  element.append(...children.flat(Infinity).filter(shown).map(text));
  return element;
}

const shown = (child) => child !== undefined && child !== null && child !== false && child !== "";
const text = (child) => (typeof child === "number" ? String(child) : child);

/** Put `children` in place of what stands in `element`. */
export function fill(element, ...children) {
  element.replaceChildren(...children.flat(Infinity).filter(shown).map(text));
  return element;
}

/** A button that does something. */
export function button(label, click, properties = {}) {
  return h("button", { type: "button", ...properties, on: { click } }, label);
}

/** A folded part of the page. */
export function folded(summary, ...children) {
  return h("details", null, h("summary", null, summary), ...children);
}

let given = 0;

/** An id that no other element has. */
export function freshId(stem) {
  given += 1;
  return `${stem}-${given}`;
}

/** Say something to those who do not see it. */
export function say(message) {
  const place = document.getElementById("says");
  place.textContent = "";
  window.setTimeout(() => (place.textContent = message), 50);
}

/** Give a file to whoever looks at the page. */
export function download(name, blob) {
  const url = URL.createObjectURL(blob);
  const link = h("a", { href: url, download: name });
  document.body.append(link);
  link.click();
  link.remove();
  window.setTimeout(() => URL.revokeObjectURL(url), 10_000);
}

/** Wait, unless the page is left first. */
export function pause(milliseconds, signal) {
  return new Promise((done, fail) => {
    const timer = window.setTimeout(done, milliseconds);
    signal?.addEventListener("abort", () => {
      window.clearTimeout(timer);
      fail(new DOMException("left", "AbortError"));
    });
  });
}
