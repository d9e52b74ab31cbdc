/* The tablet's camera reads a code where the browser can tell codes apart. Only then is its button shown, and only from
   a secure address, since no browser lends the camera to another. A badge is not read here: its code belongs in no
   address. */
"use strict";

(() => {
  const FORMATS = ["code_128", "qr_code"];
  const LOOK_EVERY_MS = 150;
  const BADGE = /98\d{26}$/;

  const button = document.getElementById("camera-open");
  const view = document.getElementById("camera");
  const able = isSecureContext && "BarcodeDetector" in window && "getUserMedia" in (navigator.mediaDevices ?? {});
  if (!button || !view || !able) return;

  const film = view.querySelector("video");
  const said = view.querySelector("[role=status]");
  let stream = null;
  let detector = null;
  let opened = 0; // what was asked for before the view was shut is answered too late

  ready();

  async function ready() {
    const known = await BarcodeDetector.getSupportedFormats();
    const formats = FORMATS.filter((each) => known.includes(each));
    if (!formats.length) return;
    detector = new BarcodeDetector({ formats });
    button.hidden = false;
    button.addEventListener("click", open);
    view.querySelector("button").addEventListener("click", () => view.close());
    view.addEventListener("close", stop);
    window.addEventListener("pagehide", shut);
    document.addEventListener("visibilitychange", () => document.hidden && shut());
  }

  async function open() {
    const now = ++opened;
    said.textContent = "";
    view.showModal();
    try {
      const lent = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" }, audio: false });
      if (now !== opened) return end(lent);
      stream = lent;
      film.srcObject = lent;
      await film.play();
      look(now);
    } catch {
      if (now === opened) said.textContent = said.dataset.refused;
    }
  }

  async function look(now) {
    if (now !== opened || !stream) return;
    const found = await detector.detect(film).catch(() => []);
    const code = found.map((each) => each.rawValue).find((value) => value && !BADGE.test(value));
    if (now !== opened) return;
    if (!code) return void setTimeout(look, LOOK_EVERY_MS, now);
    shut();
    location.assign(`${button.form.action}?code=${encodeURIComponent(code)}`);
  }

  function shut() {
    if (view.open) view.close();
    stop();
  }

  function stop() {
    opened += 1;
    if (stream) end(stream);
    stream = film.srcObject = null;
  }

  function end(lent) {
    for (const track of lent.getTracks()) track.stop();
  }
})();
