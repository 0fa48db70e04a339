// What plans answer: asked for whole, with a first glimpse while a long calculation runs.

import { ask, describe, planPath, post, read } from "./api.js";
import { pause } from "./dom.js";
import { LEVELS, isObject } from "./labels.js";
import { partsOf } from "./pointers.js";

const PATIENCE_MS = 150;

/** The summary of a stored plan; `glimpse` gets the answer of its first step if that is sooner. */
export function summaryOf(id, { signal, glimpse } = {}) {
  const whole = read(`${planPath(id)}/summary`, { signal });
  return glimpse ? withGlimpse(whole, () => read(planPath(id), { signal }), glimpse, signal) : whole;
}

/** The answer of a stored plan as it is stored. */
export function storedAnswer(id, plan, { signal, glimpse } = {}) {
  const whole = read(`${planPath(id)}/answer`, { signal });
  return withGlimpse(whole, () => Promise.resolve(plan), glimpse, signal);
}

/** The answer of a plan that is not stored, or changed since. */
export function draftAnswer(plan, { signal } = {}) {
  return post("/v1/plans/run", plan, { signal });
}

async function withGlimpse(whole, planOf, glimpse, signal) {
  let done = false;
  whole.then(() => (done = true), () => (done = true));
  firstAnswer(planOf, () => done, signal)
    .then((answer) => answer && !done && glimpse(answer))
    .catch(() => undefined); // the whole answer says what is wrong
  return whole;
}

async function firstAnswer(planOf, done, signal) {
  await pause(PATIENCE_MS, signal);
  if (done()) return undefined;
  const plan = await planOf();
  const first = plan.steps.find((step) => !holdsReference(step.inputs));
  return first && !done() ? post("/v1/plans/run", { ...plan, steps: [first] }, { signal }) : undefined;
}

/** Whether a value holds a reference to another step's result. */
function holdsReference(value) {
  if (isObject(value)) return "$ref" in value || Object.values(value).some(holdsReference);
  return Array.isArray(value) && value.some(holdsReference);
}

/** The steps of a plan beside what each answered; `plan` may be missing (a summary alone). */
export function stepsOf(plan, answer) {
  const answered = new Map((answer?.steps ?? []).map((step) => [step.id, step]));
  const listed = plan?.steps ?? answer?.steps ?? [];
  return listed.map((step, index) => {
    const found = answered.get(step.id);
    return {
      id: step.id,
      index,
      calculator: step.calculator,
      title: step.title || found?.title || step.id,
      inputs: step.inputs,
      status: found?.status ?? "waiting",
      verdict: found ? verdictOf(found) : "waiting",
      envelope: found?.envelope,
      problem: found?.problem,
      skippedBecause: found?.skipped_because ?? [],
      findings: (answer?.findings ?? []).filter((finding) => finding.step === step.id),
    };
  });
}

function verdictOf(step) {
  const level = step.verdict ?? step.envelope?.verdict ?? "stop";
  return LEVELS.includes(level) ? level : "stop";
}

/** One sentence on a step that has no result. */
export function whyNotDone(step) {
  if (step.status === "skipped") return `Not run: it waits for ${step.skippedBecause.join(", ")}.`;
  const first = step.problem?.errors?.[0];
  return first?.detail ?? step.problem?.detail ?? "No reason was given.";
}

/** A step's inputs as they were calculated: references resolved, kit and stock of the plan put in. */
async function resolvedInputs(plan, step, answer) {
  const results = new Map((answer.steps ?? []).map((each) => [each.id, each.envelope?.result]));
  const inputs = resolved(step.inputs ?? {}, results);
  const known = (await describe(step.calculator)).input_schema.properties ?? {};
  for (const kind of ["kit", "stock"]) {
    if (plan[kind] !== undefined && inputs[kind] === undefined && kind in known) {
      inputs[kind] = plan[kind];
    }
  }
  return inputs;
}

function resolved(value, results) {
  if (Array.isArray(value)) return value.map((each) => resolved(each, results));
  if (!isObject(value)) return value;
  if (typeof value.$ref === "string") {
    const [, step, , ...rest] = partsOf(decodeURIComponent(value.$ref.slice(1)));
    return rest.reduce((inner, part) => inner?.[part], results.get(step));
  }
  return Object.fromEntries(Object.entries(value).map(([key, each]) => [key, resolved(each, results)]));
}

/** How to get the drawings and the table of a step: by address while the plan is as stored. */
export function sourcesOfStep({ id, plan, answer, step, description, stored }) {
  if (!stored) return sourcesOfRun(description, () => resolvedInputs(plan, step, answer));
  const base = `${planPath(id)}/steps/${encodeURIComponent(step.id)}`;
  return sources(
    description,
    (view, form, signal) =>
      ask(`${base}/drawing?format=${form}&view=${encodeURIComponent(view)}`, taken(form, signal)),
    (signal) => ask(`${base}/table`, taken("csv", signal)),
    (signal) => ask(`${base}/scene`, taken("scene", signal)),
  );
}

/** The same for one run of a calculator; `inputsOf` gives the inputs. */
export function sourcesOfRun(description, inputsOf) {
  const run = `/v1/calculators/${encodeURIComponent(description.name)}/run`;
  const posted = async (query, options) =>
    ask(`${run}?format=${query}`, { ...options, method: "POST", body: await inputsOf() });
  return sources(
    description,
    (view, form, signal) => posted(`${form}&view=${encodeURIComponent(view)}`, taken(form, signal)),
    (signal) => posted("csv", taken("csv", signal)),
    (signal) => posted("scene", taken("scene", signal)),
  );
}

const TYPES = {
  svg: "image/svg+xml", pdf: "application/pdf", dxf: "image/vnd.dxf", csv: "text/csv",
  scene: "application/vnd.baywright.scene+json",
};

const taken = (form, signal) => ({ signal, accept: `${TYPES[form]}, application/problem+json` });

function sources(description, drawing, table, scene) {
  const has = (form) => (description.media_types ?? []).some((each) => each.startsWith(TYPES[form]));
  return {
    views: has("svg") ? description.views ?? [] : [],
    files: ["svg", "pdf", "dxf"].filter(has),
    drawing,
    table: has("csv") ? table : undefined,
    scene: has("scene") ? scene : undefined,
  };
}

/** What of one result is worth a comparison: findings as keys. */
function findingKey(finding) {
  return JSON.stringify([finding.step, finding.code, finding.level, finding.message]);
}

/** What a new answer changes: findings gone and come, steps whose verdict is another. */
export function compared(before, after) {
  const old = new Set(before.findings.map(findingKey));
  const now = new Set(after.findings.map(findingKey));
  const serious = (finding) => finding.level !== "ok";
  const verdicts = new Map(before.steps.map((step) => [step.id, verdictOf(step)]));
  return {
    verdict: [before.verdict, after.verdict],
    gone: before.findings.filter((each) => serious(each) && !now.has(findingKey(each))),
    come: after.findings.filter((each) => serious(each) && !old.has(findingKey(each))),
    steps: after.steps
      .filter((step) => verdicts.has(step.id) && verdicts.get(step.id) !== verdictOf(step))
      .map((step) => ({ id: step.id, verdict: [verdicts.get(step.id), verdictOf(step)] })),
  };
}

/** Every value of `result` under a key `plan` that can be opened as a plan, with its place. */
export function plansIn(value, place = "", found = []) {
  if (found.length >= 500 || typeof value !== "object" || value === null) return found;
  for (const [key, inner] of Object.entries(value)) {
    if (key === "plan" && isObject(inner) && Array.isArray(inner.steps)) {
      found.push({ place, plan: inner, holder: value });
    } else {
      plansIn(inner, `${place}/${key}`, found);
    }
  }
  return found;
}
