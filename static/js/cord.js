/* The way of the cord, one step at a time: the step is set off in the picture and said beside the buttons. After the
   last step, and before the first, the whole way is shown, as it is without this script. */
"use strict";

(() => {
  let at = 0; // the step that is shown; 0 is the whole way

  const walkOf = (node) => node.closest?.(".cord-walk");
  const pictureOf = (walk) => walk.parentElement.querySelector(".drawing-cord");
  const wordsIn = (picture) => [...picture.querySelectorAll(".cord-words")].map((step) => step.lastElementChild.textContent);

  function show() {
    for (const walk of document.querySelectorAll(".cord-walk")) {
      const picture = pictureOf(walk);
      const words = wordsIn(picture);
      at = Math.min(at, words.length);
      for (const part of picture.querySelectorAll("[data-step]")) {
        const step = Number(part.dataset.step);
        part.classList.toggle("now", step === at);
        part.classList.toggle("later", at > 0 && step > at);
      }
      picture.classList.toggle("walked", at > 0);
      say(walk, at ? `${said(walk.dataset.at, words)} ${words[at - 1]}` : said(walk.dataset.all, words));
      walk.hidden = false;
    }
  }

  const said = (pattern, words) => pattern.replace("{at}", at).replace("{count}", words.length);

  function say(walk, words) {
    const said = walk.querySelector("p");
    if (said.textContent !== words) said.textContent = words;
  }

  function go(walk, by) {
    const places = wordsIn(pictureOf(walk)).length + 1;
    at = (at + by + places) % places;
    show();
  }

  document.addEventListener("click", ({ target }) => {
    const button = target.closest?.("[data-walk]");
    if (button) go(walkOf(button), Number(button.dataset.walk));
  });

  document.addEventListener("keydown", (event) => {
    const by = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    const walk = by && walkOf(event.target);
    if (!walk) return;
    event.preventDefault();
    go(walk, by);
  });

  /* A station's sheet is renewed as the work goes on; the step stays. */
  document.addEventListener("htmx:afterSettle", show);
  show();
})();
