// Results that hold whole plans: a picture of two of their numbers, in which a click opens one.

import { plansIn } from "./answers.js";
import { tableView } from "./csv.js";
import { lay } from "./drafts.js";
import { button, h } from "./dom.js";
import { capital, isObject, nameAndUnit } from "./labels.js";
import { scatter } from "./scatter.js";

/** The plans inside a result, to be opened; nothing where there is none. */
export function candidates(result, heading = "h3") {
  const found = plansIn(result).map(candidate);
  if (!found.length) return null;
  const names = numbersIn(found, (result.objectives ?? []).map((each) => each?.field));
  return h(
    "section",
    { class: "candidates" },
    h(heading, null, found.length === 1 ? "A plan came out of this" : `${found.length} plans came out of this`),
    h("p", null, "Open one to see it calculated whole, to change it and to store it."),
    found.length > 1 && names.length > 1 ? scatter(found, names, words) : null,
    listing(found, names),
  );
}

function candidate({ place, plan, holder }, index) {
  const own = [holder.id, holder.title ?? holder.words].filter((each) => typeof each === "string" && each);
  const name = own.join(": ") || plan.title || `Candidate ${index + 1}`;
  const values = {};
  collect(holder, "", values, 2);
  const open = () => (window.location.hash = `#/open/${lay(plan, name)}`);
  const [short, about] = own.length > 1 ? own : [name, ""];
  return { place, plan, name, short, about, values, open };
}

function collect(object, prefix, values, depth) {
  for (const [key, value] of Object.entries(object)) {
    if (key === "plan") continue;
    if (typeof value === "number") values[prefix + key] = value;
    else if (isObject(value) && depth > 1) collect(value, `${prefix}${key}.`, values, depth - 1);
  }
}

/** Numbers that every candidate has and that are not the same for all; what was aimed at first. */
function numbersIn(found, aims) {
  const differing = Object.keys(found[0].values).filter((name) => {
    const all = found.map((each) => each.values[name]);
    return all.every((value) => typeof value === "number") && new Set(all).size > 1;
  });
  return [...differing.filter((name) => aims.includes(name)), ...differing.filter((name) => !aims.includes(name))];
}

const words = (name) => capital(nameAndUnit(name.split(".").pop()).filter(Boolean).join(", "));

function listing(found, names) {
  const shown = names.slice(0, 8);
  const rows = found.map((each) => {
    const cell = h(
      "div",
      { "data-sort": each.name, class: "candidate" },
      button(`Open ${each.short}`, each.open),
      each.about ? h("p", { class: "soft small" }, each.about) : null,
    );
    return [cell, ...shown.map((name) => each.values[name] ?? "")];
  });
  return tableView("Plans that came out of this", ["plan", ...shown], rows, {
    named: (field) => (field === "plan" ? "Open as a plan" : words(field)),
  });
}
