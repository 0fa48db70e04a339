// Parts of the plan page: its steps as a list of links, and what a change has changed.

import { h } from "./dom.js";
import { nameAndUnit, numberText } from "./labels.js";
import { partsOf } from "./pointers.js";
import { verdictBadge } from "./verdict.js";

const MOST_CHANGES = 12;

/** Links to what to do next and to each step, with its verdict. */
export function stepNav(base, steps, chosen) {
  const entry = (href, words, level, here) =>
    h(
      "li",
      null,
      h(
        "a",
        { href, "aria-current": here ? "true" : null },
        h("span", { class: "words" }, words),
        level ? verdictBadge(level, "tiny") : null,
      ),
    );
  return h(
    "nav",
    { class: "steps", "aria-label": "Steps of the plan" },
    h(
      "ol",
      null,
      entry(base, "What to do next", undefined, !chosen),
      steps.map((step) =>
        entry(`${base}/${encodeURIComponent(step.id)}`, step.title, step.verdict, step.id === chosen),
      ),
    ),
  );
}

/** What a change did: the verdicts, findings gone and come, and the fields changed. */
export function changeView(words, { verdict, gone, come, steps }, details, plan) {
  const [before, after] = verdict;
  return h(
    "section",
    { class: "news", tabindex: "-1", "aria-label": "What the change did" },
    h("p", null, h("b", null, `Done: ${words}`)),
    (details?.notes ?? []).map((note) => h("p", { class: "soft" }, note)),
    h("p", null, "The plan: ", verdictBadge(before), before === after ? " as before" : [" is now ", verdictBadge(after)]),
    steps.length
      ? h("ul", { class: "plain" }, steps.map((step) => h("li", null, `${step.id}: `, verdictBadge(step.verdict[0]), " is now ", verdictBadge(step.verdict[1]))))
      : null,
    gone.length ? part(`No longer said (${gone.length})`, gone) : null,
    come.length ? part(`New (${come.length})`, come) : null,
    !gone.length && !come.length ? h("p", null, "No finding came or went.") : null,
    details?.changes.length ? changed(details.changes, plan) : null,
  );
}

function part(title, findings) {
  return h(
    "details",
    { open: findings.length < 6 },
    h("summary", null, title),
    h("ul", null, findings.map((finding) => h("li", null, `${finding.level}: ${finding.message}`))),
  );
}

function changed(changes, plan) {
  const shown = changes.slice(0, MOST_CHANGES);
  const left = changes.length - shown.length;
  return h(
    "details",
    null,
    h("summary", null, `Fields changed (${changes.length})`),
    h("ul", null, shown.map((each) => h("li", null, `${placeText(each.place, plan)}: ${short(each.before)} → ${short(each.after)}`))),
    left > 0 ? h("p", { class: "soft" }, `and ${left} more.`) : null,
  );
}

function placeText(place, plan) {
  const parts = partsOf(place);
  const step = parts[0] === "steps" ? plan.steps[Number(parts[1])] : undefined;
  const inner = step ? parts.slice(3) : parts;
  const words = inner.map((part) => (/^\d+$/.test(part) ? `no. ${Number(part) + 1}` : nameAndUnit(part).filter(Boolean).join(" in ")));
  return [...(step ? [step.id] : []), ...words].join(", ");
}

function short(value) {
  if (value === undefined) return "not said";
  if (typeof value === "number") return numberText(value);
  const text = typeof value === "string" ? value : JSON.stringify(value);
  return text.length > 60 ? `${text.slice(0, 59)}…` : text;
}
