/* Whether the server answers, and what waits here until it does, said plainly at the top of a station's page. */

import { entries } from "./outbox.js";

const SINCE = "railwright-since"; // kept through a reload without network

let lastAnswer = new Date();
let down = false;
let held = "";
let trouble = ""; // what the server says of itself while it can't work

export const isDown = () => down;

export function answeredNow() {
  lastAnswer = new Date();
  localStorage.removeItem(SINCE);
  if (!down) return;
  down = false;
  trouble = "";
  say();
}

/* No answer, or one that says why the server can't work now. */
export function lost(words = "") {
  if (down && trouble === words) return;
  down = true;
  trouble = words;
  if (!localStorage.getItem(SINCE)) localStorage.setItem(SINCE, lastAnswer.toISOString());
  say();
}

/* What an answer says of the server's trouble: percent-encoded, since a header holds plain letters alone. */
export const troubleIn = (header) => decodeURIComponent(header ?? "");

/* Why something still waits though the server answers. */
export function holds(reason) {
  held = reason;
  say();
}

function since() {
  const at = new Date(localStorage.getItem(SINCE) ?? lastAnswer);
  return at.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
}

async function say() {
  const band = document.getElementById("connection");
  if (!band) return;
  const waiting = (await entries().catch(() => [])).filter((entry) => entry.waits).length;
  const { one, many } = band.dataset;
  const words = { lost: down ? since() : "", waiting: waiting ? (waiting === 1 ? one : many.replace("0", waiting)) : "" };
  words.trouble = down ? trouble : "";
  words.held = waiting && !down ? held : "";
  words.old = down ? "old" : "";
  for (const [name, text] of Object.entries(words)) {
    const part = band.querySelector(`[data-${name}]`);
    part.hidden = !text;
    const place = name === "lost" ? part.querySelector("[data-since]") : part;
    if (name !== "old" && place.textContent !== text) place.textContent = text;
  }
  band.hidden = !down && !waiting;
}

document.addEventListener("outbox", say);
window.addEventListener("offline", () => lost());
if (navigator.onLine === false) lost();
else say();
