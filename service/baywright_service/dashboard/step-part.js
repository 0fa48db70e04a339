// One step of a plan: its question, its answer, and its inputs to change.

import { sourcesOfStep, whyNotDone } from "./answers.js";
import { describe } from "./api.js";
import { fill, folded, h } from "./dom.js";
import { schemaForm } from "./form.js";
import { resultView } from "./result.js";
import { problemView, verdictBadge } from "./verdict.js";

/** The part of the page; it fills itself when the calculator has been asked what it draws. */
export function stepPart(parts) {
  const place = h("article", { class: "step" }, h("p", { class: "soft", role: "status" }, "One moment …"));
  describe(parts.step.calculator).then(
    (description) => fill(place, content(parts, description)),
    (error) => fill(place, problemView(error)),
  );
  return place;
}

function content(parts, description) {
  const { step, answer, plan } = parts;
  const head = [
    h("h2", null, step.title),
    h("p", { class: "soft" }, description.summary, " ", h("a", { href: `#/calculators/${description.name}` }, description.title)),
  ];
  if (step.status === "waiting") return [...head, h("p", { role: "status" }, verdictBadge("waiting"))];
  if (!step.envelope) {
    return [...head, h("p", { class: "answer" }, verdictBadge("stop"), ` ${whyNotDone(step)}`), inputsPart(parts, description, true)];
  }
  return [
    ...head,
    resultView({
      ...parts,
      envelope: step.envelope,
      findings: step.findings,
      description,
      sources: sourcesOfStep({ ...parts, description }),
    }),
    inputsPart(parts, description, false),
  ];
}

function inputsPart({ step, onInputs }, description, open) {
  const part = folded([h("h3", { class: "inline" }, "Inputs of this step")]);
  let made = false;
  const make = () => {
    if (made || !part.open) return;
    made = true;
    const form = schemaForm(description.input_schema, { value: step.inputs ?? {}, label: "Change and calculate", send: onInputs });
    part.append(form.element);
    if (step.problem?.errors) form.showFaults(inStep(step));
  };
  part.addEventListener("toggle", make);
  part.open = open;
  return part;
}

/** A step's faults point into the plan; its form wants them inside the inputs. */
function inStep(step) {
  const prefix = `/steps/${step.index}/inputs`;
  return step.problem.errors.map((error) => ({ ...error, pointer: (error.pointer ?? "").replace(prefix, "") }));
}
