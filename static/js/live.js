/* How a page follows the workshop. Its live part asks again every second or two; where there is a stream of changes it
   rests instead, and asks at once when it is told of one that concerns it. Nothing is asked while nobody looks. */
"use strict";

(() => {
  const REST_MS = 30000; // how often to ask all the same while the stream says when
  const SILENT_MS = 25000; // the stream says something every 10 s, or is broken
  const RETRY_MS = 15000;
  const SPREAD_MS = 60; // so that fifty tablets don't ask in the same moment
  const ANYTHING = { all: true };

  let source = null; // the stream, open or opening
  let followed = false; // whether the stream says when
  let waiting = 0;
  let owed = null; // a change that the page may not show yet
  let asking = false;
  let asked = 0;

  const live = () => document.querySelector("[data-live]");
  const isLive = (elt) => elt?.matches?.("[data-live]");

  /* The stream. */
  function open() {
    close();
    const stream = live()?.dataset.stream;
    if (document.hidden || !stream) return;
    const { protocol, hostname, href } = location;
    source = new EventSource(new URL(stream.startsWith(":") ? `${protocol}//${hostname}${stream}` : stream, href));
    source.addEventListener("ready", () => {
      followed = true;
      owe(ANYTHING); // whatever happened while nothing was told
    });
    source.addEventListener("change", ({ data }) => owe(JSON.parse(data)));
    for (const each of ["ready", "change", "beat"]) source.addEventListener(each, () => openIn(SILENT_MS));
    source.onerror = lost;
    openIn(RETRY_MS);
  }

  function openIn(ms) {
    clearTimeout(waiting);
    waiting = setTimeout(open, ms);
  }

  function lost() {
    followed = false;
    openIn(RETRY_MS); // unless the browser has it back before
  }

  function close() {
    source?.close();
    source = null;
    followed = false;
    clearTimeout(waiting);
  }

  /* What is owed is asked for as soon as nothing is in its way, and else at the next tick. */
  function concerns(change) {
    const { followStation, followBlind, followVersion, followOrder } = live().dataset;
    if (change.all) return true;
    if (followStation) return change.stations.includes(followStation);
    if (followBlind) return change.blinds[followBlind] > Number(followVersion);
    if (followOrder) return change.orders.includes(Number(followOrder));
    return change.orders.length > 0;
  }

  function owe(change) {
    if (!live() || !concerns(change)) return;
    owed = change;
    setTimeout(ask, Math.random() * SPREAD_MS);
  }

  function ask() {
    if (!owed || asking || document.hidden || !live()) return;
    if (concerns(owed)) htmx.trigger(live(), "look-again");
    else owed = null; // the answer to an event of this page's own has shown it meanwhile
  }

  document.addEventListener("htmx:beforeRequest", (event) => {
    const { elt, requestConfig } = event.detail;
    if (!isLive(elt)) return;
    const isTick = requestConfig.triggeringEvent?.type !== "look-again";
    const rests = isTick && followed && !owed && Date.now() - asked < REST_MS;
    if (document.hidden || rests) event.preventDefault();
  });

  // Asked of the request itself: where its answer takes the live part away, no event of htmx gets here.
  document.addEventListener("htmx:beforeSend", ({ detail: { elt, xhr } }) => {
    const isOurs = isLive(elt);
    if (isOurs) {
      asking = true;
      asked = Date.now();
      owed = null;
    }
    xhr.addEventListener("loadend", () => {
      if (isOurs) asking = false;
      if (xhr.status > 0 && xhr.status < 500 && !xhr.unshown) setTimeout(ask);
      else if (isOurs) owed ??= ANYTHING;
    });
  });

  document.addEventListener("htmx:beforeSwap", ({ detail: { xhr, requestConfig, shouldSwap } }) => {
    xhr.unshown = isLive(requestConfig.elt) && xhr.status !== 204 && !shouldSwap;
  });

  function lookAgain() {
    open();
    owed = ANYTHING;
    ask();
  }

  document.addEventListener("visibilitychange", () => (document.hidden ? close() : lookAgain()));
  window.addEventListener("online", lookAgain);
  window.addEventListener("offline", lost);
  open();
})();
