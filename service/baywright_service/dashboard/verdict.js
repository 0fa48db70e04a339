// Verdicts and findings: a word and a shape each, so that colour is never needed.

import { button, folded, h } from "./dom.js";
import { HEADINGS, LEVELS, SHAPES, counted, measureText } from "./labels.js";

/** A verdict as a badge. `waiting` and `running` are for answers that are not there yet. */
export function verdictBadge(level, size = "") {
  const known = LEVELS.includes(level);
  const mark = known ? SHAPES[level] : "…";
  const word = known ? level : "being calculated";
  return h(
    "span",
    { class: `verdict ${known ? level : "waiting"} ${size}`.trim() },
    h("span", { class: "mark", "aria-hidden": "true" }, mark),
    known || size !== "tiny" ? word : h("span", { class: "unseen" }, word),
  );
}

/** How many findings of each level there are, in words. */
export function countsText(findings) {
  const counts = Object.fromEntries(LEVELS.map((level) => [level, 0]));
  for (const finding of findings) counts[finding.level] += 1;
  const parts = [...LEVELS].reverse().filter((level) => counts[level]);
  return parts.map((level) => `${counts[level]} ${level}`).join(", ") || "no findings";
}

/** Findings grouped by what to do next: stop first, then watch; good things folded.
 *
 * `heading` is the tag of the groups' headings. `actions(finding)` gives what stands beside a
 * remedy; `headOf(step id)` gives what stands over the findings of one step, or nothing.
 */
export function findingsView(findings, { heading = "h3", actions, headOf, most = Infinity } = {}) {
  const place = h("div", { class: "findings" });
  for (const level of ["stop", "watch"]) {
    const groups = grouped(findings.filter((finding) => finding.level === level));
    if (!groups.length) continue;
    const seen = groups.slice(0, most);
    place.append(
      h(
        "section",
        { class: `group ${level}` },
        h(heading, null, verdictBadge(level), ` ${HEADINGS[level]}`),
        h("ul", { class: "plain" }, listed(seen, level, actions, headOf)),
        groups.length > most
          ? h("p", { class: "soft" }, `${counted(groups.length - most, "more thing")} to see to.`)
          : null,
      ),
    );
  }
  const good = grouped(findings.filter((finding) => finding.level === "ok"));
  if (good.length && most === Infinity) {
    const list = h("ul", { class: "plain" }, listed(good, "ok", actions, headOf));
    const serious = findings.some((finding) => finding.level !== "ok");
    const words = [verdictBadge("ok"), ` ${HEADINGS.ok} (${good.length})`];
    const part = h("section", { class: "group ok" });
    part.append(serious ? folded(words, list) : h("div", null, h(heading, null, words), list));
    place.append(part);
  }
  if (!findings.length) place.append(h("p", { class: "soft" }, "Nothing to report."));
  return place;
}

/** Findings of one step that the same remedy clears are one thing to do. */
function grouped(findings) {
  const groups = new Map();
  findings.forEach((finding, index) => {
    const remedy = finding.remedy?.message;
    const key = JSON.stringify([finding.step, remedy ?? index]);
    if (!groups.has(key)) groups.set(key, []);
    groups.get(key).push(finding);
  });
  return [...groups.values()];
}

function listed(groups, level, actions, headOf) {
  let last;
  const items = [];
  for (const group of groups) {
    const step = group[0].step;
    if (headOf && step !== last) items.push(h("li", { class: "of-step" }, headOf(step)));
    last = step;
    items.push(findingItem(group, level, actions));
  }
  return items;
}

function findingItem(group, level, actions) {
  const remedy = group[0].remedy;
  return h(
    "li",
    { class: `finding ${level}` },
    group.map((finding) => [
      h(
        "p",
        null,
        h("span", { class: "mark", "aria-hidden": "true" }, `${SHAPES[level]} `),
        h("span", { class: "unseen" }, `${level}: `),
        finding.message,
      ),
      measureText(finding.measure) ? h("p", { class: "measure" }, measureText(finding.measure)) : null,
    ]),
    remedy ? h("p", { class: "remedy" }, remedy.message) : null,
    remedy?.patch !== undefined && actions ? actions(group[0]) : null,
  );
}

/** The button that does what a remedy says. */
export function remedyButton(finding, act) {
  const label = `Do it: ${finding.remedy.message}`;
  return h(
    "div",
    { class: "do" },
    button("Do it", act, { class: "primary", "aria-label": label }),
    h("span", { class: "soft small" }, "Tried: this clears it. You can undo it."),
  );
}

/** A problem of the service, for people. */
export function problemView(error, heading = "h2") {
  const errors = error.errors ?? [];
  return h(
    "div",
    { class: "problem", role: "alert" },
    h(heading, null, error.body?.title ?? "That did not work"),
    h("p", null, error.message),
    errors.length
      ? h(
          "ul",
          null,
          errors.slice(0, 12).map((each) => {
            const place = each.pointer ?? each.parameter ?? each.header ?? "";
            return h("li", null, place ? h("code", null, place) : null, place ? ": " : "", each.detail);
          }),
        )
      : null,
  );
}
