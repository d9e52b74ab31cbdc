/* What a tablet at a station does by itself as the page follows the workshop: what is being typed stays, what changed is
   marked, and nothing is pressed by mistake. Everything is recorded by the server; without this script the same pages
   work as plain forms. */

import { isPosting, ledElsewhere } from "./sending.js";
import { editedFields, isTicked } from "./typed.js";

const SETTLE_MS = 500; // a second tap on a button must not press what has just taken its place
const CHANGED_MS = 4000;

/* Before an answer takes the place of what stands there. */
let typed = [];
let opened = [];
let marks = null;

document.addEventListener("htmx:beforeSwap", (event) => {
  const { xhr, requestConfig } = event.detail;
  const isPoll = requestConfig.verb === "get";
  const mayWait = isPoll && !requestConfig.headers["X-After-Sending"]; // what was entered here is shown at once
  event.detail.shouldSwap &&= xhr.status > 0 && xhr.status < 500 && !(isPoll && isPosting());
  if (!event.detail.shouldSwap) return;
  if (ledElsewhere(xhr, requestConfig.path)) {
    event.detail.shouldSwap = false;
    return location.reload();
  }
  if (mayWait && isEdited()) {
    event.detail.shouldSwap = false;
    return sayElsewhere(xhr.responseText);
  }
  const sent = !isPoll && xhr.status < 400 ? requestConfig.elt : null;
  typed = editedFields().filter((field) => !sent?.contains(field));
  opened = [...document.querySelectorAll("#bench details[open]")].filter((each) => !sent || !each.contains(sent));
  opened = opened.map((each) => each.id);
  marks = new Map([...document.querySelectorAll("[data-mark]")].map((row) => [row.id, row.dataset.mark]));
});

document.addEventListener("htmx:afterSwap", () => {
  for (const before of typed) {
    const field = document.getElementById(before.id);
    if (!field) continue;
    if (isTicked(field)) field.checked = before.checked;
    else field.value = before.value;
  }
  for (const id of opened) document.getElementById(id)?.setAttribute("open", "");
  typed = opened = [];
  settle();
  document.querySelector("#bench .refusal")?.scrollIntoView({ block: "nearest" });
});

// Only once htmx has settled: until then it sets the classes of what has an id.
document.addEventListener("htmx:afterSettle", showChanged);

function showChanged() {
  for (const row of marks ? document.querySelectorAll("[data-mark]") : []) {
    if (marks.get(row.id) === row.dataset.mark) continue;
    row.classList.add("changed");
    setTimeout(() => row.classList.remove("changed"), CHANGED_MS);
  }
  marks = null;
}

function settle() {
  const bar = document.querySelector(".bar");
  if (!bar) return;
  bar.inert = true;
  setTimeout(() => (bar.inert = false), SETTLE_MS);
}

document.addEventListener("bar-changed", settle);

/* What is being typed is never taken away by a change made elsewhere. */
function isEdited() {
  return document.activeElement?.matches("#bench select") || editedFields().length > 0;
}

function sayElsewhere(answer) {
  const bench = new DOMParser().parseFromString(answer, "text/html").querySelector("[data-last]");
  const note = document.getElementById("elsewhere");
  if (!bench || !note) return;
  note.querySelector("span").textContent = bench.dataset.last;
  note.hidden = false;
}

document.addEventListener("htmx:afterSwap", () => {
  const note = document.getElementById("elsewhere");
  if (note) note.hidden = true;
});

document.addEventListener("click", ({ target }) => {
  const link = target.closest?.("[data-opens]");
  if (link) for (const each of document.querySelectorAll(`#${link.dataset.opens} details`)) each.open = true;
});

/* A step that is entered takes its button away: the keyboard goes on from there, not from the head of the page. */
let lastStep = null;

document.addEventListener("focusin", ({ target }) => {
  lastStep = target.closest("#bench [id^=step-]")?.id ?? null;
});

document.addEventListener("keydown", ({ key }) => {
  const step = key === "Tab" && document.activeElement === document.body && document.getElementById(lastStep);
  if (!step) return;
  step.tabIndex = -1;
  step.focus({ preventScroll: true });
});

settle();
