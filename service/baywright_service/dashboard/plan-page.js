// One plan: what to do next, each step's answer, remedies at a button, saved as a new revision.

import { NoPlace, remedied } from "./remedies.js";
import { compared, draftAnswer, stepsOf, storedAnswer } from "./answers.js";
import { Draft, laid } from "./drafts.js";
import { changeView, stepNav } from "./plan-parts.js";
import { stepPart } from "./step-part.js";
import { button, download, fill, h, say } from "./dom.js";
import { ask, planPath, read, readDocument, replace } from "./api.js";
import { store } from "./plans-page.js";
import { equal } from "./pointers.js";
import { countsText, findingsView, problemView, remedyButton, verdictBadge } from "./verdict.js";

export async function planPage({ main, parameters: [id, step], query, signal, title }) {
  const { body, etag } = await readDocument(planPath(id), { signal });
  const page = new Plan({ main, signal, title, id, draft: new Draft(id, body, etag), base: `#/plans/${encodeURIComponent(id)}` });
  await page.open(step, query);
}

/** A plan that came out of a result and is not stored. */
export async function openedPage({ main, parameters: [key, step], query, signal, title }) {
  const plan = laid(key);
  if (!plan) {
    fill(main, title("This plan is no longer at hand"), h("p", null, "It came out of a calculation and was not stored. Run that calculation again and open it from there."));
    return;
  }
  const page = new Plan({ main, signal, title, draft: new Draft(`open-${key}`, plan, ""), base: `#/open/${key}` });
  await page.open(step, query);
}

class Plan {
  constructor(parts) {
    Object.assign(this, parts);
    this.badge = h("span", null, verdictBadge("waiting"));
    this.nav = h("div");
    this.tools = h("div", { class: "tools" });
    this.news = h("div");
    this.pane = h("div", { class: "pane" });
  }

  async open(step, query) {
    const { main, draft, signal } = this;
    const turn = (event) => {
      event.preventDefault();
      const [path, words = ""] = window.location.hash.slice(1).split("?");
      this.turn(path.split("/")[3], new URLSearchParams(words));
    };
    main.addEventListener("turn", turn, { signal });
    fill(
      main,
      this.title(draft.plan.title || this.id || "Plan", this.badge),
      draft.plan.about ? h("p", { class: "soft lead" }, draft.plan.about) : null,
      this.tools,
      this.news,
      h("div", { class: "plan" }, this.nav, this.pane),
    );
    this.step = step && decodeURIComponent(step);
    this.view = query.get("view") ?? undefined;
    if (draft.outdated) fill(this.news, this.conflict());
    await this.run();
  }

  turn(step, query) {
    this.step = step && decodeURIComponent(step);
    this.view = query.get("view") ?? undefined;
    this.shown = undefined;
    this.show();
    const head = this.pane.querySelector("h2");
    head?.setAttribute("tabindex", "-1");
    head?.focus({ preventScroll: true });
    this.pane.scrollIntoView({ block: "start" });
  }

  get asStored() {
    return this.id !== undefined && !this.draft.changed;
  }

  async run() {
    const { draft, signal } = this;
    this.show();
    fill(this.badge, verdictBadge("waiting"));
    this.main.setAttribute("aria-busy", "true");
    try {
      const glimpse = (answer) => {
        this.answer = answer;
        this.partial = true;
        this.show();
      };
      this.answer = this.asStored
        ? await storedAnswer(this.id, draft.plan, { signal, glimpse: this.answer ? undefined : glimpse })
        : await draftAnswer(draft.plan, { signal });
      this.partial = false;
      this.problem = undefined;
      say(`Calculated. The verdict is ${this.answer.verdict}: ${countsText(this.answer.findings)}.`);
    } catch (error) {
      if (error.name === "AbortError") throw error;
      this.problem = error;
    }
    this.main.removeAttribute("aria-busy");
    this.show();
  }

  show() {
    const { answer, draft } = this;
    const steps = stepsOf(draft.plan, answer);
    if (answer && !this.partial) fill(this.badge, verdictBadge(answer.verdict));
    fill(this.tools, this.toolButtons());
    fill(this.nav, stepNav(this.base, steps, this.step));
    if (this.stands(steps)) return;
    if (this.problem) fill(this.pane, problemView(this.problem));
    else if (!answer) fill(this.pane, h("p", { class: "soft", role: "status" }, "The plan is being calculated …"));
    else fill(this.pane, this.step ? this.stepView(steps) : this.overview(steps));
  }

  /** Whether the step that is looked at says what it said before: what was opened in it stays. */
  stands(steps) {
    const step = steps.find((each) => each.id === this.step);
    const now = step?.envelope && !this.problem ? { step: step.id, envelope: step.envelope, plan: this.draft.plan } : undefined;
    const same = now && this.shown && now.step === this.shown.step && now.plan === this.shown.plan && equal(now.envelope, this.shown.envelope);
    this.shown = now;
    return Boolean(same);
  }

  overview(steps) {
    const names = new Map(steps.map((step) => [step.id, step.title]));
    const done = steps.filter((step) => step.status === "done").length;
    const head = (id) => h("a", { href: `${this.base}/${encodeURIComponent(id)}` }, names.get(id) ?? id);
    const broken = steps.filter((step) => ["failed", "skipped"].includes(step.status));
    return [
      h("h2", null, "What to do next"),
      this.partial
        ? h("p", { class: "soft", role: "status" }, `${done} of ${steps.length} steps calculated; the rest follows …`)
        : h("p", { class: "soft" }, `${countsText(this.answer.findings)} in ${steps.length} steps.`),
      broken.map((step) => h("p", { class: "not-done" }, head(step.id), " could not be calculated.")),
      findingsView(this.answer.findings, { headOf: head, actions: this.partial ? undefined : this.actions }),
    ];
  }

  stepView(steps) {
    const step = steps.find((each) => each.id === this.step);
    if (!step) return h("p", null, `No step “${this.step}” stands in this plan.`);
    return stepPart({
      step,
      plan: this.draft.plan,
      answer: this.answer,
      id: this.id,
      stored: this.asStored,
      signal: this.signal,
      actions: this.actions,
      view: this.view,
      onView: (view) => {
        this.view = view;
        const address = `${this.base}/${encodeURIComponent(step.id)}?view=${encodeURIComponent(view)}`;
        window.history.replaceState(null, "", address);
      },
      onInputs: (inputs) => this.changeInputs(step, inputs),
    });
  }

  actions = (finding) => remedyButton(finding, (event) => this.doRemedy(finding, event.currentTarget));

  async doRemedy(finding, pressed) {
    const steps = this.draft.plan.steps;
    const index = steps.findIndex((step) => step.id === finding.step);
    try {
      const documents = (kind, id) => read(`/v1/${kind}s/${encodeURIComponent(id)}`);
      const done = await remedied(this.draft.plan, index, finding.remedy.patch, documents);
      await this.change(done.plan, finding.remedy.message, done);
    } catch (error) {
      if (!(error instanceof NoPlace)) throw error;
      pressed.disabled = true;
      pressed.after(h("p", { class: "fault", role: "alert" }, error.message));
    }
  }

  async changeInputs(step, inputs) {
    const plan = structuredClone(this.draft.plan);
    plan.steps[step.index].inputs = inputs;
    await this.change(plan, `Other inputs for ${step.title}`);
  }

  async change(plan, words, details) {
    const before = this.answer;
    this.draft.change(plan, words);
    this.step = undefined;
    window.history.pushState(null, "", this.base);
    fill(this.news, h("div", { class: "news" }, h("p", { role: "status" }, `${words} – calculated again …`)));
    this.news.scrollIntoView({ block: "center" });
    await this.run();
    if (this.problem) fill(this.news);
    else fill(this.news, changeView(words, compared(before, this.answer), details, this.draft.plan));
    this.news.firstElementChild?.focus();
  }

  async undo() {
    const last = this.draft.undo();
    fill(this.news, h("p", { class: "news", role: "status" }, `Undone: ${last.words}`));
    await this.run();
  }

  async save() {
    const { draft } = this;
    try {
      if (this.id === undefined) {
        await store(draft.plan, draft.plan.title ?? "plan");
        return;
      }
      const response = await replace(planPath(this.id), draft.plan, draft.based);
      draft.saved(draft.plan, response.headers.get("ETag"));
      fill(this.news, h("p", { class: "news", role: "status" }, "Stored as a new revision."));
      this.show();
    } catch (error) {
      fill(this.news, error.status === 412 ? this.conflict() : problemView(error));
    }
  }

  conflict() {
    return h(
      "div",
      { class: "news", role: "alert" },
      h("p", null, "Somebody stored another revision of this plan since you began to change it. Nothing was overwritten."),
      h(
        "div",
        { class: "tools" },
        button("Keep mine as a new plan", () => store(this.draft.plan, `${this.id}-mine`)),
        button("Give up my changes", () => this.giveUp()),
      ),
    );
  }

  /** The report of the plan as it is now, stored or not. */
  async report(form) {
    const { id, draft } = this;
    const name = id ?? "plan";
    fill(this.news, h("p", { class: "news", role: "status" }, "The report is being written …"));
    try {
      const accept = form === "pdf" ? "application/pdf" : "text/html";
      const response = this.asStored
        ? await ask(`${planPath(id)}/report?format=${form}`, { accept, signal: this.signal })
        : await ask(`/v1/reports?format=${form}`, { method: "POST", body: { plans: [{ name: name.slice(0, 40), plan: draft.plan }] }, accept, signal: this.signal });
      download(`${name}.${form}`, await response.blob());
      fill(this.news, h("p", { class: "news", role: "status" }, `The report is saved as ${name}.${form}.`));
    } catch (error) {
      if (error.name !== "AbortError") fill(this.news, problemView(error));
    }
  }

  async giveUp() {
    const { body, etag } = await readDocument(planPath(this.id));
    this.draft.saved(body, etag);
    fill(this.news);
    await this.run();
  }

  toolButtons() {
    const { draft, id } = this;
    const part = planPath(id ?? "");
    const name = id ?? "plan";
    const json = (value) => new Blob([JSON.stringify(value, null, 1)], { type: "application/json" });
    return [
      draft.changed || id === undefined
        ? button(id === undefined ? "Store this plan" : "Save as a new revision", () => this.save(), { class: "primary" })
        : null,
      draft.changed ? button(`Undo: ${draft.words.at(-1)}`, () => this.undo(), { class: "ellipsis" }) : null,
      button("Run again", () => this.run()),
      h(
        "details",
        { class: "menu", on: { keydown: closed, focusout: closed, click: closed } },
        h("summary", null, "Take it with you"),
        h(
          "ul",
          null,
          ["html", "pdf"].map((form) => h("li", null, button(`Report (${form.toUpperCase()})`, () => this.report(form)))),
          this.asStored
            ? [["report?format=html", "Open the report"], ["badge", "Badge (SVG)"]].map(([what, words]) =>
                h("li", null, h("a", { href: `${part}/${what}`, target: "_blank", rel: "noopener" }, words)))
            : null,
          this.answer ? h("li", null, button("Answer (JSON)", () => download(`${name}-answer.json`, json(this.answer)))) : null,
          h("li", null, button("Plan (JSON)", () => download(`${name}.json`, json(draft.plan)))),
          h("li", null, button("Print this page", () => window.print())),
        ),
      ),
      id !== undefined ? h("a", { class: "button", href: `#/batches?plan=${encodeURIComponent(id)}` }, "Vary it in a batch") : null,
    ];
  }
}

/** A menu closes with Escape, with a choice, and when the focus leaves it. */
function closed(event) {
  const menu = event.currentTarget;
  if (event.type === "keydown" && event.key === "Escape") {
    menu.open = false;
    menu.querySelector("summary").focus();
  } else if (event.type === "click" && event.target.closest("li")) {
    menu.open = false;
  } else if (event.type === "focusout" && event.relatedTarget && !menu.contains(event.relatedTarget)) {
    menu.open = false;
  }
}
