{% load static %}// Keeps the live pages and what they are drawn with for when there is no network. All else, and
// whatever is sent, goes its usual way.
"use strict";

const FILES_KEPT = "files-{version}";
const PAGES_KEPT = "pages";
const FILES = [
  "{% static 'css/workbook.css' %}",
  "{% static 'icons/kiln.svg' %}",
  "{% static 'js/page.js' %}",
  "{% static 'js/kept.js' %}",
  "{% static 'js/kept_forms.js' %}",
  "{% static 'js/offline.js' %}",
  "{% static 'js/watch.js' %}",
  "{% static 'django_htmx/htmx-2.min.js' %}",
];
const LIVE = /^\/((kilns|firings\/\d+)\/now|series\/\d+)\/$/;
const SIGN_OUT = "{% url 'studio:sign_out' %}";
const PATIENCE_MS = 6000;

// A page that is no longer live, or asks for a sign-in, is kept no longer.
async function keep(path, answer) {
  const pages = await caches.open(PAGES_KEPT);
  if (answer.ok && !answer.redirected) await pages.put(path, answer);
  else if (answer.status < 500) await pages.delete(path);
}

async function renew(path) {
  try {
    await keep(path, await fetch(path));
  } catch {
    // It stays as it was.
  }
}

// The network first; where it fails, or a page is known and the network is too slow, the page
// as it was last seen.
async function page(event, path) {
  const known = await caches.match(path, { cacheName: PAGES_KEPT, ignoreVary: true });
  const asked = fetch(event.request);
  event.waitUntil(asked.then((answer) => keep(path, answer.clone())).catch(() => {}));
  if (!known) return asked;
  const slow = new Promise((resolve) => setTimeout(resolve, PATIENCE_MS, known));
  return Promise.race([asked.catch(() => known), slow]);
}

// A name with a hash in it never changes.
async function file(request, path) {
  const kept = await caches.open(FILES_KEPT);
  const known = await kept.match(path);
  if (known && /\.[0-9a-f]{12}\./.test(path)) return known;
  return fetch(request).catch(() => known ?? Response.error());
}

self.addEventListener("install", (event) => {
  self.skipWaiting();
  const files = FILES.map((path) => new Request(path, { cache: "no-cache" }));
  event.waitUntil(caches.open(FILES_KEPT).then((kept) => kept.addAll(files)));
});

// Pages are kept anew, since the old ones name files that are gone.
self.addEventListener("activate", (event) => {
  const tidied = async () => {
    const names = await caches.keys();
    await Promise.all(
      names.filter((name) => ![FILES_KEPT, PAGES_KEPT].includes(name)).map((name) => caches.delete(name)),
    );
    await self.clients.claim();
    const pages = await (await caches.open(PAGES_KEPT)).keys();
    await Promise.all(pages.map((each) => renew(new URL(each.url).pathname)));
  };
  event.waitUntil(tidied());
});

// A live page that was opened before there was a worker.
self.addEventListener("message", (event) => {
  if (LIVE.test(event.data.keep)) event.waitUntil(renew(event.data.keep));
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (origin !== self.location.origin) return;
  if (request.method === "POST" && pathname === SIGN_OUT) event.waitUntil(caches.delete(PAGES_KEPT));
  if (request.method !== "GET") return;
  if (request.mode === "navigate" && LIVE.test(pathname)) event.respondWith(page(event, pathname));
  else if (FILES.includes(pathname)) event.respondWith(file(request, pathname));
});
