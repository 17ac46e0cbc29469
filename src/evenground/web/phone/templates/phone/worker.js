// Keeps the phone page on the phone. Nothing of a farm goes through here: entries are kept by the page itself.
{% if not plain %}import { send } from "/phone/files/{{ version }}/sending.js";
{% endif %}
const CACHE = "phone-{{ version }}";
const PAGE = "/phone/";
const NAMES = {{ names|safe }};
const FILES = NAMES.map((name) => `/phone/files/{{ version }}/${name}`);

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const cache = await caches.open(CACHE);
    // Asked for anew: what the browser keeps may be of another version.
    await cache.addAll([PAGE, "/phone/manifest.webmanifest", ...FILES].map((url) => new Request(url, { cache: "reload" })));
  })());
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) {
      if (name.startsWith("phone-") && name !== CACHE) await caches.delete(name);
    }
    await self.clients.claim();
  })());
});

self.addEventListener("message", (event) => {
  if (event.data === "take over") self.skipWaiting();
});

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== self.location.origin) return;
  if (url.pathname === PAGE) event.respondWith(kept(PAGE, event.request));
  else if (url.pathname.startsWith("/phone/files/")) event.respondWith(kept(url.pathname, event.request));
  else if (url.pathname === "/phone/manifest.webmanifest") event.respondWith(kept(url.pathname, event.request));
});

async function kept(path, request) {
  const cache = await caches.open(CACHE);
  return (await cache.match(path)) || fetch(request);
}
{% if not plain %}
self.addEventListener("sync", (event) => {
  if (event.tag === "send") event.waitUntil(send());
});
{% endif %}
