// A remedy's merge patch put into a plan: where the values really stand, kit and references too.

import { isObject } from "./labels.js";
import { differences, mergePatch, partsOf } from "./pointers.js";

/** The patch has no place in the plan; the message says why and what to do. */
export class NoPlace extends Error {}

/** The plan with `patch` merged into the inputs of step `index`, and what that changes.
 *
 * A value that comes from another step is changed there, one that all steps share in the plan.
 * `documents` gives the body of a kit or stock that the plan names by id. Raises NoPlace.
 */
export async function remedied(plan, index, patch, documents) {
  const changed = structuredClone(plan);
  const notes = [];
  for (const [key, value] of Object.entries(patch)) {
    await put(changed, index, key, value, documents, notes);
  }
  return { plan: changed, changes: differences(plan, changed), notes };
}

async function put(plan, index, key, value, documents, notes) {
  const step = plan.steps[index];
  step.inputs ??= {};
  const shared = ["kit", "stock"].includes(key) && step.inputs[key] === undefined;
  if (shared && plan[key] !== undefined) {
    plan[key] = mergePatch(await inline(plan[key], key, documents), value);
    notes.push(`The ${key} is shared by all steps of the plan.`);
  } else {
    merge(plan, step.inputs, key, value, notes, 0);
  }
}

async function inline(value, kind, documents) {
  const byId = isObject(value) && typeof value.id === "string" && Object.keys(value).length <= 2;
  return byId && !("rods" in value) ? documents(kind, value.id) : value;
}

function merge(plan, place, key, value, notes, depth) {
  const there = place[key];
  if (isObject(there) && typeof there.$ref === "string") {
    if (isObject(value) && depth < 10) mergeAtSource(plan, there.$ref, value, notes, depth);
    else throw new NoPlace(`${key} is the result of another step; change it there.`);
  } else if (isObject(value) && isObject(there)) {
    for (const [inner, one] of Object.entries(value)) merge(plan, there, inner, one, notes, depth);
  } else if (value === null) {
    delete place[key];
  } else {
    place[key] = mergePatch(undefined, value);
  }
}

/** A result that hands on what its step was given is changed at that step's inputs. */
function mergeAtSource(plan, reference, patch, notes, depth) {
  const id = partsOf(reference.slice(1))[1];
  const source = plan.steps.find((step) => step.id === id);
  const inputs = source?.inputs ?? {};
  const strange = Object.keys(patch).find((key) => !Object.hasOwn(inputs, key));
  if (!source || strange !== undefined) {
    throw new NoPlace(
      `What is to change comes from step “${source?.title ?? id}”, which works it out itself. ` +
        "Open that step and change its inputs.",
    );
  }
  for (const [key, value] of Object.entries(patch)) {
    merge(plan, inputs, key, value, notes, depth + 1);
  }
  notes.push(`It comes from step “${source.title ?? id}” and is changed there.`);
}
