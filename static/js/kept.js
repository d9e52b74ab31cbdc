/* What this tablet keeps for when it has no network: the pages that it has shown, the sheets that come next, and what
   they need. Browsers keep it on secure addresses alone (caches and service workers are there on no others). */

const { version } = document.body.dataset;
const PAGES = `railwright-pages-${version}`;
const SHELL = `railwright-shell-${version}`;
const MOST_PAGES = 40;

export const canKeep = "caches" in window;

const pages = () => caches.open(PAGES);
const tables = new Map();

/* The kept page at `path`, or undefined. */
export const keptPage = async (path) => (canKeep ? (await pages()).match(path) : undefined);
export const keeps = async (path) => Boolean(await keptPage(path));
export const forgetPages = async () => canKeep && caches.delete(PAGES);

/* `mark` is how its row looked in the queue: where that changes, the sheet has. */
export async function keep(path, root, mark = "") {
  const cache = await pages();
  const { number = "", label = "" } = root.querySelector("#bench")?.dataset ?? {};
  const headers = {
    "Content-Type": "text/html; charset=utf-8",
    "X-Number": number,
    "X-Label": label,
    "X-Label": root.querySelector("#bench")?.dataset.label ?? "",
    "X-Mark": mark || ((await cache.match(path))?.headers.get("X-Mark") ?? ""),
    "X-Kept": String(Date.now()),
  };
  await cache.delete(path); // so that the oldest stays first
  await cache.put(path, new Response(`<!doctype html>${root.outerHTML}`, { headers }));
  for (const old of (await cache.keys()).slice(0, -MOST_PAGES)) await cache.delete(old);
}

/* What a page needs beside itself: as the browser has it already, where it has; the service worker keeps it fresh. Not
   while nobody looks. */
export async function keepShell(urls) {
  const cache = await caches.open(SHELL);
  for (const url of new Set(urls.map((each) => new URL(each, location.href).pathname))) {
    if (!url.startsWith("/static/") || (await cache.match(url))) continue;
    if (document.hidden) throw new Error("nobody looks");
    const answer = await fetch(url, { cache: "force-cache" });
    if (answer.ok) await cache.put(url, answer);
  }
}

/* The cords of one blind by its measured chain, or null where they can't be had. */
export async function cordsOf(url) {
  if (!url) return null;
  if (!tables.has(url)) tables.set(url, tableOf(url).catch(() => tables.delete(url) && null));
  return tables.get(url);
}

async function tableOf(url) {
  const kept = canKeep && (await (await pages()).match(url));
  if (kept) return kept.json();
  const answer = await fetch(url);
  if (!answer.ok || answer.redirected) throw new Error(answer.status);
  if (canKeep) await (await pages()).put(url, answer.clone());
  return answer.json();
}

/* The kept sheet under `queue` of what was scanned or typed, or null. Of a remade rail only the new label counts. The last
   digit of a blind's code is its check digit: a number typed without it may be a slip, and is not proved. */
export async function find(text, queue) {
  const tidy = text.replace(/^\][A-Za-z][0-9A-Za-z]/, "").replace(/\s/g, "");
  const [, order, serial, check] = /^(\d{1,6})-(\d{1,3})(?:-(\d))?$/.exec(tidy) ?? [];
  const number = order && `${String(Number(order)).padStart(4, "0")}-${Number(serial)}`;
  if (!canKeep) return null;
  const cache = await pages();
  for (const asked of await cache.keys()) {
    const { pathname } = new URL(asked.url);
    const [code] = pathname.startsWith(queue) ? pathname.slice(queue.length).split("/") : [];
    if (!code) continue;
    const { headers } = await cache.match(asked);
    const isNumber = number && headers.get("X-Number") === number;
    // By the label that counts: that of a rail which was scrapped names no sheet.
    if (headers.get("X-Label") === tidy || (isNumber && (!check || code.endsWith(check)))) {
      return { path: pathname, number, isProved: !isNumber || Boolean(check) };
    }
  }
  return null;
}
