/* A station's page keeps itself as the server sent it, follows what changes on it, and fetches the sheets that come next,
   each once. Pages of another maker, or in another language, are forgotten. */

import { canKeep, cordsOf, forgetPages, keep, keepShell, keptPage } from "./kept.js";
import { forgetTyped } from "./typed.js";

const { personKey = "", worker } = document.body.dataset;
const WHOSE = "railwright-maker";
const LANGUAGE = "railwright-language";
const LAST_QUEUE = "railwright-queue";
const SAID = "main > [data-said]"; // once, and never again
const AHEAD = 4; // so many of the next sheets are fetched
const STALE_MS = 12 * 3600 * 1000; // long before what its forms were signed with is too old

/* What the last maker's pages say is not for the next one. */
async function begin() {
  const another = changes(WHOSE, personKey);
  if (another) forgetTyped();
  if (changes(LANGUAGE, document.documentElement.lang) || another) await forgetPages();
  if (!canKeep || !personKey) return;
  navigator.serviceWorker?.register(worker).catch(() => {}); // without a network just now: the next page asks again
  if (location.search) return;
  if (document.getElementById("queue")) localStorage.setItem(LAST_QUEUE, location.pathname);
  await keep(location.pathname, untouched);
  if (document.readyState !== "complete") await new Promise((loaded) => window.addEventListener("load", loaded));
  fetchAhead();
}

/* Whether what this browser remembers by `name` becomes another. */
function changes(name, value) {
  const before = localStorage.getItem(name);
  localStorage.setItem(name, value);
  return before !== value;
}

/* The page as the server sent it, before any script has changed it; what it said once is not said again. */
function asSent() {
  const copy = document.documentElement.cloneNode(true);
  for (const said of copy.querySelectorAll("main > [data-said]")) said.remove();
  return copy;
}

/* An answer that takes the place of a part of this page takes it in the kept page too. */
document.addEventListener("htmx:afterSwap", ({ detail: { xhr, target } }) => {
  if (!canKeep || xhr.status !== 200 || !["bench", "queue"].includes(target.id) || location.search) return;
  const { responseText } = xhr;
  setTimeout(() => keepPart(target.id, responseText).catch(() => null));
});

async function keepPart(id, html) {
  const kept = await keptPage(location.pathname);
  if (!kept) return;
  const page = new DOMParser().parseFromString(await kept.text(), "text/html");
  page.getElementById(id).outerHTML = html;
  await keep(location.pathname, page.documentElement);
  if (id === "queue") fetchAhead();
}

/* What this page needs, the queue that a sheet leads back to, and the sheets of what comes next: each only once unless
   it has changed, and not while nobody looks. */
async function fetchAhead() {
  const rows = [...document.querySelectorAll("#queue [data-mark]")];
  const next = rows.filter(({ dataset }) => "startable" in dataset || "mine" in dataset).slice(0, AHEAD);
  try {
    await keepShell([...partsOf(document), ...performance.getEntriesByType("resource").map(({ name }) => name)]);
    const back = document.getElementById("bench")?.dataset.queue;
    if (back && !(await keptPage(back))) await fetchPage(back);
    for (const row of next) await fetchPage(row.querySelector("a[data-sheet]").pathname, row.dataset.mark);
  } catch {
    // No network, or nobody looks: what is kept must do until then.
  }
}

function partsOf(page) {
  const parts = [...page.querySelectorAll("script[src], link[rel=stylesheet]")];
  return parts.map((part) => part.getAttribute("src") ?? part.getAttribute("href"));
}

async function fetchPage(path, mark = "") {
  const kept = await keptPage(path);
  const age = Date.now() - Number(kept?.headers.get("X-Kept"));
  if (document.hidden || (kept?.headers.get("X-Mark") === mark && age < STALE_MS)) return;
  const answer = await fetch(path, { headers: { Purpose: "prefetch" } });
  if (!answer.ok || answer.redirected) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  await keepShell(partsOf(page));
  await cordsOf(page.querySelector("[data-cords]")?.dataset.cords);
  for (const said of page.querySelectorAll(SAID)) said.remove();
  await keep(path, page.documentElement, mark);
}

document.addEventListener("visibilitychange", () => canKeep && !document.hidden && fetchAhead());

const untouched = asSent();
begin().catch((error) => console.warn("nothing can be kept:", error));
