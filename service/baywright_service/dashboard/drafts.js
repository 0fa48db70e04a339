// A plan being changed: not stored until somebody says so, every change can be taken back.

const MOST_CHANGES = 30;

/** The working copy of a plan, kept for this tab. `id` is that of the stored plan, or of none. */
export class Draft {
  constructor(key, stored, etag) {
    this.key = `baywright-draft:${key}`;
    this.stored = stored;
    this.etag = etag;
    this.history = [];
    this.based = etag;
    this.load();
  }

  /** The plan as it would be run now. */
  get plan() {
    return this.history.length ? this.history[this.history.length - 1].plan : this.stored;
  }

  get changed() {
    return this.history.length > 0;
  }

  /** Whether somebody stored another revision since the first change here. */
  get outdated() {
    return this.changed && this.based !== this.etag;
  }

  /** The words for each change, in order. */
  get words() {
    return this.history.map((change) => change.words);
  }

  change(plan, words) {
    if (!this.history.length) this.based = this.etag;
    this.history = [...this.history, { plan, words }].slice(-MOST_CHANGES);
    this.keep();
  }

  undo() {
    const last = this.history.pop();
    this.keep();
    return last;
  }

  /** What was the draft is stored now, as `etag`. */
  saved(plan, etag) {
    this.stored = plan;
    this.etag = etag;
    this.history = [];
    this.keep();
  }

  load() {
    try {
      const kept = JSON.parse(sessionStorage.getItem(this.key) ?? "null");
      if (kept) Object.assign(this, kept);
    } catch {
      sessionStorage.removeItem(this.key);
    }
  }

  keep() {
    try {
      if (this.history.length) {
        const { history, based } = this;
        sessionStorage.setItem(this.key, JSON.stringify({ history, based }));
      } else {
        sessionStorage.removeItem(this.key);
      }
    } catch {
      // A full store of the browser: the draft lives on in the page.
    }
  }
}

const opened = new Map();

/** Keep a plan that came out of a result, so that a page can open it; gives its key. */
export function lay(plan, title) {
  const key = `c${opened.size + 1}-${Date.now().toString(36)}`;
  const kept = { plan: plan.title ? plan : { title, ...plan } };
  opened.set(key, kept);
  try {
    sessionStorage.setItem(`baywright-open:${key}`, JSON.stringify(kept));
  } catch {
    // Too large for the browser's store: it can be opened until the page is left.
  }
  return key;
}

/** The plan laid under a key; undefined where it was forgotten. */
export function laid(key) {
  const text = sessionStorage.getItem(`baywright-open:${key}`);
  return (opened.get(key) ?? (text ? JSON.parse(text) : undefined))?.plan;
}
