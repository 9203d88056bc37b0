// Keeps the built lab for visits without a network. The build puts in the list of files and a name for this version.
const FILES = ['__FILES__'];
const PREFIX = `sweepwise ${registration.scope} `; // two labs under one origin must not empty each other's store
const CACHE = `${PREFIX}__VERSION__`;

addEventListener('install', (event) => {
  event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll(FILES)));
});

// Activated once no page of an older version is open: only then are the older files in nobody's way.
addEventListener('activate', (event) => {
  event.waitUntil(takeOver());
});

async function takeOver() {
  for (const name of await caches.keys()) {
    if (name.startsWith(PREFIX) && name !== CACHE) await caches.delete(name);
  }
  await clients.claim();
}

addEventListener('fetch', (event) => {
  const { request } = event;
  if (request.method !== 'GET' || !request.url.startsWith(registration.scope)) return;
  event.respondWith(request.mode === 'navigate' ? newestPage(request) : keptFile(request));
});

/** The page itself comes from the network while there is one, so that a new version is found. */
async function newestPage(request) {
  try {
    return await fetch(request);
  } catch (error) {
    const kept = await caches.match('index.html', { cacheName: CACHE });
    if (kept) return kept;
    throw error;
  }
}

/** All other files carry their content in their name: what is kept never grows stale. */
async function keptFile(request) {
  return (await caches.match(request, { cacheName: CACHE })) ?? fetch(request);
}
