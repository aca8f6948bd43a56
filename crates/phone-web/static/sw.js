// Keeps one whole version of the phone, all of it or nothing, and serves it without a network.
//
// A new version is fetched beside the old one and waits until the guard takes it: nothing changes under
// an open shift. Which version is current stands in a cache of its own. This file never moves.

const CURRENT = "rattlewatch-current";
const named = (build) => "rattlewatch-" + build;
// What is opened at an address that is no file's name.
const PAGES = { "": "index.html", card: "card.html" };
const scope = () => new URL(self.registration.scope);
const at = (path) => new URL(path, scope()).href;

let build = null;
// The files of that build, opened once: every file that is asked for on a start would wait for it.
let files = null;

async function current() {
  if (build) return build;
  const kept = await (await caches.open(CURRENT)).match(at("build"));
  build = kept ? await kept.text() : null;
  return build;
}

async function become(next) {
  await (await caches.open(CURRENT)).put(at("build"), new Response(next));
  build = next;
  files = null;
  for (const name of await caches.keys()) {
    if (name.startsWith("rattlewatch-") && name !== CURRENT && name !== named(next)) await caches.delete(name);
  }
}

async function digest(bytes) {
  const hash = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return Array.from(hash, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

// One file of a version. What the page has just loaded costs nothing more: the browser asks only whether it is still
// right. If what it held is not what the list says, the file is fetched anew, past every cache.
async function fetchOne(file) {
  for (const how of ["no-cache", "reload"]) {
    const answer = await fetch(at(file.path), { cache: how });
    if (!answer.ok) throw new Error(file.path + ": " + answer.status);
    const bytes = await answer.arrayBuffer();
    if (await digest(bytes) !== file.sha256) continue;
    const headers = new Headers(answer.headers);
    headers.delete("content-encoding");
    headers.delete("content-length");
    return new Response(bytes, { headers });
  }
  throw new Error(file.path + " is of another version");
}

// A browser that can (2026: those made from Chromium) takes what is kept out of the caches by itself, without starting
// this worker first. It asks the oldest cache first, which is the current version: one that waits is younger, and the one
// before is deleted when it is taken. What is in none comes from the network, as from here.
function straight(event) {
  if (!event.addRoutes) return;
  const kept = new URLPattern({ pathname: scope().pathname + "*", search: "" });
  event.addRoutes({ condition: { urlPattern: kept, requestMethod: "get" }, source: "cache" }).catch(() => {
    // This browser knows another form of it: the worker serves.
  });
}

// Fetches a whole version. Gives its build, once every byte of it is here and right.
async function fetchWhole() {
  const list = await (await fetch(at("files.json"), { cache: "no-store" })).json();
  const name = named(list.build);
  if (await caches.has(name) && await (await caches.open(name)).match(at("whole"))) return list.build;
  await caches.delete(name);
  const cache = await caches.open(name);
  try {
    const files = list.files.filter((file) => file.path !== "sw.js");
    await Promise.all(files.map(async (file) => {
      const kept = await fetchOne(file);
      // A page is also kept under the address at which it is opened, where the browser looks for it by itself.
      const opened = Object.keys(PAGES).filter((path) => PAGES[path] === file.path);
      await Promise.all(opened.map((path) => cache.put(at(path), kept.clone())));
      await cache.put(at(file.path), kept);
    }));
    await cache.put(at("whole"), new Response("yes"));
  } catch (error) {
    await caches.delete(name);
    throw error;
  }
  return list.build;
}

self.addEventListener("install", (event) => {
  straight(event);
  event.waitUntil(fetchWhole().then(async (fetched) => {
    if (!await current()) await become(fetched);
  }));
});

// Only a page that nobody serves yet is taken over; one that runs keeps its version.
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  const base = scope();
  if (event.request.method !== "GET" || url.origin !== base.origin || !url.pathname.startsWith(base.pathname)) return;
  const path = url.pathname.slice(base.pathname.length);
  event.respondWith(serve(event.request, PAGES[path] ?? path));
});

async function serve(request, path) {
  const kept = await current();
  if (kept) files ??= caches.open(named(kept));
  const held = kept && await (await files).match(at(path));
  return held || fetch(request);
}

async function tell(words) {
  for (const client of await self.clients.matchAll()) client.postMessage(words);
}

let waits = null;

self.addEventListener("message", (event) => {
  if (event.data === "check") {
    event.waitUntil(fetchWhole().then(async (fetched) => {
      if (fetched === await current()) return;
      waits = fetched;
      await tell("waits");
    }).catch(() => { /* no network, or half a version: asked again later */ }));
  }
  if (event.data === "take") {
    event.waitUntil((async () => {
      const next = waits ?? await fetchWhole();
      await become(next);
      waits = null;
      await tell("taken");
    })());
  }
});
