/* What a scanner types, with Enter at its end; it needs no field. A blind's code leads to the blind's sheet here; a
   badge, on an enrolled tablet, signs in whose it is in the place of whoever was signed in. */
"use strict";

(() => {
  const SCAN_GAP_MS = 1500; // a pause this long begins another code
  const SCAN_SHORTEST = 5;
  const MORE_WITHIN_MS = 100; // of codes that follow one another so quickly, the last alone is shown
  const BADGE = /98\d{26}$/;
  const PART_OF_BADGE = /98\d{11}/; // more digits than a blind's code has
  const WRITTEN_IN = "input:not([type=radio], [type=checkbox]), textarea, select";

  let scanned = "";
  let lastKey = 0;
  let lastField = null;
  let before = "";
  let going = null;
  takeOver();

  // Before anything else hears of it: in a field, Enter would send what the scanner typed there.
  document.addEventListener("keydown", keyDown, { capture: true });

  function keyDown(event) {
    const field = event.target.closest?.(WRITTEN_IN) ?? null;
    const elsewhere = field !== lastField && [field, lastField].some((each) => each && each.id !== "scan-code");
    if (elsewhere || event.timeStamp - lastKey > SCAN_GAP_MS || event.key === "Backspace") scanned = "";
    lastField = field;
    if (scanned === "") before = field?.value ?? "";
    lastKey = event.timeStamp;
    if (going) go(going.code);
    if (event.key === "Enter") ended(event, field);
    else if (event.key.length === 1 && event.key !== " " && !event.ctrlKey && !event.metaKey) scanned += event.key;
  }

  function ended(event, field) {
    const code = scanned;
    scanned = "";
    const { scan, badge } = document.body.dataset;
    if (badge && BADGE.test(code)) {
      take(event);
      if (field) restore(field, code.match(BADGE)[0]);
      return signIn(code.match(BADGE)[0]);
    }
    // Nothing else is typed outside a field, and what began before its field took the focus belongs to the code.
    const typed = field?.id === "scan-code" ? field.value.length : field ? Infinity : 0;
    if (!scan || code.length < Math.max(SCAN_SHORTEST, typed)) return;
    take(event);
    if (field) field.value = "";
    go(code);
  }

  function go(code) {
    clearTimeout(going?.timer);
    going = { code, timer: setTimeout(leave, MORE_WITHIN_MS, code) };
  }

  function leave(code) {
    going = null;
    const address = `${document.body.dataset.scan}?code=${encodeURIComponent(code)}`;
    const scan = new CustomEvent("scanned", { cancelable: true, detail: { code, address } });
    if (document.dispatchEvent(scan)) location.assign(address);
  }

  /* The half of a code that was typed before the page changed belongs to the half after it. */
  function takeOver() {
    const { code, at } = JSON.parse(sessionStorage.getItem("scanned") ?? "{}");
    sessionStorage.removeItem("scanned");
    if (!code || Date.now() - at > SCAN_GAP_MS) return;
    scanned = code;
    lastKey = performance.now() - (Date.now() - at);
  }

  window.addEventListener("pagehide", () => {
    clearTimeout(going?.timer);
    going = null;
    const at = Date.now() - (performance.now() - lastKey);
    if (scanned && !PART_OF_BADGE.test(scanned)) sessionStorage.setItem("scanned", JSON.stringify({ code: scanned, at }));
    scanned = "";
  });

  function take(event) {
    event.preventDefault();
    event.stopImmediatePropagation();
    document.dispatchEvent(new Event("scan-taken"));
  }

  function restore(field, code) {
    field.value = field.value.includes(code) ? field.value.replace(code, "") : before;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }

  /* The badge's code is sent in no address, since addresses are kept. */
  async function signIn(code) {
    const headers = JSON.parse(document.body.getAttribute("hx-headers"));
    const next = document.body.dataset.next ?? location.pathname + location.search;
    try {
      const answer = await fetch(document.body.dataset.badge, { method: "POST", headers, body: new URLSearchParams({ code, next }) });
      if (!answer.headers.get("Content-Type")?.includes("json")) return say(place().dataset.old);
      const { go, said } = await answer.json();
      if (said) say(said);
      else location.replace(go);
    } catch {
      say(place().dataset.lost);
    }
  }

  const place = () => document.getElementById("badge-said");

  function say(words) {
    place().textContent = words;
    place().hidden = false;
    place().scrollIntoView({ block: "nearest" });
  }
})();
