// One calculator by itself: a form made from its schema, and its answer beside it.

import { sourcesOfRun } from "./answers.js";
import { describe, post } from "./api.js";
import { button, fill, h, say } from "./dom.js";
import { schemaForm } from "./form.js";
import { store } from "./plans-page.js";
import { resultView } from "./result.js";
import { problemView } from "./verdict.js";

export async function calculatorPage({ main, parameters: [name], query, signal, title }) {
  const description = await describe(name);
  const { examples } = description;
  const answer = h("section", { class: "answer-part", "aria-label": "Answer" });
  const form = schemaForm(description.input_schema, { label: "Calculate", send: (inputs) => run(inputs, true) });
  const chosen = Math.min(Math.max(Number(query.get("example") ?? 0) || 0, 0), examples.length - 1);
  const select = h(
    "select",
    { id: "example", on: { change: () => start(Number(select.value)) } },
    examples.map((example, k) => h("option", { value: String(k), selected: k === chosen }, example.title)),
  );

  async function start(k) {
    window.history.replaceState(null, "", `#/calculators/${encodeURIComponent(name)}?example=${k}`);
    form.write(examples[k].inputs);
    await run(examples[k].inputs);
  }

  async function run(inputs, asked) {
    form.busy(true);
    answer.setAttribute("aria-busy", "true");
    try {
      const envelope = await post(`/v1/calculators/${encodeURIComponent(name)}/run`, inputs, { signal });
      fill(answer, h("h2", null, "Answer"), shown(envelope, inputs));
      say(`Calculated. The verdict is ${envelope.verdict}.`);
      if (asked) answer.scrollIntoView({ block: "nearest" });
    } catch (error) {
      if (error.name === "AbortError") return;
      if (error.errors.length) form.showFaults(error.errors);
      fill(answer, problemView({ body: error.body, message: error.message }));
    } finally {
      form.busy(false);
      answer.removeAttribute("aria-busy");
    }
  }

  function shown(envelope, inputs) {
    const view = query.get("view") ?? undefined;
    return [
      resultView({
        envelope,
        findings: envelope.findings,
        description,
        sources: sourcesOfRun(description, () => Promise.resolve(inputs)),
        signal,
        view,
        onView: () => undefined,
      }),
      h(
        "div",
        { class: "tools" },
        button("Store as a plan", () => keep(inputs)),
      ),
    ];
  }

  async function keep(inputs) {
    const step = { id: name, calculator: name, title: description.title, inputs };
    await store({ title: description.title, steps: [step] }, name);
  }

  fill(
    main,
    title(description.title),
    h("p", { class: "soft lead" }, description.summary),
    examples.length
      ? h("div", { class: "field example" }, h("label", { for: "example" }, "Start from an example"), select)
      : null,
    h("div", { class: "two" }, h("section", { "aria-label": "Inputs" }, form.element), answer),
  );
  if (examples.length) await start(chosen);
  else fill(answer, h("p", { class: "soft" }, "Fill in the form and press Calculate."));
}
