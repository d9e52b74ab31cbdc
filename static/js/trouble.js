/* While the server can't work it says why: at the head of the page, until its next good answer, and never in the place
   of what stands there. The stations' pages say it beside what waits there (connection.js). */
"use strict";

(() => {
  const said = (xhr) => decodeURIComponent(xhr.getResponseHeader("X-Trouble") ?? "");

  document.addEventListener("htmx:beforeSwap", ({ detail }) => {
    if (detail.xhr.status === 503) detail.shouldSwap = false;
  });

  document.addEventListener("htmx:afterRequest", ({ detail: { xhr } }) => {
    const place = document.getElementById("trouble");
    if (!place || !xhr.status || document.getElementById("connection")) return;
    const words = xhr.status === 503 ? said(xhr) : "";
    if (place.textContent !== words) place.textContent = words;
    place.hidden = !words;
  });
})();
