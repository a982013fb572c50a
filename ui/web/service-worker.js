// Keeps the files of one version on the device and gives them out without a network. A newer one waits until every page of
// this is gone, or the player wants it; a page never gets files of two versions. The build fills in what it consists of.
const VERSION = "@VERSION@";
/// Each file's name and its SHA-256.
const FILES = @FILES@;
const CACHE = `pegwise-${VERSION}`;
const SCOPE = new URL("./", self.location).href;

const hex = (bytes) => [...new Uint8Array(bytes)].map((byte) => byte.toString(16).padStart(2, "0")).join("");

/// Fetches a file, asking the host whether what a cache has is still it. One that is of another version ends the installing:
/// it is tried again later.
async function fetchWhole(name, sum) {
    const answer = await fetch(new Request(SCOPE + name, { cache: "no-cache" }));
    if (!answer.ok) throw new Error(`${name}: ${answer.status}`);
    const bytes = await answer.arrayBuffer();
    if (hex(await crypto.subtle.digest("SHA-256", bytes)) !== sum) throw new Error(`${name} is of another version`);
    return new Response(bytes, { headers: { "content-type": answer.headers.get("content-type") } });
}

self.addEventListener("install", (event) => {
    const keepAll = async () => {
        const cache = await caches.open(CACHE);
        await Promise.all(
            Object.entries(FILES).map(async ([name, sum]) => cache.put(SCOPE + name, await fetchWhole(name, sum))),
        );
    };
    event.waitUntil(keepAll());
});

self.addEventListener("activate", (event) => {
    const letGo = async () => {
        const names = (await caches.keys()).filter((name) => name.startsWith("pegwise-") && name !== CACHE);
        await Promise.all(names.map((name) => caches.delete(name)));
    };
    event.waitUntil(letGo());
});

self.addEventListener("message", (event) => {
    if (event.data === "go on") self.skipWaiting();
});

self.addEventListener("fetch", (event) => {
    const url = new URL(event.request.url);
    url.hash = url.search = "";
    const name = event.request.mode === "navigate" ? SCOPE + "index.html" : url.href;
    const answer = async () => (await (await caches.open(CACHE)).match(name)) ?? fetch(event.request);
    if (event.request.method === "GET" && url.href.startsWith(SCOPE)) event.respondWith(answer());
});
