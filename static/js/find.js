// Ctrl+K, or Command+K, leads to the search box from anywhere on the page. A key alone would be a scanner's too.
(function () {
  "use strict";

  document.addEventListener("keydown", (event) => {
    if (event.key.toLowerCase() !== "k" || !(event.ctrlKey || event.metaKey) || event.altKey || event.shiftKey) return;
    const box = document.getElementById("find");
    event.preventDefault();
    box.focus();
    box.select();
  });
})();
