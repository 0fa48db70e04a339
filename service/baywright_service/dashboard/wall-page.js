// For a screen on the wall: every plan's verdict large, batches as they run, kept up by itself.

import { readAll } from "./api.js";
import { summaryOf } from "./answers.js";
import { batchBar, follow, isRunning } from "./batch-live.js";
import { fill, h, pause } from "./dom.js";
import { SHAPES } from "./labels.js";
import { countsText } from "./verdict.js";

const LOOK_AGAIN_MS = 5_000;
const MOST_FINDINGS = 4;

export async function wallPage({ main, signal, title }) {
  const tiles = h("div", { class: "tiles" });
  const batches = h("div", { class: "wall-batches" });
  const clock = h("p", { class: "soft" });
  fill(main, title("Wall"), tiles, batches, clock);
  const shown = new Map();
  const followed = new Map();
  for (;;) {
    try {
      const plans = await readAll("/v1/plans", { signal, most: 40 });
      await Promise.all([showPlans(plans, shown, tiles, signal), showBatches(followed, batches, signal)]);
      clock.textContent = `Looked at ${new Date().toLocaleTimeString(undefined, { timeStyle: "medium" })}`;
    } catch (error) {
      if (error.name === "AbortError") throw error;
      clock.textContent = `${error.message} Trying again …`;
    }
    await pause(LOOK_AGAIN_MS, signal);
  }
}

async function showPlans(plans, shown, tiles, signal) {
  for (const id of shown.keys()) {
    if (!plans.some((plan) => plan.id === id)) shown.delete(id);
  }
  for (const plan of plans) {
    if (!shown.has(plan.id)) shown.set(plan.id, { element: h("article", { class: "tile" }) });
    const tile = shown.get(plan.id);
    if (tile.revision !== plan.revision) fill(tile.element, tileBody(plan, undefined));
  }
  fill(tiles, plans.length ? plans.map((plan) => shown.get(plan.id).element) : h("p", null, "No plan is stored."));
  for (const plan of plans) {
    const tile = shown.get(plan.id);
    if (tile.revision === plan.revision) continue;
    const summary = await summaryOf(plan.id, { signal });
    tile.revision = plan.revision;
    tile.element.className = `tile ${summary.verdict}`;
    fill(tile.element, tileBody(plan, summary));
  }
}

function tileBody(plan, summary) {
  const worst = ["stop", "watch"].flatMap((level) =>
    (summary?.findings ?? []).filter((finding) => finding.level === level),
  );
  return [
    h("h2", null, h("a", { href: `#/plans/${encodeURIComponent(plan.id)}` }, plan.title || plan.id)),
    h(
      "p",
      { class: "big" },
      h("span", { class: "mark", "aria-hidden": "true" }, summary ? SHAPES[summary.verdict] ?? "?" : "…"),
      ` ${summary?.verdict ?? "being calculated"}`,
    ),
    summary ? h("p", null, countsText(summary.findings)) : null,
    worst.length
      ? h("ul", { class: "plain" }, worst.slice(0, MOST_FINDINGS).map((finding) =>
          h("li", { class: "first" }, h("span", { class: "mark", "aria-hidden": "true" }, SHAPES[finding.level]), h("span", null, finding.message))))
      : null,
  ];
}

/** Batches that run, each with its stream of events. */
async function showBatches(followed, place, signal) {
  let list;
  try {
    list = await readAll("/v1/batches", { signal, most: 100 });
  } catch (error) {
    if (error.status === 404) return;
    throw error;
  }
  for (const batch of list.filter(isRunning)) {
    if (followed.has(batch.id)) continue;
    const bar = batchBar(batch);
    followed.set(batch.id, bar);
    place.append(bar.element);
    follow(batch.id, signal, bar.show).catch(() => {
      followed.delete(batch.id);
      bar.element.remove();
    });
  }
}
