/* In the place of a page that needs the network: a scanned blind whose sheet is kept opens; else it is said why not, and
   the way leads back to the queue. Tried again as soon as there is a network. */

import { find } from "./kept.js";

const AGAIN_MS = 5000;
const LAST_QUEUE = "railwright-queue";
const { pathname, search } = location;
const code = new URLSearchParams(search).get("code");
const station = /^\/stations\/[^/]+\//.exec(pathname)?.[0];

function say(about) {
  for (const part of document.querySelectorAll("[data-for]")) part.hidden = part.dataset.for !== about;
  if (about === "scan") document.querySelector("[data-code]").textContent = code;
}

function ask({ path, number }) {
  say("ask");
  const link = document.querySelector("[data-sheet]");
  link.href = path;
  link.textContent = number;
}

async function begin() {
  const sheet = station && code ? await find(code, station) : null;
  if (sheet?.isProved) return location.replace(sheet.path);
  if (sheet) ask(sheet);
  else if (code) say("scan");
  else if (pathname.includes("sign-in")) say("sign-in");
  const queue = station ?? localStorage.getItem(LAST_QUEUE);
  if (queue) document.querySelector("[data-back]").href = queue;
}

/* The page itself, as soon as the server answers. */
async function tryAgain() {
  const answer = await fetch(document.body.dataset.outbox).catch(() => null);
  if (answer?.ok) location.reload();
}

window.addEventListener("online", tryAgain);
setInterval(tryAgain, AGAIN_MS);
begin();
