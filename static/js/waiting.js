/* What waits on this tablet, for the pages that show it as entered. */

import { entries } from "./outbox.js";

const MOVES = ["start", "pause", "resume", "finish", "send_back"];

export const isMove = (kind) => MOVES.includes(kind);
export const leaves = (kind) => ["finish", "send_back"].includes(kind);
export const words = () => document.getElementById("offline-words").dataset;

/* Whether pages are kept here: without a network, only then may this one be left. */
export const isKept = () => Boolean(navigator.serviceWorker?.controller);

/* Show each of the events waiting for `part` of the page that `concerns` lets through, by `show` and once. Where one that
   was shown is answered meanwhile, the part is asked for as the server has it. */
export async function follow(part, concerns, show) {
  if (!part) return;
  const waiting = (await entries().catch(() => [])).filter((entry) => entry.waits && concerns(entry));
  const shown = part.dataset.shown?.split(" ") ?? [];
  if (shown.some((id) => !waiting.some((entry) => entry.id === id))) return refresh(part);
  const fresh = waiting.filter((entry) => !shown.includes(entry.id));
  if (!fresh.length || !part.isConnected) return;
  part.dataset.shown = waiting.map((entry) => entry.id).join(" ");
  show(fresh, waiting);
}

let asking = null;

function refresh(part) {
  const path = part.getAttribute("hx-get").replace(/seen=[^&]*/, "seen=");
  const source = document.getElementById("connection"); // the live part may be asking for itself just now
  const how = { source, target: `#${part.id}`, swap: "outerHTML", headers: { "X-After-Sending": "yes" } };
  // Where it fails, it shows at the next change. A second one would be queued, and its failure caught by nobody.
  asking ??= htmx
    .ajax("GET", path, how)
    .catch(() => null)
    .finally(() => (asking = null));
}

/* The copy of what a template of the page keeps in store, or null. */
export function copyOf(id) {
  const template = document.getElementById(id);
  return template && document.importNode(template.content, true);
}

export function unsent(text = words().unsent) {
  const mark = document.createElement("span");
  mark.className = "who unsent";
  mark.textContent = text;
  return mark;
}

/* A second tap on what was there must not press what takes its place. */
export function setBar(parts) {
  const bar = document.querySelector(".bar");
  bar.replaceChildren(...parts);
  htmx.process(bar);
  document.dispatchEvent(new Event("bar-changed"));
}
