// All stored plans: verdict at a glance, and what to do next in each.

import { create, describe, planPath, read, readAll } from "./api.js";
import { stepsOf, summaryOf } from "./answers.js";
import { button, fill, h, pause, say } from "./dom.js";
import { instantText } from "./labels.js";
import { countsText, findingsView, problemView, verdictBadge } from "./verdict.js";

const LOOK_AGAIN_MS = 10_000;
const MOST_FINDINGS = 3;

export async function plansPage({ main, signal, title }) {
  const head = title("Plans");
  const list = h("div", { class: "cards" });
  fill(main, head, list, startPart());
  let shown = new Map();
  for (;;) {
    const plans = await readAll("/v1/plans", { signal, most: 200 });
    const kept = new Map(plans.map((plan) => [`${plan.id} ${plan.revision}`, plan]));
    if (![...kept.keys()].every((key) => shown.has(key)) || kept.size !== shown.size || !kept.size) {
      const cards = plans.map((plan) => shown.get(`${plan.id} ${plan.revision}`) ?? planCard(plan));
      fill(list, cards.length ? cards.map((card) => card.element) : emptyState());
      shown = new Map([...kept.keys()].map((key, k) => [key, cards[k]]));
      await inTurn(cards, signal);
    }
    await pause(LOOK_AGAIN_MS, signal);
  }
}

/** Plans are calculated one after another, so that the first is there soon. */
async function inTurn(cards, signal) {
  for (const card of cards) {
    if (!card.done) await card.load(signal);
  }
}

function planCard(plan) {
  const badge = h("span", null, verdictBadge("waiting"));
  const body = h("div", { class: "card-body" }, h("p", { class: "soft" }, "Being calculated …"));
  const answered = h("span");
  const link = `#/plans/${encodeURIComponent(plan.id)}`;
  const element = h(
    "article",
    { class: "card" },
    h("div", { class: "heading" }, h("h2", null, h("a", { href: link }, plan.title || plan.id)), badge),
    body,
    h("p", { class: "soft small" }, `Stored ${instantText(plan.updated_at)}`, answered),
  );
  const show = (summary, whole) => {
    if (whole) {
      fill(badge, verdictBadge(summary.verdict));
      element.className = `card ${summary.verdict}`;
      answered.textContent = `, answered at ${new Date().toLocaleTimeString(undefined, { timeStyle: "short" })}`;
    }
    fill(body, cardBody(summary, link, whole));
  };
  const card = {
    element,
    done: false,
    async load(signal) {
      try {
        show(await summaryOf(plan.id, { signal, glimpse: (answer) => show(answer, false) }), true);
        card.done = true;
        say(`${plan.title || plan.id} is calculated.`);
      } catch (error) {
        if (error.name === "AbortError") throw error;
        fill(badge);
        fill(body, problemView(error, "h3"));
      }
    },
  };
  return card;
}

function cardBody(summary, link, whole) {
  const steps = stepsOf(undefined, summary);
  const names = new Map(steps.map((step) => [step.id, step.title]));
  const serious = summary.findings.filter((finding) => finding.level !== "ok");
  const notDone = steps.filter((step) => step.status !== "done");
  return [
    h("p", { class: "counts" }, countsText(summary.findings), whole ? "" : " in the first step; the rest is being calculated …"),
    whole ? stepStrip(steps, link) : null,
    notDone.map((step) => h("p", { class: "not-done" }, `${step.title} could not be calculated.`)),
    serious.length
      ? findingsView(serious, {
          heading: "h3",
          most: MOST_FINDINGS,
          headOf: (id) => h("a", { href: `${link}/${encodeURIComponent(id)}` }, names.get(id) ?? id),
        })
      : h("p", null, "Nothing to change."),
  ];
}

function stepStrip(steps, link) {
  return h(
    "ul",
    { class: "strip", "aria-label": "Steps" },
    steps.map((step) =>
      h(
        "li",
        null,
        h(
          "a",
          { href: `${link}/${encodeURIComponent(step.id)}`, class: step.verdict },
          verdictBadge(step.verdict, "tiny"),
          h("span", null, step.id),
        ),
      ),
    ),
  );
}

function emptyState() {
  return h(
    "div",
    { class: "empty" },
    h("h2", null, "No plan is stored yet"),
    h("p", null, "A plan is a machine with the questions asked of it: does the grid close, does every section pass every door, does it hold when it lies on its back?"),
    h("p", null, "To look round, start the service with its demo, a whole machine as planned and as changed: ", h("code", null, "baywright serve --demo")),
    h("p", null, "Or begin with one calculator below: its example becomes your first plan."),
  );
}

/** Make a plan: of a calculator's example, or of a file. */
function startPart() {
  const place = h("div", { class: "start" });
  const fault = h("div");
  const fail = (error) => {
    if (error.name !== "AbortError") fill(fault, problemView(error, "h3"));
  };
  const select = h("select", { id: "start-calculator" });
  read("/v1/calculators").then(
    ({ items }) => fill(select, items.map((item) => h("option", { value: item.name }, item.title))),
    fail,
  );
  const make = async () => {
    const { title, examples, name } = await describe(select.value);
    const example = examples[0];
    const step = { id: name, calculator: name, title, inputs: example?.inputs ?? {} };
    await store({ title: example ? `${title}: ${example.title}`.slice(0, 200) : title, steps: [step] }, name);
  };
  const file = h("input", { id: "start-file", type: "file", accept: "application/json,.json" });
  const take = async () => {
    const chosen = file.files[0];
    if (chosen) await store(parsed(await chosen.text()), chosen.name.replace(/\.json$/i, ""));
  };
  fill(
    place,
    h("h2", null, "New plan"),
    h(
      "div",
      { class: "columns" },
      h("div", { class: "field" }, h("label", { for: "start-calculator" }, "From a calculator's example"), select,
        button("Make a plan of it", () => make().catch(fail), { class: "primary" })),
      h("div", { class: "field" }, h("label", { for: "start-file" }, "From a plan file (JSON)"), file,
        button("Store the file", () => take().catch(fail))),
    ),
    fault,
  );
  return place;
}

function parsed(text) {
  try {
    return JSON.parse(text);
  } catch (error) {
    throw Object.assign(new Error(`The file is not JSON: ${error.message}`), { body: { title: "The file cannot be read" } });
  }
}

/** Store under the first free id near `name`, and open it. */
export async function store(plan, name) {
  const stem = name.toLowerCase().replaceAll(/[^a-z0-9]+/g, "-").replaceAll(/^-+|-+$/g, "").slice(0, 56) || "plan";
  const taken = new Set((await readAll("/v1/plans")).map((each) => each.id));
  let id = stem;
  for (let k = 2; taken.has(id); k += 1) id = `${stem}-${k}`;
  await create(planPath(id), plan);
  window.location.hash = `#/plans/${id}`;
}

