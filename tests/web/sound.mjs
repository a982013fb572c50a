// What the microphone is fed is accepted as it is elsewhere, and what reaches the loudspeaker is what was meant.
//
//     node sound.mjs PAGE PICTURES MODULES BROWSER
//
// The browser takes a WAV file of this test's own making for its microphone. What its loudspeaker gets is recorded on the
// page's way out by a worklet of this test (for that alone the page's security policy is lifted here).
import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { holds, openBrowser, openPage, pause, serve } from "./hand.mjs";
import { frequency } from "./pitch.mjs";

const [folder, pictures, modules, browser, ...only] = process.argv.slice(2);
const RATE = 48000;
// Equal temperament from A4 = 440; E2 82.407 is in the CRC Handbook of Chemistry and Physics, "Musical scales".
const D2 = 73.416, G2 = 97.999, E2 = 82.407;
const OPEN_IN_G6 = [D2, G2, 146.832, 195.998, 246.942, 329.628];
const cents = (hertz, by) => hertz * 2 ** (by / 1200);

/// A plucked string that stands `bend(t)` cents from `hertz`: eight partials of strength 1/n, the nth dying √n times as fast
/// as the first, which falls by 60 dB in `decay` seconds, in a quiet room's noise 46 dB below (common practice, no source).
/// As tests/core/performances.rs makes them.
function pluck(hertz, seconds, { decay = 6, bend = () => 0 } = {}) {
    const out = new Float32Array(Math.round(seconds * RATE));
    for (let n = 1; n <= 8 && n * hertz < 5000; n += 1) {
        const fall = 10 ** ((-3 * Math.sqrt(n)) / (decay * RATE));
        let strength = 0.18 / n;
        let phase = 0;
        let factor = 1;
        for (let at = 0; at < out.length; at += 1) {
            if (at % 16 === 0) factor = 2 ** (bend(at / RATE) / 1200);
            phase = (phase + (2 * Math.PI * n * hertz * factor) / RATE) % (2 * Math.PI);
            out[at] += strength * Math.min(1, at / 96) * Math.sin(phase);
            strength *= fall;
        }
    }
    return out;
}

/// A quick hand turns 150 cents a second, half a second after the pluck; how long until a string stands still, and it.
const TURNS = 150;
const turnedBy = (from, to) => (1200 * Math.log2(from / to));
const stillAfter = (from, to) => 0.5 + Math.abs(turnedBy(from, to)) / TURNS;
function brought(from, to) {
    const way = turnedBy(from, to);
    const left = (t) => Math.sign(way) * Math.max(0, Math.abs(way) - Math.max(0, t - 0.5) * TURNS);
    return pluck(to, stillAfter(from, to) + 3, { decay: 12, bend: left });
}

function wav(parts) {
    const samples = parts.flatMap((part) => [...part]);
    const bytes = Buffer.alloc(44 + samples.length * 2);
    bytes.write("RIFF", 0);
    bytes.writeUInt32LE(36 + samples.length * 2, 4);
    bytes.write("WAVEfmt ", 8);
    for (const [at, value, size] of [[16, 16, 4], [20, 1, 2], [22, 1, 2], [24, RATE, 4], [28, RATE * 2, 4], [32, 2, 2], [34, 16, 2]]) {
        bytes.writeUIntLE(value, at, size);
    }
    bytes.write("data", 36);
    bytes.writeUInt32LE(samples.length * 2, 40);
    let noise = 1;
    samples.forEach((sample, index) => {
        noise = (Math.imul(noise, 1664525) + 1013904223) >>> 0;
        bytes.writeInt16LE(Math.round((sample + 0.002 * (noise / 2 ** 32 - 0.5)) * 32767), 44 + index * 2);
    });
    return bytes;
}

const silence = (seconds) => new Float32Array(Math.round(seconds * RATE));

async function byMicrophone() {
    const room = await mkdtemp(join(tmpdir(), "pegwise-sound-"));
    const file = join(room, "strings.wav");
    // For each string what must not be taken for it: the strings it is told from as they are sounded, others an octave away,
    // its old pitch; then 18 cents flat; then turned from its old pitch to its new one, and left to ring into the next step,
    // for which it is no evidence. Then all six. The bounds are those of tests/core/performances.rs.
    const D3 = 146.832, G3 = 195.998;
    const steps = [
        { from: E2, to: D2, wrong: [D3, E2] },
        { from: 110, to: G2, wrong: [G3, D3, 110] },
    ];
    const parts = [silence(2)];
    let at = 2;
    const rights = [];
    const put = (part, gap) => {
        parts.push(part, silence(gap));
        at += part.length / RATE + gap;
    };
    for (const { from, to, wrong } of steps) {
        for (const hertz of wrong) put(pluck(hertz, 1.1), 0.7);
        put(pluck(cents(to, -18), 2.5), 0.7);
        rights.push(at + stillAfter(from, to));
        put(brought(from, to), 1.8);
    }
    const checked = at;
    for (const hertz of OPEN_IN_G6) put(pluck(hertz, 2.2), 0.8);
    parts.push(silence(60));
    await writeFile(file, wav(parts));
    const server = await serve(folder);
    const flags = ["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream", `--use-file-for-fake-audio-capture=${file}%noloop`];
    const open = await openBrowser({ modules, browser, flags });
    try {
        const address = `http://127.0.0.1:${server.address().port}/`;
        // Everything that is asked of the microphone is written down.
        const before = ({ page }) =>
            page.addInitScript(() => {
                globalThis.asked = [];
                const real = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);
                navigator.mediaDevices.getUserMedia = async (wanted) => {
                    globalThis.asked.push(wanted);
                    const stream = await real(wanted);
                    globalThis.tracks = stream.getAudioTracks();
                    globalThis.heardFrom = performance.now();
                    return stream;
                };
            });
        const hand = await openPage({ context: open.context, address, pictures, before });
        await hand.tap(/^G6, D G D G B E/);
        await hand.tap("Skip to the step");
        await hand.hears("Loosen 6");
        holds((await hand.page.evaluate(() => globalThis.asked.length)) === 0, "nothing is opened before a tap");
        await hand.scrollTo(/^Listen/, "button");
        await hand.tap(/^Listen/, "button");
        // The phone's microphone is ours from here; the file runs.
        await hand.page.waitForFunction(() => globalThis.heardFrom, undefined, { timeout: 10000 });
        const now = () => hand.page.evaluate(() => (performance.now() - globalThis.heardFrom) / 1000);
        const when = async (name, wanted = true) => {
            const until = Date.now() + 60000;
            // What was scrolled away by looking for the button counts too.
            const isSaid = async () => (await hand.elements({ away: true })).some((one) => name.test(one.name));
            while ((await isSaid()) !== wanted) {
                if (Date.now() > until) throw new Error(`never: ${name}; ${(await hand.elements()).map((one) => one.name).join(", ")}`);
                await pause(50);
            }
            return now();
        };
        const fifth = await when(/^step 2 of 2/);
        // Elsewhere it is 0.8 s at most; the sound takes a while through the browser, and the test looks 20 times a second.
        const MOST = 0.8 + 0.35;
        console.log(`  6th string stands still at ${rights[0].toFixed(1)} s, accepted after ${(fifth - rights[0]).toFixed(2)} s`);
        holds(fifth > rights[0] - 0.1 && fifth < rights[0] + MOST, "nothing else is taken for it, and right is right");
        const all = await when(/^step 2 of 2/, false);
        console.log(`  5th string stands still at ${rights[1].toFixed(1)} s, accepted after ${(all - rights[1]).toFixed(2)} s`);
        holds(all > rights[1] - 0.1 && all < rights[1] + MOST, "and the other likewise");
        const done = await when(/^You are in G6/);
        console.log(`  six strings heard from ${checked.toFixed(1)} s on, all right at ${done.toFixed(1)} s, no hand on the phone`);
        const asked = await hand.page.evaluate(() => globalThis.asked);
        const { echoCancellation, noiseSuppression, autoGainControl } = asked[0].audio;
        holds(echoCancellation === false && noiseSuppression === false && autoGainControl === false, "as it sounds");
        await pause(500);
        holds(await hand.page.evaluate(() => globalThis.tracks[0].readyState === "ended"), "the microphone is closed with the work");
        holds(hand.faults.length === 0, hand.faults.join("; "));
        await hand.picture("retuned-by-ear");
    } finally {
        await open.close();
        server.close();
        await rm(room, { recursive: true, force: true });
    }
}

/// The app listens to the browser's made-up microphone; then `does` with it.
async function whileListening(does) {
    const server = await serve(folder);
    const open = await openBrowser({ modules, browser, flags: ["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream"] });
    try {
        const before = ({ page }) =>
            page.addInitScript(() => {
                const real = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);
                navigator.mediaDevices.getUserMedia = async (wanted) => {
                    const stream = await real(wanted);
                    globalThis.tracks = stream.getAudioTracks();
                    return stream;
                };
            });
        const hand = await openPage({ context: open.context, address: `http://127.0.0.1:${server.address().port}/`, pictures, before });
        await hand.tap(/^G6, D G D G B E/);
        await hand.tap("Skip to the step");
        await hand.scrollTo(/^Listen/, "button");
        await hand.tap(/^Listen/, "button");
        await hand.page.waitForFunction(() => globalThis.tracks?.[0].readyState === "live");
        await does(hand);
        holds(hand.faults.length === 0, hand.faults.join("; "));
    } finally {
        await open.close();
        server.close();
    }
}

/// Hidden, nothing listens any more.
const hidden = () =>
    whileListening(async (hand) => {
        await pause(1000);
        await hand.page.evaluate(() => {
            Object.defineProperty(document, "visibilityState", { get: () => "hidden" });
            document.dispatchEvent(new Event("visibilitychange"));
        });
        await pause(500);
        holds(await hand.page.evaluate(() => globalThis.tracks[0].readyState === "ended"), "the microphone is closed");
    });

/// A call takes the microphone without a word: after three seconds that is told.
const interrupted = () =>
    whileListening(async (hand) => {
        await pause(4000);
        await hand.hearsNo(/another app/i);
        await hand.page.evaluate(() => Object.defineProperty(globalThis.tracks[0], "muted", { get: () => true }));
        await hand.hears(/another app is using the microphone/i);
    });

/// Refused, missing and busy, each with its remedy; closed when the page is hidden.
async function withoutMicrophone() {
    const server = await serve(folder);
    const address = `http://127.0.0.1:${server.address().port}/`;
    for (const [fault, told] of [
        ["NotAllowedError", /refused.*browser/i], ["NotFoundError", /no microphone/i], ["NotReadableError", /another|in use|busy/i],
    ]) {
        const open = await openBrowser({ modules, browser });
        try {
            const before = ({ page }) =>
                page.addInitScript((fault) => {
                    navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException("as the test wants it", fault));
                }, fault);
            const hand = await openPage({ context: open.context, address, pictures, before });
            await hand.tap(/^G6, D G D G B E/);
            await hand.tap("Skip to the step");
            await hand.scrollTo(/^Listen/, "button");
            await hand.tap(/^Listen/, "button");
            const said = await hand.hears(told);
            console.log(`  ${fault}: "${said.name}"`);
            await hand.picture(fault);
            await hand.tap("It is right");
            holds(hand.faults.length === 0, hand.faults.join("; "));
        } finally {
            await open.close();
        }
    }
    server.close();
}

/// Two windows of half a second, a second apart, once the pluck itself is over.
const windows = (rate) => ({ from: Math.round(rate * 0.3), length: Math.round(rate * 0.5), apart: Math.round(rate) });

async function byLoudspeaker() {
    const server = await serve(folder);
    const open = await openBrowser({ modules, browser, bypassCSP: true });
    try {
        const before = ({ page }) =>
            page.addInitScript(() => {
                globalThis.heard = [];
                const code = `registerProcessor("test-recorder", class extends AudioWorkletProcessor {
                    process([[channel]]) {
                        if (channel) this.port.postMessage([currentFrame, channel.slice()]);
                        return true;
                    }
                });`;
                const url = URL.createObjectURL(new Blob([code], { type: "text/javascript" }));
                const add = AudioWorklet.prototype.addModule;
                AudioWorklet.prototype.addModule = async function (...all) {
                    await add.call(this, url);
                    return add.apply(this, all);
                };
                const connect = AudioNode.prototype.connect;
                AudioNode.prototype.connect = function (to, ...rest) {
                    if (to instanceof AudioDestinationNode) {
                        const node = new AudioWorkletNode(this.context, "test-recorder", { numberOfOutputs: 0 });
                        node.port.onmessage = ({ data }) => globalThis.heard.push([data[0], data[1], performance.now()]);
                        connect.call(this, node);
                        globalThis.rate = this.context.sampleRate;
                    }
                    return connect.call(this, to, ...rest);
                };
                addEventListener("pointerup", () => (globalThis.lifted = performance.now()), { capture: true });
            });
        const address = `http://127.0.0.1:${server.address().port}/`;
        const hand = await openPage({ context: open.context, address, pictures, before });
        await hand.tap(/^G6, D G D G B E/);
        await hand.tap("Skip to the step");
        await hand.hears("Loosen 6");
        holds((await hand.page.evaluate(() => globalThis.heard.length)) === 0, "nothing sounds before a tap");
        await hand.scrollTo("Hear it", "button");
        await hand.tap("Hear it", "button");
        const name = "Hear the note D";
        await hand.scrollTo(name, "button");
        // Not under the button that stands below the page.
        if ((await hand.find(name)).top > 380) await hand.scroll(140);
        const [latencies, pitches, gaps] = [[], [], []];
        let sounded = 0;
        while (sounded < 10) {
            await hand.page.evaluate(() => (globalThis.heard.length = 0));
            const button = await hand.tap(name, "button");
            const lifted = await hand.page.evaluate(() => globalThis.lifted);
            // The page scrolls under the sound.
            for (let round = 0; round < 3; round += 1) {
                await hand.scroll(-120);
                await hand.scroll(120);
            }
            await pause(300);
            const [all, rate] = await hand.page.evaluate(() => [
                globalThis.heard.map(([frame, samples, at]) => [frame, [...samples], at]), globalThis.rate,
            ]);
            // A loudspeaker that was given back meanwhile is opened anew, and counts from 0.
            const blocks = all.slice(all.findLastIndex(([frame], at) => at === 0 || frame < all[at - 1][0]));
            const samples = blocks.flatMap(([, samples]) => samples);
            holds(samples.length > 0, `"${button.name}" sounds`);
            for (let at = 1; at < blocks.length; at += 1) {
                const missed = blocks[at][0] - blocks[at - 1][0] - blocks[at - 1][1].length;
                holds(missed === 0, `the recording itself has a gap of ${missed} samples`);
            }
            const first = samples.findIndex((value) => value !== 0);
            const block = blocks.find(([, samples]) => samples.some((value) => value !== 0));
            latencies.push(block[2] - lifted);
            const last = samples.findLastIndex((value) => Math.abs(value) > 1e-4);
            // A gap is nothing at all in the middle of a note: so many samples of exactly 0 no string has.
            let zeros = 0;
            for (let at = first; at < last; at += 1) {
                zeros = samples[at] === 0 ? zeros + 1 : 0;
                if (zeros === 16) gaps.push(((at - first) / rate).toFixed(3));
            }
            sounded += (last - first) / rate;
            const from = samples.slice(first);
            if (from.length > 2 * rate) pitches.push(1200 * Math.log2(frequency(from, rate, D2, windows(rate)) / D2));
            await pause(400);
        }
        console.log(`  ${sounded.toFixed(1)} s sounded while the page scrolled; gaps at: ${gaps.join(", ") || "none"}`);
        console.log(`  off D2 (73.416 Hz) by ${pitches.map((off) => off.toFixed(3)).join(", ")} cents`);
        console.log(`  from the lifted finger to the first sample: ${latencies.map((ms) => ms.toFixed(0)).join(", ")} ms`);
        holds(gaps.length === 0, "a gap in what sounds");
        holds(pitches.length > 0 && pitches.every((off) => Math.abs(off) <= 0.1), "the pitch is off by more than 0.1 cent");
        holds(hand.faults.length === 0, hand.faults.join("; "));
    } finally {
        await open.close();
        server.close();
    }
}

const all = [
    ["a whole retuning by the microphone", byMicrophone], ["a microphone that is not to be had", withoutMicrophone],
    ["a page that is hidden", hidden], ["a call in the middle of it", interrupted], ["what the loudspeaker gets", byLoudspeaker],
];
let failed = 0;
for (const [name, does] of all.filter(([name]) => only.length === 0 || only.some((part) => name.includes(part)))) {
    try {
        await does();
        console.log(`${name}: as expected`);
    } catch (fault) {
        failed += 1;
        console.error(`${name}: ${fault.stack}`);
    }
}
process.exitCode = failed === 0 ? 0 : 1;
