/* A blind's sheet goes on working without a network: what was entered stands on it as entered, with its verdict by the
   bands that the server put beside it, until the server has answered. */

import { cordsOf } from "./kept.js";
import { restoreTyped, saveTyped } from "./typed.js";
import { copyOf, follow, isKept, leaves, setBar, unsent, words } from "./waiting.js";

const bench = () => document.getElementById("bench");
const stepOf = (sheet, key) => sheet.querySelector(`[data-key="${CSS.escape(key)}"]`);

const bars = new WeakMap(); // sheet -> its bar while it is in hand

function show() {
  const sheet = bench();
  if (sheet?.dataset.cords) cordsOf(sheet.dataset.cords); // for when there is no network to ask
  const concerns = ({ station, code }) => station === sheet.dataset.place && code === sheet.dataset.code;
  return follow(sheet, concerns, (fresh) => {
    for (const entry of fresh) enter(sheet, entry);
    saveTyped();
  });
}

document.addEventListener("outbox", show);
document.addEventListener("htmx:afterSettle", show); // until it has settled, htmx sets the marks of what has an id
window.addEventListener("pageshow", show);

function enter(sheet, entry) {
  const left = () => copyOf("once-left").children;
  if (entry.kind === "step") enterStep(sheet, entry);
  else if (entry.kind === "pause") rest(sheet, "paused", copyOf("once-paused")?.querySelector(".bar").children ?? left());
  else if (leaves(entry.kind)) rest(sheet, entry.kind === "finish" ? "done" : "sent_back", left());
  else takeUp(sheet);
}

/* Moves. */
function takeUp(sheet) {
  const inHand = bars.has(sheet) ? null : copyOf("once-in-hand");
  if (inHand) {
    for (const special of inHand.querySelectorAll(".special-box")) {
      document.getElementById(special.id).replaceWith(special);
    }
    sheet.querySelector(".bench-steps").replaceWith(inHand.querySelector(".bench-steps"));
    bars.set(sheet, [...inHand.querySelector(".bar").children]);
    htmx.process(sheet);
  }
  if (bars.has(sheet)) setBar(bars.get(sheet));
  for (const part of sheet.querySelectorAll(".bench-steps, .special-box")) part.inert = false;
  setState(sheet, "in_hand");
  restoreTyped();
}

function rest(sheet, state, bar) {
  if (!bars.has(sheet)) bars.set(sheet, [...sheet.querySelector(".bar").children]);
  setBar(bar);
  for (const part of sheet.querySelectorAll(".bench-steps, .special-box")) part.inert = true;
  setState(sheet, state);
}

function setState(sheet, state) {
  const said = document.createElement("span");
  said.className = `state state-${state}`;
  said.textContent = words()[state];
  sheet.querySelector(".bench-state").replaceChildren(said, " ", unsent());
}

/* Without a network there is no way on but to what is kept. */
document.addEventListener("waits", ({ detail: { kind } }) => {
  const sheet = bench();
  if (sheet && leaves(kind) && isKept()) location.assign(sheet.dataset.queue);
});

/* Steps. */
function valueOf(entry) {
  return entry.fields.find(([name]) => name === "value")?.[1].trim();
}

function enterStep(sheet, entry) {
  const step = stepOf(sheet, entry.key);
  const field = step?.querySelector("input[name=value]");
  if (field) judge(step, field, entry);
  else if (step) tick(step, entry);
  count(sheet);
}

function tick(step, { what, person }) {
  const said = document.createElement("p");
  said.className = "step-text entered";
  said.append(`☑ ${what} `, unsent(`${person}, ${words().unsent}`));
  step.querySelector("form")?.replaceWith(said);
  step.classList.add("is-entered");
  delete step.dataset.problem;
}

function judge(step, field, entry) {
  const value = valueOf(entry);
  const verdict = verdictOn(step, Number(value.replace(",", ".")));
  field.value = value;
  field.defaultValue = value; // it is entered, not half typed
  field.removeAttribute("aria-invalid");
  const said = step.querySelector(".verdict");
  said.replaceChildren(document.importNode(verdict.content, true), " ", unsent());
  step.classList.add("is-entered");
  delete step.dataset.problem;
  if ("holds" in verdict.dataset) step.dataset.problem = `${verdict.content.textContent.trim()} ${entry.what}`;
  followWith(entry.key, value.replace(",", "."));
}

/* The server worked out where each verdict begins and ends; here it is only looked up. */
function verdictOn(step, value) {
  const holds = ({ dataset: { from = -Infinity, to = Infinity } }) => Number(from) <= value && value <= Number(to);
  const all = [...step.querySelectorAll("template[data-verdict]")];
  return all.find((each) => holds(each)) ?? all.at(-1);
}

function count(sheet) {
  const open = sheet.querySelector("[data-open-steps]");
  if (open) open.textContent = sheet.querySelectorAll("[data-key][data-problem]").length;
}

/* What follows from a measure stands in the table that the server worked out ahead, or has to wait for the network. */
async function followWith(key, measured) {
  const steps = bench().querySelectorAll(`[data-follows="${CSS.escape(key)}"]`);
  if (!steps.length) return;
  const cord = (await cordsOf(bench().dataset.cords))?.[String(Number(measured))];
  for (const step of steps) {
    step.querySelector(".step-text").textContent = cord?.says[step.dataset.key] ?? words().later;
    delete step.dataset.problem;
    if (cord?.stops.length) step.dataset.problem = cord.stops.join(" ");
  }
  setBox("cord_cut_mm", cord?.cut_mm);
  for (const stop of bench().querySelectorAll(".stops-here")) stop.remove();
  for (const why of cord?.stops ?? []) {
    const box = copyOf("stop").firstElementChild;
    box.querySelector("span").textContent = why;
    bench().querySelector(".bench-said").append(box);
  }
}

function setBox(name, value) {
  const number = bench().querySelector(`[data-box="${name}"] b`);
  if (number) number.textContent = value ?? "–";
}

/* Before it is kept without a network: what the server would refuse at once is refused at once, and nothing is lost. */
document.addEventListener("entering", (event) => {
  const { kind, key } = event.detail;
  const sheet = bench();
  if (!sheet) return;
  if (kind === "step" && !isShaped(stepOf(sheet, key), event.detail)) event.preventDefault();
  if (kind === "finish" && !isComplete(sheet)) event.preventDefault();
});

function isShaped(step, entry) {
  const field = step.querySelector("input[name=value]");
  if (!field || new RegExp(`^(?:${field.dataset.pattern})$`, "u").test(valueOf(entry))) return true;
  const said = document.createElement("strong");
  said.textContent = `○ ${field.dataset.shape}`;
  step.querySelector(".verdict").replaceChildren(said);
  field.setAttribute("aria-invalid", "true");
  return false;
}

function isComplete(sheet) {
  const open = [...sheet.querySelectorAll("[data-problem]")];
  for (const old of sheet.querySelectorAll(".refusal")) old.remove();
  if (!open.length) return true;
  const refusal = copyOf("not-recorded").firstElementChild;
  refusal.querySelector("ul").replaceChildren(...open.map(problem));
  sheet.querySelector(".bench-said").prepend(refusal);
  refusal.scrollIntoView({ block: "nearest" });
  return false;
}

function problem(about) {
  const line = document.createElement("li");
  const link = document.createElement(about.id ? "a" : "span");
  if (about.id) link.href = `#${about.id}`;
  link.textContent = about.dataset.problem;
  line.append(link);
  return line;
}
