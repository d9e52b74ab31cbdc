/* What a tablet at a station does by itself: it sends each event once however often it must try, and keeps what was
   typed. Everything is recorded by the server; without this script the same pages work as plain forms. */
"use strict";

(() => {
  const SETTLE_MS = 500; // a second tap on a button must not press what has just taken its place
  const RETRY_MS = 2000;
  const POST_TIMEOUT_MS = 8000;
  const CHANGED_MS = 4000;
  const LOST = [0, 502, 503, 504]; // answers that say nothing about whether the event was recorded

  const live = () => document.querySelector("[data-live]");

  /* One number an event. The same form with the same content is the same event until it has been answered. */
  const unanswered = new Map();

  function newId() {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 0x0f) | 0x40; // RFC 9562: version 4
    bytes[8] = (bytes[8] & 0x3f) | 0x80; // and its variant
    const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
    return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
  }

  function contentOf(path, form) {
    const fields = [...new FormData(form)].filter(([name]) => !["event_id", "maker", "csrfmiddlewaretoken"].includes(name));
    return JSON.stringify([path, fields]);
  }

  document.addEventListener("htmx:configRequest", ({ detail }) => {
    detail.timeout ||= POST_TIMEOUT_MS;
    if (detail.verb !== "post" || !detail.formData.has("event_id")) return;
    const content = contentOf(detail.path, detail.elt);
    if (!unanswered.has(content)) unanswered.set(content, newId());
    detail.formData.set("event_id", unanswered.get(content));
    detail.elt.dataset.content = content;
  });

  /* The page must not change under an event that is still on its way. */
  document.addEventListener("htmx:beforeRequest", (event) => {
    if (posting && event.detail.elt?.matches?.("[data-live]")) event.preventDefault();
  });

  /* A lost connection is said, and said to be over. */
  let lastAnswer = new Date();
  let posting = 0;

  function connected() {
    lastAnswer = new Date();
    document.getElementById("connection").hidden = true;
  }

  function disconnected() {
    const bar = document.getElementById("connection");
    const clock = lastAnswer.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
    if (bar.hidden) bar.querySelector("[data-since]").textContent = clock;
    bar.hidden = false;
  }

  // Asked of the request itself: where another answer has taken the form away meanwhile, no event of htmx gets here.
  document.addEventListener("htmx:beforeSend", ({ detail: { xhr, requestConfig } }) => {
    if (requestConfig.verb === "post") posting += 1;
    xhr.addEventListener("loadend", () => {
      const answered = xhr.status > 0 && xhr.status < 500;
      if (answered) connected();
      else if (!document.hidden) disconnected();
      if (requestConfig.verb === "post") posted(requestConfig.elt, xhr, answered);
    });
  });

  function posted(form, xhr, answered) {
    posting -= 1;
    if (answered) unanswered.delete(form.dataset.content);
    else if (LOST.includes(xhr.status)) tryAgain(form);
    else form.querySelector(".say").textContent = "The server failed. Press again";
    if (answered && !form.isConnected && live()) htmx.trigger(live(), "look-again");
  }

  function tryAgain(form) {
    const button = form.querySelector("button");
    const words = form.querySelector(".say");
    words.dataset.say ??= words.textContent;
    words.textContent = "No connection; trying again…";
    button.disabled = true;
    posting += 1; // the page must not change under an event that is still on its way
    setTimeout(() => {
      posting -= 1;
      button.disabled = false;
      words.textContent = words.dataset.say;
      if (form.isConnected) htmx.trigger(form, "submit");
    }, RETRY_MS);
  }

  /* Before an answer takes the place of what stands there. */
  let typed = [];
  let opened = [];
  let marks = null;

  document.addEventListener("htmx:beforeSwap", (event) => {
    const { xhr, requestConfig } = event.detail;
    const isPoll = requestConfig.verb === "get";
    event.detail.shouldSwap &&= xhr.status > 0 && xhr.status < 500 && !(isPoll && posting);
    if (!event.detail.shouldSwap) return;
    if (ledElsewhere(xhr, requestConfig)) {
      event.detail.shouldSwap = false;
      return location.reload();
    }
    if (isPoll && isEdited()) {
      event.detail.shouldSwap = false;
      return sayElsewhere(xhr.responseText);
    }
    const sent = !isPoll && xhr.status < 400 ? requestConfig.elt : null;
    typed = editedFields().filter((field) => !sent?.contains(field));
    opened = [...document.querySelectorAll("#bench details[open]")].filter((each) => !sent || !each.contains(sent));
    opened = opened.map((each) => each.id);
    marks = new Map([...document.querySelectorAll("[data-mark]")].map((row) => [row.id, row.dataset.mark]));
  });

  function ledElsewhere(xhr, { path }) {
    // To signing in, or to a page that says why not: whole pages, not parts of this one.
    if ([403, 404].includes(xhr.status)) return true;
    return xhr.responseURL && new URL(xhr.responseURL).pathname !== new URL(path, location.href).pathname;
  }

  document.addEventListener("htmx:afterSwap", () => {
    for (const before of typed) {
      const field = document.getElementById(before.id);
      if (!field) continue;
      if (isTicked(field)) field.checked = before.checked;
      else field.value = before.value;
    }
    for (const id of opened) document.getElementById(id)?.setAttribute("open", "");
    typed = opened = [];
    settle();
    document.querySelector("#bench .refusal")?.scrollIntoView({ block: "nearest" });
  });

  // Only once htmx has settled: until then it sets the classes of what has an id.
  document.addEventListener("htmx:afterSettle", showChanged);

  function showChanged() {
    for (const row of marks ? document.querySelectorAll("[data-mark]") : []) {
      if (marks.get(row.id) === row.dataset.mark) continue;
      row.classList.add("changed");
      setTimeout(() => row.classList.remove("changed"), CHANGED_MS);
    }
    marks = null;
  }

  function settle() {
    const bar = document.querySelector(".bar");
    if (!bar) return;
    bar.inert = true;
    setTimeout(() => (bar.inert = false), SETTLE_MS);
  }

  /* What is being typed is never taken away by a change made elsewhere. */
  const isTicked = (field) => ["radio", "checkbox"].includes(field.type);

  function editedFields() {
    return [...document.querySelectorAll("#bench :is(input:not([type=hidden]), textarea, select)")].filter((field) => {
      if (isTicked(field)) return field.checked && !field.defaultChecked;
      if (field.matches("select")) return field.value && !field.selectedOptions[0].defaultSelected;
      return field.value !== field.defaultValue;
    });
  }

  function isEdited() {
    return document.activeElement?.matches("#bench select") || editedFields().length > 0;
  }

  function sayElsewhere(answer) {
    const bench = new DOMParser().parseFromString(answer, "text/html").querySelector("[data-last]");
    const note = document.getElementById("elsewhere");
    if (!bench || !note) return;
    note.querySelector("span").textContent = `Changed elsewhere: ${bench.dataset.last}.`;
    note.hidden = false;
  }

  document.addEventListener("htmx:afterSwap", () => {
    const note = document.getElementById("elsewhere");
    if (note) note.hidden = true;
  });

  document.addEventListener("click", ({ target }) => {
    const link = target.closest?.("[data-opens]");
    if (link) for (const each of document.querySelectorAll(`#${link.dataset.opens} details`)) each.open = true;
  });

  settle();
})();
