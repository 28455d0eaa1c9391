// The service worker: keeps the page's shell and the immutable files of runs on the
// device, so that a tablet counts on when the network drops, a reload included. What
// the workshop can still answer comes from the workshop.
/// <reference lib="webworker" />
const self_ = self as unknown as ServiceWorkerGlobalScope;
const kept = "brightcut-1";
const shell = ["/", "/assets/app.js", "/assets/app.css"];
const mostKept = 24; // immutable files of runs, the oldest go
const patience = 4000; // ms until the network counts as gone

self_.addEventListener("install", (e) => {
  e.waitUntil(caches.open(kept).then((c) => c.addAll(shell)).then(() => self_.skipWaiting()));
});
self_.addEventListener("activate", (e) => {
  e.waitUntil(caches.keys().then((names) => Promise.all(names.filter((n) => n !== kept).map((n) => caches.delete(n)))).then(() => self_.clients.claim()));
});
self_.addEventListener("fetch", (e) => {
  const url = new URL(e.request.url);
  if (e.request.method !== "GET" || url.origin !== location.origin) return;
  if (shell.includes(url.pathname)) e.respondWith(newest(e.request, url.pathname));
  else if (/^\/api\/runs\/[^/]+\/cuts\.(json|bin)$/.test(url.pathname)) e.respondWith(forEver(e.request));
});

/** The workshop's answer, or the last one when it gives none. */
async function newest(request: Request, path: string): Promise<Response> {
  const c = await caches.open(kept);
  try {
    const answer = await fetch(request, { signal: AbortSignal.timeout(patience) });
    if (answer.ok) await c.put(path, answer.clone());
    if (answer.status < 500) return answer;
  } catch { /* the network is gone */ }
  return await c.match(path) ?? Response.error();
}

/** A file that never changes. */
async function forEver(request: Request): Promise<Response> {
  const c = await caches.open(kept);
  const had = await c.match(request.url);
  if (had) return had;
  const answer = await fetch(request);
  if (answer.ok) {
    await c.put(request.url, answer.clone());
    const runs = (await c.keys()).filter((r) => new URL(r.url).pathname.startsWith("/api/"));
    for (const old of runs.slice(0, Math.max(0, runs.length - mostKept))) await c.delete(old);
  }
  return answer;
}
