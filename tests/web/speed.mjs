// How much comes over the wire, how soon the first frame stands, how long a tap takes, how smoothly a list scrolls, and that
// nothing is drawn while nothing happens. With a processor for a graphics card, which a phone's is not: it says so.
//
//     node speed.mjs PAGE PICTURES MODULES BROWSER
import { holds, middle, openBrowser, openPage, pause, serve } from "./hand.mjs";

const [folder, , modules, browser] = process.argv.slice(2);
const server = await serve(folder);
const address = `http://127.0.0.1:${server.address().port}/`;
const told = (name, value, most) => {
    const isFine = most === undefined || value <= most;
    console.log(`${name}: ${value}${most === undefined ? "" : ` (at most ${most})${isFine ? "" : ": TOO MUCH"}`}`);
    return isFine;
};
const results = [];
const median = (list) => [...list].sort((a, b) => a - b)[Math.floor(list.length / 2)];
const share = (list, part) => [...list].sort((a, b) => a - b)[Math.min(list.length - 1, Math.floor(list.length * part))];

/// Milliseconds from the start of the navigation to the first frame.
const firstFrame = (hand) => hand.page.evaluate(() => Math.round(performance.getEntriesByName("first frame")[0].startTime));

const open = await openBrowser({ modules, browser, scale: 2 });
let wire = 0;
const before = async ({ devtools }) => {
    await devtools.send("Network.enable");
    devtools.on("Network.loadingFinished", ({ encodedDataLength }) => (wire += encodedDataLength));
};
const hand = await openPage({ context: open.context, address, before });
results.push(told("bytes over the wire at the first opening", wire, 4_500_000));
told("first frame, nothing there before, in ms", await firstFrame(hand));
await hand.page.evaluate(async () => {
    const { active } = await navigator.serviceWorker.ready;
    while (active.state !== "activated") await new Promise((done) => setTimeout(done, 50));
});
const warm = [];
for (let run = 0; run < 5; run += 1) {
    await hand.page.reload();
    await hand.answers();
    warm.push(await firstFrame(hand));
}
results.push(told("first frame, warm, in ms", median(warm), 1500));
await hand.devtools.send("Emulation.setCPUThrottlingRate", { rate: 4 });
const slow = [];
for (let run = 0; run < 3; run += 1) {
    await hand.page.reload();
    await hand.answers();
    slow.push(await firstFrame(hand));
}
results.push(told("first frame, the processor slowed four times, in ms", median(slow), 3000));
await hand.devtools.send("Emulation.setCPUThrottlingRate", { rate: 1 });

console.log(`drawn by: ${await hand.page.evaluate(() => {
    const gl = document.createElement("canvas").getContext("webgl2");
    return gl.getParameter(gl.getExtension("WEBGL_debug_renderer_info").UNMASKED_RENDERER_WEBGL);
})}, at device scale 2`);

// Draw calls are counted, and each frame's time taken, by the page's own hands.
await hand.page.addInitScript(() => {
    globalThis.drawn = 0;
    for (const name of ["drawArrays", "drawElements"]) {
        const real = WebGL2RenderingContext.prototype[name];
        WebGL2RenderingContext.prototype[name] = function (...all) {
            globalThis.drawn += 1;
            return real.apply(this, all);
        };
    }
});
await hand.page.reload();
await hand.answers();
await pause(2000);
const idle = async () => {
    const begun = await hand.page.evaluate(() => globalThis.drawn);
    await pause(5000);
    return (await hand.page.evaluate(() => globalThis.drawn)) - begun;
};
results.push(told("draw calls in 5 s of looking at Tunings", await idle(), 0));

/// From the lifting of the finger to the end of the frame that follows it, by the browser's own measure (Event Timing).
await hand.page.evaluate(() => {
    globalThis.events = [];
    new PerformanceObserver((list) => globalThis.events.push(...list.getEntries().map(({ name, duration }) => [name, duration]))).observe({
        type: "event", durationThreshold: 0, buffered: false,
    });
});
for (let round = 0; round < 4; round += 1) {
    for (const tab of ["Shapes", "Songs", "More", "Tunings"]) {
        await hand.tap(tab, "tab");
        await pause(250);
    }
}
const taps = await hand.page.evaluate(() => globalThis.events.filter(([name]) => name === "pointerup").map(([, duration]) => duration));
told(`a tap on a tab, to the next frame, median of ${taps.length}, in ms (to 8 ms)`, median(taps));
told("and the slowest of twenty", share(taps, 0.95));

await hand.page.evaluate(() => {
    globalThis.frames = [];
    let last = performance.now();
    const each = (now) => {
        globalThis.frames.push(now - last);
        last = now;
        globalThis.isWatching && requestAnimationFrame(each);
    };
    globalThis.isWatching = true;
    requestAnimationFrame(each);
});
const [x] = middle(await hand.hears("Shapes", "tab"));
for (let round = 0; round < 4; round += 1) {
    await hand.draw([x, 500], [x, 250], { ms: 800 });
    await hand.draw([x, 250], [x, 500], { ms: 800 });
}
const intervals = await hand.page.evaluate(() => {
    globalThis.isWatching = false;
    return globalThis.frames.slice(2);
});
told("a frame while a list scrolls, median in ms", Math.round(median(intervals) * 10) / 10);
told("and p95", Math.round(share(intervals, 0.95) * 10) / 10);
holds(hand.faults.length === 0, hand.faults.join("; "));
await open.close();
server.close();
process.exitCode = results.every(Boolean) ? 0 : 1;
