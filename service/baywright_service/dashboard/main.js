// The shell: which page the address names, one page at a time, signing in where a token is needed.

import { read } from "./api.js";
import { fill, h, say } from "./dom.js";
import { batchPage } from "./batch-page.js";
import { batchesPage } from "./batches-page.js";
import { calculatorPage } from "./calculator-page.js";
import { calculatorsPage } from "./calculators-page.js";
import { openedPage, planPage } from "./plan-page.js";
import { plansPage } from "./plans-page.js";
import { signInPage } from "./sign-in.js";
import { problemView } from "./verdict.js";
import { wallPage } from "./wall-page.js";

const PAGES = [
  [/^\/?$/, plansPage],
  [/^\/plans\/([^/]+)(?:\/([^/]+))?$/, planPage],
  [/^\/open\/([^/]+)(?:\/([^/]+))?$/, openedPage],
  [/^\/calculators$/, calculatorsPage],
  [/^\/calculators\/([^/]+)$/, calculatorPage],
  [/^\/batches$/, batchesPage],
  [/^\/batches\/([^/]+)$/, batchPage],
  [/^\/wall$/, wallPage],
];

const main = document.getElementById("main");
let leaving = new AbortController();
let current = "";

/** The path and the query that stand behind the # of the address. */
function address() {
  const [path, query = ""] = window.location.hash.replace(/^#/, "").split("?");
  return { path: path || "/", query: new URLSearchParams(query) };
}

async function show() {
  const { path, query } = address();
  const page = path.replace(/^(\/(?:plans|open)\/[^/]+)\/.*/, "$1");
  const sameMachine = page === current && page.split("/").length === 3 && !page.startsWith("/batches");
  if (sameMachine && main.dispatchEvent(new CustomEvent("turn", { cancelable: true })) === false) return;
  current = page;
  leaving.abort();
  leaving = new AbortController();
  const { signal } = leaving;
  document.body.classList.toggle("on-wall", path === "/wall");
  mark(path);
  const [, make, found] = PAGES.map(([pattern, each]) => [pattern, each, pattern.exec(path)]).find(
    ([, , match]) => match,
  ) ?? [null, lostPage, []];
  try {
    fill(main, h("p", { class: "soft", role: "status" }, "One moment …"));
    const parameters = found.slice(1).map((part) => part && decodeURIComponent(part));
    await make({ main, parameters, query, signal, title });
  } catch (error) {
    if (error.name === "AbortError") return;
    if (error.status !== undefined) fill(main, heading("That did not work"), problemView(error));
    else throw error;
  }
}

/** Name the page: its heading (to be put into the page), the window, and the focus. */
function title(words, ...beside) {
  document.title = words === "Plans" ? "Baywright" : `${words} – Baywright`;
  return heading(words, ...beside);
}

let first = true;

function heading(words, ...beside) {
  const place = h("h1", { tabindex: "-1" }, words);
  if (!first) window.requestAnimationFrame(() => place.focus({ preventScroll: true }));
  if (!first) window.scrollTo(0, 0);
  first = false;
  return h("div", { class: "page-head" }, place, ...beside);
}

function lostPage({ main: place }) {
  fill(place, title("Nothing is here"), h("p", null, "This address names no page. ", h("a", { href: "#/" }, "To the plans"), "."));
}

function mark(path) {
  for (const link of document.querySelectorAll(".bar nav a")) {
    const target = link.getAttribute("href").slice(1);
    const here = target === "/" ? path === "/" || /^\/(plans|open)\//.test(path) : path.startsWith(target);
    if (here) link.setAttribute("aria-current", "page");
    else link.removeAttribute("aria-current");
  }
}

async function start() {
  const session = await read("/dashboard/session").catch(() => ({ signed_in: true }));
  if (session.signed_in) await show();
  else askForToken();
}

function askForToken() {
  leaving.abort();
  leaving = new AbortController();
  signInPage({ main, title, done: show });
}

document.querySelector(".skip").addEventListener("click", () => main.focus());
window.addEventListener("hashchange", () => {
  show();
  const words = document.title.split(" – ")[0];
  say(words);
});
window.addEventListener("token-needed", askForToken);
start();
