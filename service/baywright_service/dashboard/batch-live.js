// A batch as it runs: by Server-Sent Events, by asking again where no stream can be had.

import { read } from "./api.js";
import { h, pause } from "./dom.js";

const ASK_AGAIN_MS = 1_500;

export const batchPath = (id) => `/v1/batches/${encodeURIComponent(id)}`;

/** Whether more is to come of it. */
export function isRunning(batch) {
  return ["accepted", "running"].includes(batch.status);
}

/** Follow a batch to its end; `show` gets it each time it has moved. */
export async function follow(id, signal, show) {
  let batch = await read(batchPath(id), { signal });
  show(batch);
  while (isRunning(batch)) {
    await moved(id, signal);
    batch = await read(batchPath(id), { signal });
    show(batch);
  }
  return batch;
}

/** Until the stream says that something moved; where there is no stream, for a while. */
async function moved(id, signal) {
  const stream = streamOf(id, signal);
  const word = await stream.next();
  if (word === "none") await pause(ASK_AGAIN_MS, signal);
}

const streams = new Map();

/** One stream for each batch, kept open between questions. */
function streamOf(id, signal) {
  if (streams.has(id)) return streams.get(id);
  const source = new EventSource(`${batchPath(id)}/events`);
  let wake;
  let waiting = new Promise((done) => (wake = done));
  const turn = (word) => {
    wake(word);
    waiting = new Promise((done) => (wake = done));
    if (word === "none") turnNone = true;
  };
  let turnNone = false;
  const close = () => {
    source.close();
    streams.delete(id);
  };
  for (const kind of ["progress", "item-failed"]) source.addEventListener(kind, () => turn("moved"));
  source.addEventListener("done", () => {
    close();
    turn("moved");
  });
  source.addEventListener("error", () => {
    if (source.readyState === EventSource.CLOSED) turn("none");
  });
  signal.addEventListener("abort", close);
  const stream = { next: () => (turnNone ? Promise.resolve("none") : Promise.race([waiting, quiet(signal)])) };
  streams.set(id, stream);
  return stream;
}

/** A stream that says nothing for long is not trusted alone. */
async function quiet(signal) {
  await pause(10_000, signal);
  return "moved";
}

/** A batch's progress as a bar with words. */
export function batchBar(batch) {
  const bar = h("progress", { max: 1, "aria-label": "Progress" });
  const words = h("p", { class: "soft" });
  const name = h("a", { href: `#/batches/${encodeURIComponent(batch.id)}` }, batch.title || batch.id);
  const element = h("div", { class: "batch-bar" }, h("p", null, name), bar, words);
  const show = (now) => {
    const { total, successful, failed, dismissed } = countsOf(now);
    const ended = successful + failed + dismissed;
    bar.max = Math.max(total, 1);
    bar.value = ended;
    words.textContent = `${statusText(now.status)}: ${ended} of ${total} variants${failed ? `, ${failed} could not be calculated` : ""}`;
  };
  show(batch);
  return { element, show };
}

/** How many items there are and have ended. */
export function countsOf(batch) {
  return { total: 0, successful: 0, failed: 0, dismissed: 0, ...batch.item_counts };
}

/** A state in words. */
export function statusText(status) {
  const words = { accepted: "waiting", running: "running", successful: "done", failed: "failed", dismissed: "cancelled" };
  return words[status] ?? status;
}
