/* At a station: a figure that is touched, in the list or in the drawing, opens its working in place. Back, Escape and
   Close shut it again. Without this script, and without a network, the same links lead to a page of their own. */
"use strict";

(() => {
  const place = () => document.getElementById("working");
  const links = (name) => [...document.querySelectorAll(`[data-working="${CSS.escape(name)}"]`)];
  let open = "";
  let cameFrom = null;

  function addressOf(name) {
    return place().dataset.figures.replace("NAME", encodeURIComponent(name));
  }

  /* The partial of one working, or null where there is none to be had. */
  async function fetchWorking(name) {
    const answer = await fetch(addressOf(name), { headers: { "HX-Request": "true" } });
    if (answer.redirected) location.reload(); // signed out meanwhile
    return answer.ok ? answer.text() : null;
  }

  async function show(name, { again = false } = {}) {
    let html = null;
    try {
      html = await fetchWorking(name);
    } catch {
      html = `<p>${place().dataset.lost}</p>`;
    }
    if (html === null || (again && open !== name)) return;
    const box = place();
    box.innerHTML = html;
    box.prepend(closeButton());
    box.hidden = false;
    if (!open) history.pushState({ working: name }, "");
    open = name;
    mark();
    if (again) return;
    box.focus({ preventScroll: true });
    box.scrollIntoView({ block: "nearest" });
  }

  function closeButton() {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "close";
    button.textContent = place().dataset.close;
    button.addEventListener("click", () => history.back());
    return button;
  }

  function mark() {
    for (const link of document.querySelectorAll(".figure-value")) {
      link.setAttribute("aria-expanded", String(link.dataset.working === open));
    }
  }

  function shut() {
    const name = open;
    open = "";
    place().hidden = true;
    place().replaceChildren();
    mark();
    const back = cameFrom?.isConnected ? cameFrom : links(name)[0];
    back?.focus();
  }

  document.addEventListener("click", (event) => {
    if (event.ctrlKey || event.metaKey || event.shiftKey) return;
    const link = event.target.closest?.("[data-working]");
    const part = event.target.closest?.("svg [data-figure]");
    const name = link?.dataset.working || part?.dataset.figure;
    if (!name || !place()) return;
    event.preventDefault();
    if (!place().contains(event.target)) cameFrom = link;
    if (name === open) history.back();
    else show(name);
  });

  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && open) history.back();
  });

  window.addEventListener("popstate", () => {
    if (open) shut();
  });

  /* The sheet was renewed: a measured chain changes what follows from it. */
  document.addEventListener("htmx:afterSettle", ({ detail }) => {
    if (!open || detail.target.id !== "bench") return mark();
    show(open, { again: true });
  });

  mark();
})();
