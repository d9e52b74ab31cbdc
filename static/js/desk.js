// The office's pages: which fields of a line apply, figures that keep their open workings, and the way to a problem.
// Without it every page still works: the server checks the same things.
(function () {
  "use strict";

  const byId = (id) => document.getElementById(id);

  // A wand blind has no loop: its fields are shut, with the reason beside them.
  function shutLoopFields(form) {
    const wand = form.elements.operation.value === "wand";
    byId("loop-fields").disabled = wand;
    byId("not-with-wand").hidden = !wand;
  }

  // Only fabrics slit to the vane width are offered. Where the same cloth comes in the other width, it is taken over.
  function offerFabrics(form, every) {
    const select = byId("id_fabric");
    const width = form.elements.vane_width_mm.value;
    const chosen = every.find((option) => option.value && option.value === select.value);
    const fits = (option) => !option.value || !width || option.dataset.vaneWidth === width;
    select.replaceChildren(...every.filter(fits));
    const isSame = (option) => option === chosen || option.dataset.cloth === chosen.dataset.cloth;
    const same = chosen && (fits(chosen) ? chosen : every.find((option) => fits(option) && isSame(option)));
    select.value = same ? same.value : "";
  }

  function readyLineForm() {
    const form = byId("line-form");
    if (!form) return;
    const every = Array.from(byId("id_fabric").options);
    const settle = () => {
      shutLoopFields(form);
      offerFabrics(form, every);
    };
    settle();
    // Before htmx hears of the change, so that it sends what the form now says.
    form.addEventListener("change", settle, true);
  }

  const servedWith = (field) => {
    if (field.options) return (Array.from(field.options).find((option) => option.defaultSelected) || field.options[0] || field).value;
    return field.defaultValue;
  };
  const differs = (field) => {
    if (field.type === "radio" || field.type === "checkbox") return field.checked !== field.defaultChecked;
    return field.matches("input:not([type='hidden']), select, textarea") && field.value !== servedWith(field);
  };

  // Typed before anything listened, or put back by the browser on the way back: worked out as if typed now.
  function workOutTyped() {
    const form = byId("line-form");
    if (form && Array.from(form.elements).some(differs)) form.dispatchEvent(new Event("change", { bubbles: true }));
  }

  // A second press on the way out of a page must not send the form twice.
  function sendOnce(event) {
    const form = event.target;
    if (form.method !== "post") return;
    if (form.dataset.sent) event.preventDefault();
    form.dataset.sent = "yes";
  }

  // A page that comes back from the browser's memory may send its forms again.
  function sendAgain() {
    document.querySelectorAll("form[data-sent]").forEach((form) => delete form.dataset.sent);
  }

  // Enter in the customer search goes to the first customer found instead of sending an unfinished order.
  function readyCustomerSearch() {
    const search = byId("customer_text");
    if (!search) return;
    search.addEventListener("keydown", (event) => {
      if (event.key !== "Enter") return;
      event.preventDefault();
      const first = document.querySelector("#customer-choices input[type='radio']") || byId("customer-new");
      first.checked = true;
      first.focus();
    });
  }

  // A link to a group of buttons or boxes leads to the first of them.
  function goToProblem(event) {
    const link = event.target.closest("#problems a[href^='#']");
    const place = link && byId(link.hash.slice(1));
    if (!place) return;
    event.preventDefault();
    const field = place.matches("fieldset") ? place.querySelector("input:not([type='hidden']), select, textarea") : place;
    const around = field.closest(".field") || field;
    around.scrollIntoView({ block: "center" });
    field.focus({ preventScroll: true });
  }

  // A figure touched on the drawing opens its working.
  function openWorking(event) {
    if (event.type === "keydown" && event.key !== "Enter" && event.key !== " ") return;
    const part = event.target.closest("svg [data-figure]");
    const working = part && byId("working-" + part.dataset.figure);
    const elsewhere = part && part.closest("[data-workings]");
    if (!working && elsewhere) location.assign(`${elsewhere.dataset.workings}#working-${part.dataset.figure}`);
    if (!working) return;
    event.preventDefault();
    unfold(working);
  }

  // An address that names a working leads to it open.
  function openAddressed() {
    const working = location.hash.startsWith("#working-") && byId(decodeURIComponent(location.hash.slice(1)));
    if (working) unfold(working);
  }

  function unfold(working) {
    working.open = true;
    working.querySelector("summary").focus();
    working.scrollIntoView({ block: "nearest" });
  }

  // What was open stays open when the figures are worked out anew, and a screen reader hears the upshot.
  let opened = [];
  let versions = new Map();

  function beforeSwap(event) {
    if (event.detail.target.id === "figures") {
      opened = Array.from(document.querySelectorAll("#figures details[open]"), (each) => each.id);
    }
    if (event.detail.target.id === "at-work") {
      versions = new Map(Array.from(document.querySelectorAll("#at-work tr[id]"), (row) => [row.id, row.dataset.version]));
    }
  }

  // What a length was read as stands beside its field too.
  function showReadings() {
    document.querySelectorAll("#line-form .reading").forEach((place) => {
      const read = document.querySelector(`#figures [data-reading="${place.id.slice("id_".length, -"_reading".length)}"]`);
      const said = read ? read.textContent : "";
      if (place.textContent !== said) place.textContent = said;
    });
  }

  function afterSettle(event) {
    if (event.detail.target.id === "figures") {
      showReadings();
      opened.forEach((id) => byId(id) && (byId(id).open = true));
      const said = document.querySelector("#figures [data-said]");
      byId("figures-said").textContent = said ? said.dataset.said : "";
    }
    // What changed by itself is marked for a moment and stays where it was.
    document.querySelectorAll("#at-work tr[id]").forEach((row) => {
      if (!versions.has(row.id) || versions.get(row.id) === row.dataset.version) return;
      row.classList.add("changed");
      setTimeout(() => row.classList.remove("changed"), 4000);
    });
    versions = new Map();
  }

  document.addEventListener("DOMContentLoaded", () => {
    readyLineForm();
    showReadings();
    readyCustomerSearch();
    openAddressed();
    document.addEventListener("submit", sendOnce);
    document.addEventListener("click", goToProblem);
    document.addEventListener("click", openWorking);
    document.addEventListener("keydown", openWorking);
    document.body.addEventListener("htmx:beforeSwap", beforeSwap);
    document.body.addEventListener("htmx:afterSettle", afterSettle);
  });
  window.addEventListener("pageshow", sendAgain);
  window.addEventListener("pageshow", workOutTyped);
})();
