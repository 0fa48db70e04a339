// One batch: live progress, its results as a sortable table, cancelled or removed by a button.

import { Problem, ask, read, readAll } from "./api.js";
import { batchBar, batchPath, follow, isRunning } from "./batch-live.js";
import { tableView } from "./csv.js";
import { button, fill, h, say } from "./dom.js";
import { lay } from "./drafts.js";
import { capital, nameAndUnit } from "./labels.js";
import { partsOf } from "./pointers.js";
import { scatter } from "./scatter.js";
import { problemView, verdictBadge } from "./verdict.js";

const MOST_ITEMS = 2_000;
const RENEW_MS = 2_000;
const MOST_POINTS = 500;

export async function batchPage({ main, parameters: [id], signal, title }) {
  const first = await read(batchPath(id), { signal });
  const bar = batchBar(first, false);
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

  async function results() {
    const items = await readAll(`${batchPath(id)}/results?limit=1000`, { signal, most: MOST_ITEMS });
    if (items.length) fill(place, picture(items, openVariant), resultsTable(items));
  }

  /** The plan of one variant, as it was calculated. */
  async function openVariant(index) {
    try {
      const { plan } = await read(`${batchPath(id)}/results/${index}`, { signal });
      if (plan) window.location.hash = `#/open/${lay(plan, `Variant ${index + 1}`)}`;
      else fill(fault, h("p", { role: "status" }, "This variant holds no plan."));
    } catch (error) {
      failed(error);
    }
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
      results().catch(failed);
    }
  });
  await results();
  if (last.problem) fill(fault, problemView(new Problem(422, last.problem)));
  say(`The batch has ended: ${last.item_counts?.successful ?? 0} variants calculated.`);
}

const short = (value) => (typeof value === "object" ? JSON.stringify(value) : value ?? "");

/** What varied against what was kept, where both are numbers; a click opens the variant. */
function picture(items, open) {
  const points = items
    .filter((item) => item.status === "successful")
    .slice(0, MOST_POINTS)
    .map((item) => ({
      name: `variant ${item.index + 1}`,
      values: numbers({ ...item.values, ...item.kept }),
      level: item.verdict,
      open: () => open(item.index),
    }));
  const names = Object.keys(points[0]?.values ?? {}).filter((name) => {
    const all = points.map((each) => each.values[name]);
    return all.every((value) => value !== undefined) && new Set(all).size > 1;
  });
  const kept = names.filter((name) => items.some((item) => name in (item.kept ?? {})));
  const [first, ...others] = names.filter((name) => !kept.includes(name));
  const inOrder = first ? [first, ...kept, ...others] : kept;
  const words = placeTexts(names);
  return names.length > 1 ? scatter(points, inOrder, (name) => words.get(name)) : null;
}

const numbers = (values) =>
  Object.fromEntries(Object.entries(values).filter(([, value]) => typeof value === "number"));

const level = (verdict) => h("span", { "data-sort": verdict }, verdictBadge(verdict, "tiny"));

function resultsTable(items) {
  const kept = [...new Set(items.flatMap((item) => Object.keys(item.kept ?? {})))].filter((place) => place !== "/verdict");
  const varied = [...new Set(items.flatMap((item) => Object.keys(item.values ?? {})))];
  const words = placeTexts([...varied, ...kept]);
  const named = (place) => words.get(place);
  const header = ["no.", ...varied.map(named), "verdict", ...kept.map(named)];
  const rows = items.map((item) => {
    const problem = item.problem?.errors?.[0]?.detail ?? item.problem?.detail;
    const word = problem
      ? h("span", { "data-sort": "failed" }, `not calculated: ${problem}`)
      : item.verdict
        ? level(item.verdict)
        : h("span", { "data-sort": item.status }, item.status);
    const shown = (place) => {
      const value = item.kept?.[place];
      return value && place.endsWith("/verdict") ? level(value) : short(value);
    };
    return [item.index + 1, ...varied.map((place) => short(item.values?.[place])), word, ...kept.map(shown)];
  });
  return tableView("Results of the batch", header, rows, { named: (field) => field });
}

/** Places in words, as short as tells each from the others. */
function placeTexts(places) {
  const words = new Map(places.map((place) => [place, placeText(place, 3)]));
  for (let most = 4; most < 12; most += 1) {
    const all = [...words.values()];
    const twice = [...words].filter(([, text]) => all.indexOf(text) !== all.lastIndexOf(text));
    for (const [place] of twice) words.set(place, placeText(place, most));
  }
  return words;
}

/** A place in a plan or in its answer: the step by its id, then the last names, at most so many. */
function placeText(place, most) {
  const [first, step, ...rest] = partsOf(place);
  const inner = first === "steps" ? rest.slice(["inputs", "result"].includes(rest[0]) ? 1 : 0) : partsOf(place);
  let start = Math.max(inner.length - most, 0);
  while (start && /^\d+$/.test(inner[start])) start -= 1;
  const words = inner.slice(start).map((part) => (/^\d+$/.test(part) ? `no. ${Number(part) + 1}` : nameAndUnit(part).filter(Boolean).join(" in ")));
  if (first !== "steps") return capital(words.join(", "));
  const byId = !/^\d+$/.test(step);
  const named = byId ? [step] : most > Math.max(inner.length, 3) ? [`step ${Number(step) + 1}`] : [];
  return capital([...named, ...words].join(", "));
}
