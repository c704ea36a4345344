{% autoescape off %}// Keeps the page for when there is no signal: asked of the network first, then of what is kept.
"use strict";
const KEPT = [{% for file in kept %}"{{ file }}"{% if not forloop.last %}, {% endif %}{% endfor %}];
const STORE = "phone-" + KEPT.join().split("").reduce((sum, c) => (31 * sum + c.charCodeAt(0)) | 0, 7);
const PATIENCE_MS = 4000;

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(STORE).then((store) => store.addAll(KEPT)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  const forget = (names) => Promise.all(names.filter((n) => n.startsWith("phone-") && n !== STORE).map((n) => carryOver(n)));
  event.waitUntil(caches.keys().then(forget).then(() => self.clients.claim()).then(keepOpenPages));
});

// On a first visit this comes after the page: what is open is fetched once more, to be kept.
async function keepOpenPages() {
  const store = await caches.open(STORE);
  for (const page of await self.clients.matchAll({ type: "window" })) {
    const path = new URL(page.url).pathname;
    if (await store.match(path)) continue;
    try {
      const answer = await fetch(path, { credentials: "omit", redirect: "follow" });
      if (answer.ok) await store.put(path, answer);
    } catch {
      // The signal went: kept at the next visit.
    }
  }
}

// Pages outlive an update of the site; stylesheets of an old one don't.
async function carryOver(name) {
  const [old, store] = await Promise.all([caches.open(name), caches.open(STORE)]);
  for (const request of await old.keys()) {
    if (new URL(request.url).pathname.startsWith("/mine/")) await store.put(request, await old.match(request));
  }
  await caches.delete(name);
}

self.addEventListener("fetch", (event) => {
  const where = new URL(event.request.url);
  if (event.request.method !== "GET" || where.origin !== self.location.origin) return;
  if (where.pathname.startsWith("/mine/")) event.respondWith(newest(event.request, where.pathname));
  else if (where.pathname.startsWith("/static/")) event.respondWith(keptFirst(event.request));
});

async function newest(request, path) {
  const store = await caches.open(STORE);
  try {
    const stop = new AbortController();
    const late = setTimeout(() => stop.abort(), PATIENCE_MS);
    const answer = await fetch(request.url, { signal: stop.signal, credentials: "omit", redirect: "follow" });
    clearTimeout(late);
    if (answer.ok && request.mode === "navigate") await store.put(path, answer.clone());
    // A page that was closed isn't kept any longer.
    if (answer.status === 410 || answer.status === 404) await store.delete(path);
    return answer;
  } catch (lost) {
    const kept = await store.match(path);
    if (kept) return kept;
    throw lost;
  }
}

async function keptFirst(request) {
  const store = await caches.open(STORE);
  const kept = await store.match(request);
  if (kept) return kept;
  const answer = await fetch(request);
  if (answer.ok) await store.put(request, answer.clone());
  return answer;
}{% endautoescape %}
