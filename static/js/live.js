/* How a page follows the workshop: its live part asks again and again, not while nobody looks, and at once when
   somebody does. */
"use strict";

(() => {
  const live = () => document.querySelector("[data-live]");

  document.addEventListener("htmx:beforeRequest", (event) => {
    if (event.detail.elt?.matches?.("[data-live]") && document.hidden) event.preventDefault();
  });
  document.addEventListener("visibilitychange", lookAgain);
  window.addEventListener("online", lookAgain);

  function lookAgain() {
    if (!document.hidden && live()) htmx.trigger(live(), "look-again");
  }
})();
