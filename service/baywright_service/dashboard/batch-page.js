// One batch: live progress, its results as a sortable table, cancelled or removed by a button.

import { ask, read, readAll } from "./api.js";
import { batchBar, batchPath, follow, isRunning } from "./batch-live.js";
import { tableView } from "./csv.js";
import { button, fill, h, say } from "./dom.js";
import { capital, nameAndUnit } from "./labels.js";
import { partsOf } from "./pointers.js";
import { problemView, verdictBadge } from "./verdict.js";

const MOST_ITEMS = 2_000;
const RENEW_MS = 2_000;

export async function batchPage({ main, parameters: [id], signal, title }) {
  const first = await read(batchPath(id), { signal });
  const bar = batchBar(first);
  const tools = h("div", { class: "tools" });
  const place = h("div", null, h("p", { class: "soft" }, "No result yet."));
  const fault = h("div");
  fill(main, title(first.title || `Batch ${id}`), bar.element, tools, fault, h("h2", null, "Results"), place);
  let shownAt = 0;

  const failed = (error) => error.name !== "AbortError" && fill(fault, problemView(error));

  async function cancel() {
    await ask(`${batchPath(id)}/cancellation`, { method: "PUT", body: {} }).catch(failed);
    say("Cancelled.");
  }

  async function remove() {
    await ask(batchPath(id), { method: "DELETE" }).then(() => (window.location.hash = "#/batches"), failed);
  }

  async function results(batch) {
    const items = await readAll(`${batchPath(id)}/results?limit=1000`, { signal, most: MOST_ITEMS });
    if (items.length) fill(place, resultsTable(items, batch));
  }

  const last = await follow(id, signal, (batch) => {
    bar.show(batch);
    const csv = `${batchPath(id)}/results?format=csv${isRunning(batch) ? "&partial=true" : ""}`;
    fill(
      tools,
      isRunning(batch) ? button("Cancel", cancel) : button("Remove this batch", remove),
      h("a", { class: "button", href: csv, download: `${id}.csv` }, isRunning(batch) ? "Results so far (CSV)" : "Results (CSV)"),
    );
    if (isRunning(batch) && Date.now() - shownAt > RENEW_MS) {
      shownAt = Date.now();
      results(batch).catch(failed);
    }
  });
  await results(last);
  say(`The batch has ended: ${last.item_counts?.successful ?? 0} variants calculated.`);
}

function resultsTable(items, batch) {
  const kept = [...new Set(items.flatMap((item) => Object.keys(item.kept ?? {})))];
  const varied = variedOf(items, batch);
  const header = ["no.", ...varied.map((each) => each.words), "verdict", ...kept.map(placeText)];
  const rows = items.map((item) => {
    const problem = item.problem?.errors?.[0]?.detail ?? item.problem?.detail;
    const word = item.verdict
      ? h("span", { "data-sort": item.verdict }, verdictBadge(item.verdict, "tiny"))
      : h("span", { "data-sort": item.status }, problem ? `not calculated: ${problem}` : item.status);
    return [item.index + 1, ...varied.map((each) => each.of(item)), word, ...kept.map((place) => item.kept?.[place] ?? "")];
  });
  return tableView("Results of the batch", header, rows, { named: (field) => field });
}

/** What was varied: told with each item, or worked out from the request's lists. */
function variedOf(items, batch) {
  const sets = items.map((item) => item.overrides?.set ?? item.set ?? item.varied ?? item.inputs).filter(Boolean);
  if (sets.length) {
    const places = [...new Set(sets.flatMap((set) => Object.keys(set)))];
    return places.map((place) => ({
      words: placeText(place),
      of: (item) => (item.overrides?.set ?? item.set ?? item.varied ?? item.inputs)?.[place] ?? "",
    }));
  }
  const vary = batch.request?.vary ?? [];
  return vary.length === 1 ? [{ words: placeText(vary[0].pointer), of: (item) => vary[0].values[item.index] ?? "" }] : [];
}

function placeText(place) {
  const parts = partsOf(place).filter((part) => !["steps", "inputs", "result"].includes(part));
  const words = parts.slice(-3).map((part) => (/^\d+$/.test(part) ? `no. ${Number(part) + 1}` : nameAndUnit(part).filter(Boolean).join(" in ")));
  return capital(words.join(", "));
}
