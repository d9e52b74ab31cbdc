/* How an event leaves the tablet: it is kept first, then sent as the form that it was entered in, whose answer is the
   sheet as it stands then. What is not answered waits, and is sent by itself, one after the other and in order. */

import { answeredNow, holds, isDown, lost, troubleIn } from "./connection.js";
import { answered, changed, entries, letWait, newId, put, refused, turn } from "./outbox.js";
import { isMove } from "./waiting.js";

const POST_TIMEOUT_MS = 8000;
const AGAIN_MS = 2000;
const SELDOM_MS = 15000;
const FAILURES = 3;
const OWN = ["csrfmiddlewaretoken", "event_id", "maker", "from"]; // what differs from page to page for the same event

const onTheirWay = new Map(); // form -> {entry, done, isMade}
const unkept = new Map(); // content -> id, where the browser keeps nothing
const failures = new Map(); // id -> how often the server failed on it
let posting = 0;
let pause = AGAIN_MS;
let again = 0;
let draining = false;

export const isPosting = () => posting > 0;

/* An event is entered. */
document.addEventListener("htmx:confirm", (event) => {
  const { elt, verb, path, issueRequest } = event.detail;
  if (verb !== "post" || !elt.elements?.event_id) return;
  event.preventDefault();
  if (elt.reportValidity()) enter(entryOf(elt, path), elt, issueRequest);
});

function entryOf(form, path) {
  const fields = [...new FormData(form)].filter(([name]) => name !== "csrfmiddlewaretoken");
  const field = (name) => fields.find(([each]) => each === name)?.[1] ?? "";
  const [, station, code] = /\/stations\/([^/]+)\/([^/]+)\//.exec(new URL(path, location.href).pathname);
  const { person, personKey, placeName } = document.body.dataset;
  const shown = form.closest("[data-number]") ?? document.getElementById(`row-${code}`);
  return {
    id: newId(),
    station,
    placeName,
    code,
    number: shown?.dataset.number ?? code,
    kind: field("kind"),
    key: field("key"),
    what: form.dataset.what ?? form.querySelector("label.step-text, .say").textContent,
    fields,
    person,
    personKey,
    at: Date.now(),
    waits: false,
  };
}

async function enter(entry, form, issueRequest) {
  let kept = null;
  try {
    if (isDown() && !document.dispatchEvent(new CustomEvent("entering", { cancelable: true, detail: entry }))) return;
    kept = await put(entry, isSameAgain);
    if (!kept) return;
  } catch (error) {
    return sendUnkept(entry, form, issueRequest, error);
  }
  navigator.storage?.persist?.();
  await turn(async () => {
    const [first] = await entries();
    if (first?.id !== kept.id || isDown() || !form.isConnected) return letWait([kept]);
    await settled(kept, await sendForm(kept, form, issueRequest));
  });
  const left = await entries();
  const waiting = left.find(({ id, waits }) => id === kept.id && waits);
  if (waiting) document.dispatchEvent(new CustomEvent("waits", { detail: waiting }));
  if (left.length) drainIn(0);
}

function content({ station, code, fields }) {
  return JSON.stringify([station, code, fields.filter(([name]) => !OWN.includes(name))]);
}

/* A second tap, or the same again before the first is answered, is the same event. */
function isSameAgain(entry, waiting) {
  const slot = (each) => (isMove(each.kind) ? "move" : each.key);
  const same = waiting.filter((each) => each.station === entry.station && each.code === entry.code);
  const last = same.filter((each) => slot(each) === slot(entry)).at(-1);
  return last !== undefined && content(last) === content(entry);
}

/* The browser keeps nothing for this address: it is said, and each event is sent at once, and again when pressed again. */
async function sendUnkept(entry, form, issueRequest, error) {
  document.getElementById("unkept").hidden = false;
  console.warn("nothing can be kept:", error);
  if (onTheirWay.has(form)) return;
  entry.id = unkept.get(content(entry)) ?? entry.id;
  unkept.set(content(entry), entry.id);
  const xhr = await sendForm(entry, form, issueRequest);
  if (xhr?.status > 0 && xhr.status < 500) unkept.delete(content(entry));
}

/* Sent as the form, by htmx: resolves to the request once it has ended, or to null where none was made. */
function sendForm(entry, form, issueRequest) {
  return new Promise((done) => {
    const sent = { entry, done, isMade: false };
    onTheirWay.set(form, sent);
    issueRequest(true);
    if (!sent.isMade) done(null);
  }).finally(() => onTheirWay.delete(form));
}

document.addEventListener("htmx:configRequest", ({ detail }) => {
  detail.timeout ||= POST_TIMEOUT_MS;
  const entry = onTheirWay.get(detail.elt)?.entry;
  if (entry) detail.formData.set("event_id", entry.id);
});

// Asked of the request itself: where another answer has taken the form away meanwhile, no event of htmx gets here.
document.addEventListener("htmx:beforeSend", ({ detail: { xhr, requestConfig } }) => {
  const isPost = requestConfig.verb === "post";
  if (isPost) posting += 1;
  const sent = onTheirWay.get(requestConfig.elt);
  if (sent) sent.isMade = true;
  xhr.addEventListener("loadend", () => {
    if (isPost) posting -= 1;
    if (xhr.status > 0 && xhr.status < 500) answeredNow();
    else if (!document.hidden) lost(troubleIn(xhr.getResponseHeader("X-Trouble")));
    sent?.done(xhr);
  });
});

/* The page must not change under an event that is still on its way. */
document.addEventListener("htmx:beforeRequest", (event) => {
  if (posting && event.detail.elt?.matches?.("[data-live]")) event.preventDefault();
});

/* To signing in, or to a page that says why not: whole pages, which say nothing about the event. */
export function ledElsewhere(xhr, path) {
  if ([403, 404].includes(xhr.status)) return true;
  return Boolean(xhr.responseURL) && new URL(xhr.responseURL).pathname !== new URL(path, location.href).pathname;
}

async function settled(entry, xhr) {
  const path = `/stations/${entry.station}/${entry.code}/record/`;
  if (!xhr || xhr.status === 0 || xhr.status >= 500 || ledElsewhere(xhr, path)) return letWait([entry]);
  await answered(entry); // a refusal stands on the page
}

/* What waits is sent by itself. */
export async function drain() {
  if (draining) return;
  draining = true;
  clearTimeout(again);
  try {
    await turn(sendAll);
  } catch (error) {
    console.warn("what waits could not be sent:", error);
  } finally {
    draining = false;
  }
  changed();
  if ((await entries().catch(() => [])).length) drainIn(pause);
}

/* What a maker entered who must sign in first stays, and nobody else's waits behind it. */
async function sendAll() {
  const held = new Set();
  for (;;) {
    const left = await entries();
    const entry = left.find((each) => !held.has(each.personKey));
    if (!entry) return void (pause = held.size ? SELDOM_MS : AGAIN_MS);
    const { result, reasons } = await send(entry);
    if (result === "recorded" || result === "again") {
      await answered(entry);
      document.dispatchEvent(new CustomEvent("sent", { detail: entry }));
    } else if (result === "refused") await refused(entry, reasons);
    else if (result === "held") {
      held.add(entry.personKey);
      holds(reasons.join(" "));
      await letWait([entry]);
    } else {
      pause = Math.min(1.5 * pause, SELDOM_MS);
      return letWait(left);
    }
  }
}

async function send(entry) {
  try {
    const answer = await fetch(document.body.dataset.outbox, {
      method: "POST",
      body: bodyOf(entry),
      headers: { "X-CSRFToken": await forgeryToken() },
      signal: AbortSignal.timeout(POST_TIMEOUT_MS),
    });
    if (answer.status === 500) return failed(entry);
    if (answer.status > 500) {
      lost(troubleIn(answer.headers.get("X-Trouble")));
      return {};
    }
    answeredNow();
    return answer.headers.get("Content-Type")?.includes("json") ? await answer.json() : {};
  } catch {
    lost();
    return {};
  }
}

function bodyOf(entry) {
  const body = new URLSearchParams(entry.fields);
  const waited = Math.max(0, Date.now() - entry.at); // by one clock, so that a wrong one does no harm
  const more = { event_id: entry.id, station: entry.station, code: entry.code, waited_ms: waited };
  for (const [name, value] of Object.entries(more)) body.set(name, value);
  return body;
}

/* What the server fails on again and again must not hold up the rest for ever. */
function failed(entry) {
  failures.set(entry.id, (failures.get(entry.id) ?? 0) + 1);
  if (failures.get(entry.id) < FAILURES) return {};
  return { result: "refused", reasons: [document.getElementById("connection").dataset.failed] };
}

/* The session may have changed since the page was made, and with it what a form must carry. */
async function forgeryToken() {
  const read = () => /(?:^|; )(?:__Host-)?csrftoken=([^;]+)/.exec(document.cookie)?.[1];
  if (!read()) await fetch(document.body.dataset.outbox, { signal: AbortSignal.timeout(POST_TIMEOUT_MS) });
  return read() ?? "";
}

function drainIn(ms) {
  clearTimeout(again);
  again = setTimeout(drain, ms);
}

function now() {
  pause = AGAIN_MS;
  entries().then((left) => left.length && drain(), () => null);
}

window.addEventListener("online", now);
document.addEventListener("visibilitychange", () => document.hidden || now());
window.addEventListener("pageshow", now);
