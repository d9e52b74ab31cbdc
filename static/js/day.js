// The day sheet: arrow keys turn its pages; when it renews itself, what was open stays open, what changed is marked,
// and silence is said.
(function () {
  "use strict";
  var MARKED_FOR_MS = 4000;
  var open = [];
  var figures = {};

  function each(selector, act) {
    Array.prototype.forEach.call(document.querySelectorAll(selector), act);
  }

  document.addEventListener("keydown", function (event) {
    if (event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) return;
    if (event.target.closest("input, select, textarea, .wide")) return;
    var rel = { ArrowLeft: "prev", ArrowRight: "next" }[event.key];
    var link = rel && document.querySelector("#day a[rel=" + rel + "]");
    if (link) link.click();
  });

  document.addEventListener("htmx:beforeSwap", function (event) {
    // What is no day sheet (a sign-in page, an error) must not take the place of the figures.
    if (event.detail.xhr.status >= 400 || !/id="day"/.test(event.detail.xhr.responseText)) {
      event.detail.shouldSwap = false;
      return;
    }
    open = [];
    figures = {};
    each("#day details[open]", function (found) { open.push(found.id); });
    each("#day [data-figure]", function (found) { figures[found.dataset.figure] = found.textContent; });
  });

  document.addEventListener("htmx:afterSwap", function () {
    each("#day details", function (found) { found.open = open.indexOf(found.id) >= 0; });
    each("#day [data-figure]", function (found) {
      var before = figures[found.dataset.figure];
      if (before === undefined || before === found.textContent) return;
      found.classList.add("changed");
      setTimeout(function () { found.classList.remove("changed"); }, MARKED_FOR_MS);
    });
  });

  // A 204 and a new sheet are answers; a redirect to the sign-in page, an error and no answer at all are silence.
  document.addEventListener("htmx:afterRequest", function (event) {
    var xhr = event.detail.xhr;
    var answered = event.detail.successful && (xhr.status === 204 || /id="day"/.test(xhr.responseText));
    var words = document.getElementById("day-silent");
    if (words.hidden && !answered) {
      words.querySelector("[data-since]").textContent = new Date().toTimeString().slice(0, 5);
    }
    words.hidden = answered;
  });
})();
