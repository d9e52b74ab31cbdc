/* The keys of the PIN pad, and digits typed without touching its field first. Without this script the field is typed in. */
"use strict";

(() => {
  const pin = document.getElementById("pin");
  const form = pin.form;

  pin.inputMode = "none"; // the pad is the keyboard
  document.querySelector(".pad").hidden = false;

  const type = (digit) => (pin.value = (pin.value + digit).slice(0, pin.maxLength));
  const clear = () => (pin.value = "");

  form.addEventListener("click", ({ target }) => {
    const key = target.closest("[data-key]")?.dataset.key;
    if (key === "clear") clear();
    else if (key === "delete") pin.value = pin.value.slice(0, -1);
    else if (key) type(key);
  });

  form.addEventListener("change", ({ target }) => {
    if (target.name !== "person") return;
    clear();
    document.querySelector(".pin").scrollIntoView({ block: "nearest" }); // on a phone it stands below the names
  });
  document.addEventListener("scan-taken", clear);

  document.addEventListener("keydown", (event) => {
    if (event.target === pin || event.ctrlKey || event.metaKey || event.altKey) return;
    if (/^[0-9]$/.test(event.key)) type(event.key);
    else if (event.key === "Backspace") pin.value = pin.value.slice(0, -1);
    else if (event.key === "Enter" && event.target === document.body) form.requestSubmit();
  });
})();
