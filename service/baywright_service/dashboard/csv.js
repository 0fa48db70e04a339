// Tables: CSV read (RFC 4180), shown, and sorted by a click or a key.

import { fill, h, say } from "./dom.js";
import { nameAndUnit, numberText } from "./labels.js";

const MOST_ROWS = 200;

/** CSV as {header, rows} of text. */
export function readCsv(text) {
  const rows = [];
  let row = [];
  let cell = "";
  let quoted = false;
  for (let k = 0; k < text.length; k += 1) {
    const sign = text[k];
    if (quoted) {
      if (sign === '"' && text[k + 1] === '"') {
        cell += '"';
        k += 1;
      } else if (sign === '"') quoted = false;
      else cell += sign;
    } else if (sign === '"') quoted = true;
    else if (sign === ",") {
      row.push(cell);
      cell = "";
    } else if (sign === "\n") {
      rows.push([...row, cell]);
      row = [];
      cell = "";
    } else if (sign !== "\r") cell += sign;
  }
  if (cell || row.length) rows.push([...row, cell]);
  return { header: rows[0] ?? [], rows: rows.slice(1) };
}

const isNumber = (text) => text.trim() !== "" && Number.isFinite(Number(text));

function cellText(value) {
  if (typeof value === "number") return numberText(value);
  const text = String(value ?? "");
  if (/^'[=+\-@\t]/.test(text)) return text.slice(1);
  if (isNumber(text)) return /[.e]/i.test(text) ? numberText(Number(text)) : text;
  return { true: "yes", false: "no" }[text] ?? text;
}

/** A sortable table. Cells are text, numbers, or elements with `data-sort`. */
export function tableView(caption, header, rows, { named = fieldName } = {}) {
  const valueOf = (cell) => (cell instanceof Node ? cell.dataset.sort ?? "" : String(cell ?? ""));
  const numeric = header.map((_, k) =>
    rows.every((row) => valueOf(row[k]) === "" || isNumber(valueOf(row[k]))),
  );
  const body = h("tbody");
  const note = h("p", { class: "soft small" });
  const marks = [];
  let order = { column: -1, down: false };

  function show() {
    const sorted = order.column < 0 ? rows : [...rows].sort(by(order.column, order.down));
    fill(
      body,
      sorted.slice(0, MOST_ROWS).map((row) =>
        h(
          "tr",
          null,
          row.map((cell, k) =>
            h("td", { class: numeric[k] ? "number" : null }, cell instanceof Node ? cell : cellText(cell)),
          ),
        ),
      ),
    );
    note.textContent =
      rows.length > MOST_ROWS ? `The first ${MOST_ROWS} of ${rows.length} rows; the file has all.` : "";
  }

  function by(column, down) {
    return (one, other) => {
      const [a, b] = [valueOf(one[column]), valueOf(other[column])];
      if (a === "" || b === "") return a === b ? 0 : a === "" ? 1 : -1;
      const way = numeric[column] ? Number(a) - Number(b) : a.localeCompare(b);
      return down ? -way : way;
    };
  }

  const heads = header.map((field, k) => {
    const head = h("th", { scope: "col", class: numeric[k] ? "number" : null });
    const mark = h("span", { class: "order", "aria-hidden": "true" });
    const sort = () => {
      order = { column: k, down: order.column === k && !order.down };
      for (const other of heads) other.removeAttribute("aria-sort");
      head.setAttribute("aria-sort", order.down ? "descending" : "ascending");
      marks.forEach((each, at) => (each.textContent = at === k ? (order.down ? " ▼" : " ▲") : ""));
      show();
      say(`Sorted by ${named(field)}, ${order.down ? "largest" : "smallest"} first.`);
    };
    head.append(h("button", { type: "button", class: "sort", on: { click: sort } }, named(field), mark));
    marks.push(mark);
    return head;
  });
  show();
  return h(
    "div",
    null,
    h(
      "div",
      { class: "scroll", tabindex: "0", role: "group", "aria-label": caption },
      h("table", null, h("caption", { class: "unseen" }, caption), h("thead", null, h("tr", null, heads)), body),
    ),
    note,
  );
}

function fieldName(field) {
  return nameAndUnit(field).filter(Boolean).join(" ");
}
