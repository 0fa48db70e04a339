// A batch as it runs: by Server-Sent Events, by asking again where no stream can be had.

import { read } from "./api.js";
import { h, pause } from "./dom.js";

const ASK_AGAIN_MS = 1_500;
// A browser holds few connections to one host; the rest of the page needs some too.
const MOST_STREAMS = 3;

let streaming = 0;

export const batchPath = (id) => `/v1/batches/${encodeURIComponent(id)}`;

/** Whether more is to come of it. */
export function isRunning(batch) {
  return ["accepted", "running"].includes(batch.status);
}

/** Follow a batch to its end; `show` gets it each time it has moved. */
export async function follow(id, signal, show) {
  let batch = await read(batchPath(id), { signal });
  const moved = (news) => {
    batch = { ...batch, ...news };
    show(batch);
  };
  moved({});
  while (isRunning(batch)) {
    if (streaming < MOST_STREAMS) await streamed(id, signal, moved);
    else await pause(ASK_AGAIN_MS, signal);
    moved(await read(batchPath(id), { signal }));
  }
  return batch;
}

/** Told by the service as it happens, until the batch has ended or the stream breaks off. */
async function streamed(id, signal, moved) {
  const source = new EventSource(`${batchPath(id)}/events`);
  streaming += 1;
  try {
    await new Promise((done, fail) => {
      source.addEventListener("progress", (event) => moved(JSON.parse(event.data)));
      source.addEventListener("done", done);
      source.addEventListener("error", () => pause(ASK_AGAIN_MS, signal).then(done, fail));
      signal.addEventListener("abort", () => fail(new DOMException("left", "AbortError")));
    });
  } finally {
    streaming -= 1;
    source.close();
  }
}

/** A batch's progress as a bar with words. */
export function batchBar(batch, named = true) {
  const bar = h("progress", { max: 1, "aria-label": "Progress" });
  const words = h("p", { class: "soft" });
  const name = h("a", { href: `#/batches/${encodeURIComponent(batch.id)}` }, batch.title || batch.id);
  const element = h("div", { class: "batch-bar" }, named ? h("p", null, name) : null, bar, words);
  const show = (now) => {
    const { total, successful, failed, dismissed } = countsOf(now);
    const ended = successful + failed;
    bar.max = Math.max(total, 1);
    bar.value = ended;
    const missing = dismissed ? `, ${dismissed} given up` : "";
    words.textContent = `${statusText(now.status)}: ${ended} of ${total} variants${failed ? `, ${failed} could not be calculated` : ""}${missing}`;
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
