/* A station's queue without a network: what was started, paused or finished here stands so in its row, and the button
   leads to what is next. */

import { isDown } from "./connection.js";
import { keeps } from "./kept.js";
import { copyOf, follow, isMove, setBar, unsent, words } from "./waiting.js";

const STATE = { start: "in_hand", resume: "in_hand", pause: "paused", finish: "done", send_back: "sent_back" };

function show() {
  const queue = document.getElementById("queue");
  const concerns = ({ station, kind }) => station === queue.dataset.place && isMove(kind);
  return follow(queue, concerns, (fresh, waiting) => {
    const last = new Map(waiting.map(({ code, kind }) => [code, kind]));
    const rows = [...queue.querySelectorAll("[data-mark]")];
    for (const row of rows) if (last.has(row.dataset.code)) setState(row, STATE[last.get(row.dataset.code)]);
    setNext(rows, last);
  });
}

document.addEventListener("outbox", show);
document.addEventListener("htmx:afterSettle", show);
window.addEventListener("pageshow", show);

function setState(row, state) {
  const said = row.querySelector(".state");
  said.className = `state state-${state}`;
  said.textContent = words()[state];
  for (const who of said.parentElement.querySelectorAll(".who")) who.remove();
  said.after(" ", unsent());
}

function setNext(rows, last) {
  const isIn = (row, ...states) => states.includes(STATE[last.get(row.dataset.code)]);
  const own = rows.find((row) => isIn(row, "in_hand", "paused"));
  const mine = rows.find((row) => "mine" in row.dataset && !last.has(row.dataset.code));
  const next = own ?? mine ?? rows.find((row) => "startable" in row.dataset && !last.has(row.dataset.code));
  const bar = document.querySelector(".bar");
  if (bar.dataset.code && !last.has(bar.dataset.code) && !own) return;
  if (!next) return setBar(copyOf("nothing-next").children);
  const link = copyOf(own || mine ? "go-on" : "open-next").firstElementChild;
  link.href = next.querySelector("a[data-sheet]").href;
  link.querySelector("span").textContent = next.dataset.number;
  setBar([link]);
}

/* What is started here goes on at its sheet, where that can be had. */
async function goOn({ detail: { kind, code, fields } }) {
  const sheet = document.querySelector(`#queue #row-${code} a[data-sheet]`);
  if (!sheet || kind !== "start" || !fields.some(([name]) => name === "from")) return;
  if (!isDown() || (await keeps(sheet.pathname))) location.assign(sheet.href);
}

document.addEventListener("waits", goOn);
document.addEventListener("sent", goOn);
