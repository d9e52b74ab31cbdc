/* While the server can't work it says why: at the head of the page, until its next good answer, and never in the place
   of what stands there. Where it doesn't answer at all, the page says that what stands there may be old. The stations'
   pages say it beside what waits there (connection.js), the day sheet by itself (day.js). */
"use strict";

(() => {
  const said = (xhr) => decodeURIComponent(xhr.getResponseHeader("X-Trouble") ?? "");

  function say(place, words) {
    if (document.getElementById("connection")) return;
    if (place.textContent !== words) place.textContent = words;
    place.hidden = !words;
  }

  document.addEventListener("htmx:beforeSwap", ({ detail }) => {
    if (detail.xhr.status === 503) detail.shouldSwap = false;
  });

  document.addEventListener("htmx:afterRequest", ({ detail: { xhr } }) => {
    const place = document.getElementById("trouble");
    if (place && xhr.status) say(place, xhr.status === 503 ? said(xhr) : "");
  });

  document.addEventListener("htmx:sendError", () => {
    const place = document.getElementById("trouble");
    if (place && !document.getElementById("day-silent")) say(place, place.dataset.lost);
  });
})();
