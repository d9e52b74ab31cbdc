/* Without a network: the pages that this tablet has shown and what they need, and else a page that says so. It keeps no
   page itself (static/js/kept.js does), touches nothing but pages and static files, and nothing that is sent. */
"use strict";

const VERSION = "{{ version }}";
const SHELL = `railwright-shell-${VERSION}`;
const AWAY = "{{ away_url }}";
const PATIENCE_MS = 4000; // so long a network that may be there is waited for, where something is kept

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(activate()));

async function install() {
  const cache = await caches.open(SHELL);
  await cache.addAll([AWAY{% for each in away_parts %}, "{{ each }}"{% endfor %}].map((url) => new Request(url, { credentials: "omit" })));
  await self.skipWaiting();
}

async function activate() {
  for (const name of await caches.keys()) {
    if (name.startsWith("railwright-") && !name.endsWith(`-${VERSION}`)) await caches.delete(name);
  }
  await self.registration.navigationPreload?.enable();
  await self.clients.claim();
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== location.origin) return;
  if (request.mode === "navigate") event.respondWith(page(event, url));
  else if (request.method === "GET" && url.pathname.startsWith("/static/")) event.respondWith(part(request, url));
});

async function page(event, url) {
  const { request } = event;
  const asked = Promise.resolve(event.preloadResponse).then((preloaded) => preloaded ?? fetch(request));
  event.waitUntil(asked.catch(() => null));
  const kept = request.method === "GET" ? await caches.match(url.pathname) : undefined;
  try {
    const answer = await inTime(asked, kept);
    return answer.status === 503 && kept ? kept : answer; // it can't work just now: the page says so by itself
  } catch {
    return kept ?? caches.match(AWAY);
  }
}

async function part(request, url) {
  const kept = await caches.match(url.pathname, { ignoreVary: true }); // whatever it was compressed for
  try {
    const answer = await inTime(fetch(request), kept);
    if (answer !== kept && answer.status === 200) await keep(url.pathname, answer.clone());
    return answer;
  } catch {
    return kept ?? Response.error();
  }
}

function inTime(asked, kept) {
  if (!kept) return asked;
  return Promise.race([asked, new Promise((done) => setTimeout(done, PATIENCE_MS, kept))]);
}

async function keep(path, answer) {
  await (await caches.open(SHELL)).put(path, answer);
}
