/* Keeps a whole copy of the handbook on the device, for when the network is gone.
   While there is a network every page comes from it: a safety figure is never taken from an old copy unseen.
   The build puts in the two constants: the copy's version, and each file with the start of its SHA-256. */
"use strict";

const VERSION = "__VERSION__";
const FILES = __FILES__;

const ROOT = self.registration.scope;
const OWN = "handbook " + ROOT + " "; // another handbook of the same host has its own
const CACHE = OWN + VERSION;
const DATE_PATH = "kept-since.json"; // an answer that no server has: when this device fetched the copy
const AT_ONCE = 6;
const PATIENCE = 3000; // ms: in a walk-in the network is often neither there nor gone

let isSlow = 0; // until when the copy answers first, in ms
const fromCopy = new Set(); // pages that were opened from the copy

self.addEventListener("install", (event) => event.waitUntil(keepAll().then(() => self.skipWaiting())));
self.addEventListener("activate", (event) => event.waitUntil(dropOthers().then(() => self.clients.claim())));
self.addEventListener("fetch", (event) => {
  const path = pathOf(event.request);
  if (path !== null) event.respondWith(answer(event, path));
});
self.addEventListener("message", (event) => {
  if (event.data === "which copy") event.waitUntil(tell(event.source));
});

/* A notice of a timer leads to an open page of the handbook, or opens its first one. */
self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  event.waitUntil(self.clients.matchAll({ type: "window" }).then((pages) => (pages[0] ? pages[0].focus() : self.clients.openWindow(ROOT + "index.html"))));
});

/* Every file, each checked against its hash, so that a copy is never half of one build and half of the next. */
async function keepAll() {
  const cache = await caches.open(CACHE);
  const older = await olderFiles();
  const names = Object.keys(FILES);
  const workers = Array.from({ length: AT_ONCE }, async () => {
    for (let name = names.shift(); name !== undefined; name = names.shift()) {
      const url = new URL(name, ROOT).href;
      if (await cache.match(url)) continue;
      await cache.put(url, (await goodCopy(older, url, FILES[name])) || (await fetched(url, FILES[name])));
    }
  });
  await Promise.all(workers);
  await cache.put(new URL(DATE_PATH, ROOT).href, new Response(JSON.stringify({ since: Date.now() })));
}

async function olderFiles() {
  const names = (await caches.keys()).filter((name) => name.startsWith(OWN) && name !== CACHE);
  return Promise.all(names.map((name) => caches.open(name)));
}

async function goodCopy(older, url, hash) {
  for (const cache of older) {
    const found = await cache.match(url);
    if (found && (await hashOf(found.clone())) === hash) return found;
  }
  return null;
}

async function fetched(url, hash) {
  const response = await fetch(url, { cache: "no-cache" });
  if (!response.ok || response.redirected || (await hashOf(response.clone())) !== hash) throw new Error("not this build: " + url);
  return response;
}

async function hashOf(response) {
  const bytes = new Uint8Array(await crypto.subtle.digest("SHA-256", await response.arrayBuffer()));
  return Array.from(bytes.slice(0, 12), (byte) => byte.toString(16).padStart(2, "0")).join("");
}

async function dropOthers() {
  for (const name of await caches.keys()) {
    if (name.startsWith(OWN) && name !== CACHE) await caches.delete(name);
  }
}

function pathOf(request) {
  if (request.method !== "GET" || !request.url.startsWith(ROOT)) return null;
  const path = request.url.slice(ROOT.length).replace(/[?#].*$/, "");
  const name = path === "" || path.endsWith("/") ? path + "index.html" : path;
  return Object.hasOwn(FILES, decodeURIComponent(name)) ? decodeURIComponent(name) : null;
}

async function answer(event, path) {
  const kept = () => caches.open(CACHE).then((cache) => cache.match(new URL(path, ROOT).href));
  const isPage = event.request.mode === "navigate";
  if (Date.now() < isSlow && !isPage) {
    const found = await kept();
    if (found) return found;
  }
  try {
    // A page is asked for anew even where the browser's own store would still do: that store says nothing of its age.
    const asked = isPage ? fetch(event.request, { cache: "no-cache" }) : fetch(event.request);
    return await inTime(asked, Date.now() < isSlow ? PATIENCE / 10 : PATIENCE);
  } catch (lost) {
    const found = await kept();
    if (!found) throw lost;
    isSlow = Date.now() + 10 * PATIENCE;
    if (isPage) fromCopy.add(event.resultingClientId);
    return found;
  }
}

function inTime(answering, patience) {
  return new Promise((resolve, reject) => {
    const timer = setTimeout(() => reject(new Error("too slow")), patience);
    answering.then(resolve, reject).finally(() => clearTimeout(timer));
  });
}

async function tell(client) {
  const dated = await (await caches.open(CACHE)).match(new URL(DATE_PATH, ROOT).href);
  const since = dated ? (await dated.json()).since : null;
  client.postMessage({ handbookCopy: VERSION, since, isFromCopy: fromCopy.has(client.id) });
}
