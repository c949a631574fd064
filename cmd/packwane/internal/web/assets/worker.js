// The service worker: pages come from packwane itself; where it cannot be reached, the form that waits stands in. A form that was sent
// in vain is put aside. Version {{version}}.
"use strict";

importScripts("/static/waiting.js");

const room = "packwane {{version}}";
const shell = {{files}};
const away = "/away";

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const cache = await caches.open(room);
    await cache.addAll([...shell, away, "/manifest.webmanifest"]);
    await self.skipWaiting();
  })());
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) {
      if (name !== room) {
        await caches.delete(name);
      }
    }
    await self.clients.claim();
  })());
});

// standIn answers for a page that cannot be had.
const standIn = async () => {
  const kept = await caches.match(away);
  return kept || Response.error();
};

// fixed answers with a file: the very one that was kept, else a new one, else one of that name.
const fixed = async (request) => {
  const kept = await caches.match(request);
  if (kept) {
    return kept;
  }
  try {
    return await fetch(request);
  } catch {
    return (await caches.match(request, { ignoreSearch: true })) || Response.error();
  }
};

const page = async (request) => {
  try {
    return await fetch(request);
  } catch {
    return standIn();
  }
};

const send = async (request, kind) => {
  const copy = request.clone();
  try {
    return await fetch(request);
  } catch {
    const fields = Object.fromEntries(await copy.formData());
    await waiting.put(waiting.of(kind, fields));
    return standIn();
  }
};

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin) {
    return;
  }
  const kind = /^\/log\/(ride|charge|check|service)$/.exec(url.pathname);
  if (request.mode === "navigate" && request.method === "POST" && kind) {
    event.respondWith(send(request, kind[1]));
  } else if (request.mode === "navigate" && request.method === "GET") {
    event.respondWith(page(request));
  } else if (request.method === "GET" && (url.pathname.startsWith("/static/") || url.pathname === "/manifest.webmanifest")) {
    event.respondWith(fixed(request));
  }
});
