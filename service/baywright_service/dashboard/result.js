// One answer of one calculator: verdict, findings, drawing, numbers, table, small print.

import { candidates } from "./candidates.js";
import { button, download, fill, folded, h } from "./dom.js";
import { facts } from "./labels.js";
import { pictures } from "./picture.js";
import { readCsv, tableView } from "./csv.js";
import { threeButton } from "./three-slot.js";
import { countsText, findingsView, problemView, verdictBadge } from "./verdict.js";

const MOST_FACTS = 48;

/** The whole answer. `sources` says how to get drawings and table (answers.js). */
export function resultView({
  envelope, findings, description, sources, signal, actions, view, onView, heading = "h3",
}) {
  return h(
    "div",
    { class: "result" },
    h(
      "p",
      { class: "answer" },
      verdictBadge(envelope.verdict),
      h("span", { class: "soft" }, ` ${countsText(findings)}`),
    ),
    findingsView(findings, { heading, actions }),
    sources.views.length
      ? h(
          "section",
          null,
          h(heading, null, "Drawing"),
          pictures({
            name: description.name,
            views: sources.views,
            files: sources.files,
            load: sources.drawing,
            signal,
            chosen: view,
            onChoose: onView,
          }),
          sources.scene ? threeButton({ load: sources.scene, still: () => still(sources, description, signal), signal }) : null,
        )
      : null,
    candidates(envelope.result, heading),
    numbers(envelope.result, heading),
    sources.table ? tablePart(description.name, sources.table, signal, heading) : null,
    smallPrint(envelope),
  );
}

/** The first drawing by itself. */
function still({ views, files, drawing }, { name }, signal) {
  return pictures({ name, views: views.slice(0, 1), files, load: drawing, signal });
}

function numbers(result, heading) {
  const rows = facts(result).slice(0, MOST_FACTS);
  const groups = [...new Set(rows.map((row) => row.group))];
  if (!rows.length) return null;
  return h(
    "section",
    null,
    h(heading, null, "Numbers"),
    groups.map((group) => [
      group ? h("p", { class: "group-name" }, group) : null,
      h(
        "dl",
        { class: "facts" },
        rows
          .filter((row) => row.group === group)
          .map((row) => {
            const long = row.name.length + row.text.length > 46;
            return h("div", { class: long ? "long" : null }, h("dt", null, row.name), h("dd", null, row.text));
          }),
      ),
    ]),
  );
}

/** The table is fetched when it is unfolded: a drawing and findings come first. */
function tablePart(name, load, signal, heading) {
  const place = h("div", { "aria-live": "polite" }, h("p", { class: "soft" }, "The table is fetched …"));
  const part = folded([h(heading, { class: "inline" }, "Table")], place);
  part.classList.add("table-part");
  let asked = false;
  const fetchTable = async () => {
    if (asked || !part.open) return;
    asked = true;
    try {
      const text = await (await load(signal)).text();
      const { header, rows } = readCsv(text);
      const save = () => download(`${name}.csv`, new Blob([text], { type: "text/csv" }));
      fill(
        place,
        rows.length ? tableView(`Table of ${name}`, header, rows) : h("p", null, "The table has no rows."),
        h("div", { class: "tools" }, button("Save as CSV", save)),
      );
    } catch (error) {
      if (error.name !== "AbortError") fill(place, problemView(error, "h4"));
      asked = false;
    }
  };
  part.addEventListener("toggle", fetchTable);
  return part;
}

function smallPrint(envelope) {
  const sources = (envelope.sources ?? []).map((source) =>
    [source.title, source.clause].filter(Boolean).join(", "),
  );
  const documents = (envelope.documents ?? []).map((use) => `${use.kind} ${use.id}, ${use.revision}`);
  return h(
    "section",
    { class: "small-print" },
    list("Cautions", envelope.cautions),
    list("Assumptions", envelope.assumptions),
    list("Sources", sources),
    list("Stored documents read", documents),
    h("p", { class: "soft small" }, `Calculated by ${envelope.calculator} ${envelope.version}.`),
  );
}

function list(title, items = []) {
  if (!items.length) return null;
  return folded(`${title} (${items.length})`, h("ul", null, items.map((item) => h("li", null, item))));
}
