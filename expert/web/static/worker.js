'use strict';
// Shows the page of a job again where there is no connection, as it was seen last.
const NAME = 'rackwalk VERSION', STILL = ['/static/style.css', '/static/script.js'];
const MOST = 6, PATIENCE = 6000;

self.addEventListener('install', event => {
  event.waitUntil(caches.open(NAME).then(cache => cache.addAll(STILL)).then(() => self.skipWaiting()));
});
self.addEventListener('activate', event => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) if (name !== NAME) await caches.delete(name);
    await self.clients.claim();
  })());
});

const isJob = url => /^\/jobs\/[^/]+$/.test(url.pathname);

self.addEventListener('fetch', event => {
  const url = new URL(event.request.url);
  if (url.origin !== location.origin) return;
  if (event.request.mode === 'navigate') event.respondWith(page(event.request, url));
  else if (STILL.includes(url.pathname)) event.respondWith(still(event.request));
});

async function page(request, url) {
  const cache = await caches.open(NAME);
  const before = request.method === 'GET' && isJob(url) ? await cache.match(url.pathname) : null;
  try {
    // only what can be shown instead is not waited for
    const answer = await (before ? quick(request) : fetch(request));
    if (request.method === 'GET' && isJob(url) && answer.ok && !answer.redirected) {
      await cache.put(url.pathname, answer.clone());
      await few(cache);
    }
    if (new URL(answer.url || request.url).pathname === '/pair') await forget(cache);
    return answer;
  } catch (error) {
    return before || new Response(NOTHING, {status: 503, headers: {'content-type': 'text/html; charset=utf-8',
      'content-security-policy': "default-src 'none'; style-src 'self'"}});
  }
}
async function still(request) {
  const cache = await caches.open(NAME), path = new URL(request.url).pathname;
  try {
    const answer = await quick(request);
    if (answer.ok) await cache.put(path, answer.clone());
    return answer;
  } catch (error) { return await cache.match(path) || Response.error(); }
}
function quick(request) {
  const late = new Promise((_, fail) => setTimeout(() => fail(new Error('late')), PATIENCE));
  return Promise.race([fetch(request), late]);
}
async function few(cache) {
  const pages = (await cache.keys()).filter(each => isJob(new URL(each.url)));
  for (const old of pages.slice(0, -MOST)) await cache.delete(old);
}
async function forget(cache) {
  for (const each of await cache.keys()) if (isJob(new URL(each.url))) await cache.delete(each);
}

const NOTHING = `<!DOCTYPE html><html lang="en"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1"><title>No connection - rackwalk</title>
<link rel="stylesheet" href="/static/style.css"></head><body><main><h1>No connection</h1>
<p>This page needs one. Go back: the page of a job that was opened before takes the readings of its place without.</p>
</main></body></html>`;
