/* Where nothing is kept for when there is no network, this page must not be left for one that can't come: a code is looked
   up first, and the page left for its answer. Elsewhere the service worker sees to it. */

import { isDown } from "./connection.js";
import { isKept } from "./waiting.js";

async function lookUp(event, code, address) {
  if (isKept() || !isDown()) return;
  event.preventDefault();
  const said = document.getElementById("unknown");
  try {
    const answer = await fetch(address);
    location.assign(answer.url);
  } catch {
    said.querySelector("b").textContent = code;
    said.hidden = false;
    said.scrollIntoView({ block: "nearest" });
  }
}

document.addEventListener("scanned", (event) => lookUp(event, event.detail.code, event.detail.address));
document.addEventListener("submit", (event) => {
  if (!event.target.matches(".scan")) return;
  const code = new FormData(event.target).get("code");
  lookUp(event, code, `${event.target.action}?code=${encodeURIComponent(code)}`);
});
