/* What the server refused after it had waited: it stays at the top of every station's page until somebody has seen it. */

import { acknowledged, refusals } from "./outbox.js";

async function show() {
  const panel = document.getElementById("refused");
  if (!panel) return;
  const found = (await refusals().catch(() => [])).sort((one, other) => one.at - other.at);
  panel.querySelector("ul").replaceChildren(...found.map((each) => line(panel, each)));
  panel.hidden = !found.length;
}

function line(panel, { id, at, what, number, person, reasons, fields }) {
  const made = document.importNode(panel.querySelector("template").content, true).firstElementChild;
  const value = fields.find(([name]) => name === "value")?.[1];
  const said = {
    time: timeOf(new Date(at)),
    what: value ? `${what} ${value}` : what,
    number,
    person,
    why: reasons.join(" "),
  };
  for (const [name, text] of Object.entries(said)) made.querySelector(`[data-${name}]`).textContent = text;
  made.querySelector("button").addEventListener("click", () => acknowledged(id));
  return made;
}

function timeOf(at) {
  const clock = at.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  if (at.toDateString() === new Date().toDateString()) return clock;
  return `${at.toLocaleDateString(document.documentElement.lang, { day: "numeric", month: "short" })} ${clock}`;
}

document.addEventListener("outbox", show);
show();
