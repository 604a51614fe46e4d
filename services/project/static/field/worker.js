/* The service worker: keeps the page of the field whole, so that it opens without the book.

   `FILES` (address to SHA-256), `STATIC` (where they lie) and `VERSION` stand above this text when
   the book serves it.  A new version is taken only whole, each file as its digest says; what the
   phone holds is not touched. */

const CACHE = `field-${VERSION}`;
const PAGE = "/field/";

const hex = (buffer) => Array.from(new Uint8Array(buffer), (byte) => byte.toString(16).padStart(2, "0")).join("");

const isWhole = async (answer, digest) =>
  answer.ok && hex(await crypto.subtle.digest("SHA-256", await answer.clone().arrayBuffer())) === digest;

/** Fetches a file, past the browser's own cache where that holds an older one. */
const fetched = async (address, digest) => {
  for (const cache of ["default", "reload"]) {
    const answer = await fetch(address, { cache, credentials: "omit" });
    if (await isWhole(answer, digest)) return answer;
  }
  throw new Error(`${address} is not the file that was promised`);
};

/** Returns an answer that fits every request for its address: there is one of each. */
const forAll = (answer) => {
  const headers = new Headers(answer.headers);
  headers.delete("Vary");
  return new Response(answer.body, { headers });
};

const install = async () => {
  const cache = await caches.open(CACHE);
  const files = Object.entries(FILES);
  const answers = await Promise.all(files.map(([address, digest]) => fetched(address, digest)));
  await Promise.all(answers.map((answer, place) => cache.put(files[place][0], forAll(answer))));
  await self.skipWaiting();
};

const activate = async () => {
  const names = await caches.keys();
  const old = names.filter((name) => name.startsWith("field-") && name !== CACHE);
  await Promise.all(old.map((name) => caches.delete(name)));
  await self.clients.claim();
};

let opening = null; // the cache is opened once, for the page asks for many small files at once
const kept = () => (opening ??= caches.open(CACHE));

const answerFor = async (address, request) => {
  const cache = await kept();
  return (await cache.match(address)) ?? fetch(request);
};

/** Lets a browser that can answer from the cache by itself do so, without waking the worker. */
const answerAsleep = (event) =>
  event.addRoutes?.([PAGE, `${STATIC}*`].map((pathname) => ({
    condition: { urlPattern: new URLPattern({ pathname }), requestMethod: "GET" },
    source: { cacheName: CACHE },
  })));

self.addEventListener("install", (event) => event.waitUntil(Promise.all([install(), answerAsleep(event)])));
self.addEventListener("activate", (event) => event.waitUntil(activate()));
self.addEventListener("fetch", (event) => {
  const { pathname, origin } = new URL(event.request.url);
  if (event.request.method !== "GET" || origin !== self.location.origin) return;
  if (pathname === PAGE || pathname in FILES) event.respondWith(answerFor(pathname, event.request));
});
