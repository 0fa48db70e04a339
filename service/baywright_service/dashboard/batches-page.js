// All batches, and a small form that starts one: a plan, a number in it, the values to try.

import { freshKey, post, readAll, readDocument, planPath } from "./api.js";
import { stepsOf, storedAnswer } from "./answers.js";
import { batchBar, follow, isRunning } from "./batch-live.js";
import { fill, freshId, h, pause } from "./dom.js";
import { capital, instantText, nameAndUnit } from "./labels.js";
import { pointer } from "./pointers.js";
import { problemView } from "./verdict.js";

const LOOK_AGAIN_MS = 5_000;
const MOST_FIELDS = 400;

export async function batchesPage({ main, query, signal, title }) {
  const list = h("div", { class: "batches" });
  fill(main, title("Batches"), h("p", { class: "soft lead" }, "One plan calculated many times, with something else in it each time."), list, await startForm(query.get("plan"), signal));
  const shown = new Map();
  for (;;) {
    await renew(list, shown, signal);
    await pause(LOOK_AGAIN_MS, signal);
  }
}

async function renew(list, shown, signal) {
  const batches = await readAll("/v1/batches", { signal, most: 200 });
  for (const batch of batches) {
    if (shown.has(batch.id)) shown.get(batch.id).show(batch);
    else {
      const bar = batchBar(batch);
      bar.element.append(h("p", { class: "soft small" }, `Made ${instantText(batch.created_at)}`));
      shown.set(batch.id, bar);
      if (isRunning(batch)) follow(batch.id, signal, bar.show).catch(() => undefined);
    }
  }
  const there = new Set(batches.map((batch) => batch.id));
  for (const id of shown.keys()) if (!there.has(id)) shown.delete(id);
  const elements = batches.map((batch) => shown.get(batch.id).element);
  if (elements.some((element, k) => list.children[k] !== element) || list.children.length !== elements.length || !elements.length) {
    fill(list, elements.length ? elements : h("p", null, "No batch has been started yet."));
  }
}

async function startForm(wanted, signal) {
  const plans = await readAll("/v1/plans", { signal, most: 200 });
  if (!plans.length) {
    return h("section", null, h("h2", null, "Start a batch"), h("p", null, "Store a plan first; a batch varies a stored plan. ", h("a", { href: "#/" }, "To the plans"), "."));
  }
  const id = (name) => freshId(name);
  const plan = h("select", { id: id("plan") }, plans.map((each) => h("option", { value: each.id, selected: each.id === wanted }, each.title || each.id)));
  const field = h("select", { id: id("vary") });
  const values = h("input", { id: id("values"), type: "text", inputmode: "decimal", autocomplete: "off" });
  const keep = h("div", { class: "keep" });
  const now = h("p", { class: "hint" });
  const fault = h("div");
  let numbers = new Map();

  async function choose() {
    const { body } = await readDocument(planPath(plan.value), { signal });
    numbers = new Map(numbersOf(body).map((each) => [each.place, each]));
    fill(field, byStep([...numbers.values()], (step, entries) =>
      h("optgroup", { label: step }, entries.map((each) => h("option", { value: each.place }, each.words)))));
    tell();
    fill(keep, h("p", { class: "soft" }, "The results are being asked for …"));
    const answer = await storedAnswer(plan.value, body, { signal, glimpse: undefined });
    fill(keep, byStep(resultsOf(body, answer), (step, entries) =>
      h("details", null, h("summary", null, `${step} (${entries.length})`), entries.map(tick))));
  }

  const tell = () => {
    const chosen = numbers.get(field.value);
    now.textContent = chosen ? `It is ${chosen.value} now. Write the values to try, such as ${near(chosen.value)}.` : "";
  };

  async function send(event) {
    event.preventDefault();
    fill(fault);
    const words = values.value.split(/[\s;]+|,(?=\s|$)/).filter(Boolean);
    const tried = words.flatMap((word) => word.split(",")).map(Number);
    if (!tried.length || tried.some((value) => !Number.isFinite(value))) {
      fill(fault, h("p", { class: "fault", role: "alert" }, "Write numbers, separated by spaces or commas."));
      values.focus();
      return;
    }
    const request = {
      title: `${capital(field.selectedOptions[0].parentElement.label)}, ${numbers.get(field.value).words} of ${plan.selectedOptions[0].textContent}`.slice(0, 200),
      plan: { id: plan.value },
      vary: [{ pointer: field.value, values: tried }],
      keep: [...keep.querySelectorAll("input:checked")].map((each) => each.dataset.place),
    };
    try {
      const headers = { "Idempotency-Key": freshKey() };
      const batch = await post("/v1/batches", request, { headers });
      window.location.hash = `#/batches/${encodeURIComponent(batch.id)}`;
    } catch (error) {
      fill(fault, problemView(error, "h3"));
    }
  }

  const failed = (error) => error.name !== "AbortError" && fill(fault, problemView(error, "h3"));
  plan.addEventListener("change", () => choose().catch(failed));
  field.addEventListener("change", tell);
  choose().catch(failed);
  const labelled = (words, control, ...more) => h("div", { class: "field" }, h("label", { for: control.id }, words), control, more);
  return h(
    "form",
    { class: "batch-form", novalidate: true, on: { submit: send } },
    h("h2", null, "Start a batch"),
    labelled("Plan", plan),
    labelled("What to vary", field),
    labelled("Values to try", values, now),
    h("fieldset", { class: "group-field" }, h("legend", null, "What to keep of each answer"), h("p", { class: "hint" }, "Besides the verdict; what is kept is drawn and can be sorted by."), keep),
    fault,
    h("div", { class: "tools" }, h("button", { type: "submit", class: "primary" }, "Start the batch")),
  );
}

/** Entries grouped by their step, each group made into an element. */
function byStep(entries, make) {
  const steps = [...new Set(entries.map((each) => each.step))];
  return steps.map((step) => make(step, entries.filter((each) => each.step === step)));
}

function tick({ place, words }) {
  const id = freshId("keep");
  return h("div", { class: "tick" }, h("input", { type: "checkbox", id, "data-place": place }), h("label", { for: id }, words));
}

/** Every number among the inputs of a plan's steps. */
function numbersOf(plan) {
  const found = [];
  plan.steps.forEach((step, k) => collect(step.inputs ?? {}, `/steps/${k}/inputs`, step.id, "", found));
  return found;
}

/** Single numbers of each step's result. */
function resultsOf(plan, answer) {
  const found = [];
  for (const step of stepsOf(plan, answer)) {
    collect(step.envelope?.result ?? {}, `/steps/${step.id}/result`, step.id, "", found, 3);
  }
  return found;
}

function collect(value, place, step, words, found, depth = 12) {
  if (found.length >= MOST_FIELDS || depth === 0 || typeof value !== "object" || value === null) return;
  const numbers = Array.isArray(value) && value.length > 12;
  if (numbers) return;
  for (const [key, inner] of Object.entries(value)) {
    const name = Array.isArray(value) ? `no. ${Number(key) + 1}` : nameAndUnit(key).filter(Boolean).join(" in ");
    const here = words ? `${words}, ${name}` : capital(name);
    if (typeof inner === "number") found.push({ place: place + pointer(key), step, words: here, value: inner });
    else collect(inner, place + pointer(key), step, here, found, depth - 1);
  }
}

function near(value) {
  const step = Math.abs(value) >= 1 && Number.isInteger(value) ? Math.max(1, Math.round(Math.abs(value) * 0.1)) : Math.abs(value) * 0.1 || 1;
  return [value - step, value, value + step].map((each) => Number(each.toPrecision(6))).join(" ");
}
