// Loudspeaker and microphone (Web Audio API, Media Capture and Streams), asked for by src/platform/web_sound.rs. Two audio
// worklets (sound-worklet.js) pass blocks to and from this thread; nothing is opened but by what the player asks for.

/// Why something cannot be had: the numbers of `fault` in src/platform/web_sound.rs.
const DENIED = 1;
const BUSY = 2;
const LOST = 3;
const NO_INPUT = 4;
const NOT_SUPPORTED = 6;

/// So far ahead of the loudspeaker sound is made, in seconds: this thread also draws, and a frame of a slow phone takes long.
/// Where it ran dry even so it goes further ahead from then on.
let aheadS = 0.3;
const MORE_S = 0.15;
const MOST_S = 0.75;
/// A loudspeaker or microphone that has not begun for this long, or has stopped, is not to be had, in ms.
const LONGEST_BEGIN_MS = 3000;
/// Nothing that a browser does to a voice does a string any good.
const RAW = { echoCancellation: false, noiseSuppression: false, autoGainControl: false, channelCount: 1 };

let context;
let modules;
let intake;
let outlet;

/// 0 may listen, 1 not asked, 2 asking, 3 refused.
let answer = 1;
/// A microphone that was opened by the question, for the intake that is opened next; or why there is none.
let ready;

navigator.permissions
    ?.query({ name: "microphone" })
    .then((permission) => {
        const follow = () => {
            if (answer !== 2) answer = { granted: 0, denied: 3 }[permission.state] ?? 1;
        };
        permission.addEventListener("change", follow);
        follow();
    })
    .catch(() => {
        // A browser that does not say is asked each time.
    });

export const answerOf = () => answer;

/// The player is asked by the browser. What was opened so stays open for a moment, for the one who wanted it.
export async function askMicrophone() {
    answer = 2;
    ready = undefined;
    const opened = await openMicrophone();
    if (opened.fault === DENIED) {
        answer = 3;
        return;
    }
    answer = 0;
    ready = opened;
    setTimeout(() => {
        if (ready === opened) {
            close(opened.stream);
            ready = undefined;
        }
    }, 3000);
}

async function openMicrophone() {
    if (!navigator.mediaDevices) return { fault: NOT_SUPPORTED };
    try {
        return { stream: await navigator.mediaDevices.getUserMedia({ audio: RAW }) };
    } catch (fault) {
        const faults = {
            NotAllowedError: DENIED, SecurityError: DENIED, NotFoundError: NO_INPUT, NotReadableError: BUSY, AbortError: BUSY,
        };
        return { fault: faults[fault.name] ?? NOT_SUPPORTED };
    }
}

const close = (stream) => stream?.getTracks().forEach((track) => track.stop());

/// The one audio context, opened with the first that needs it; nothing where it is not to be had.
function begin() {
    try {
        // A phone's switch for silence is meant for calls, not for the note that its player asks for (Audio Session API).
        if (navigator.audioSession) navigator.audioSession.type = intake ? "play-and-record" : "playback";
        if (!context) {
            context = new AudioContext({ latencyHint: "interactive" });
            modules = context.audioWorklet.addModule("sound-worklet.js");
        }
    } catch {
        return undefined;
    }
    wake();
    return context;
}

function wake() {
    if (context && (intake || outlet) && context.state !== "running") context.resume().catch(() => {});
}
// A browser lets sound begin within a tap only, and some forget that the tap before was one.
for (const event of ["pointerup", "touchend", "click", "keydown"]) addEventListener(event, wake, { capture: true });
// What the system took while nobody looked is asked for anew, before it is called busy.
document.addEventListener("visibilitychange", () => {
    if (document.visibilityState !== "visible") return;
    for (const one of [intake, outlet]) if (one) one.since = performance.now();
    wake();
});

/// With neither open the device is given back.
function end() {
    if (intake || outlet || !context) return;
    context.close();
    context = undefined;
    if (navigator.audioSession) navigator.audioSession.type = "auto";
}

export const rateHz = () => context.sampleRate;

export function openIntake() {
    if (!globalThis.AudioContext || !globalThis.AudioWorkletNode) return NOT_SUPPORTED;
    const opened = ready;
    ready = undefined;
    if (opened?.fault) return opened.fault;
    const mine = { blocks: [], held: 0, fault: 0, since: performance.now() };
    intake = mine;
    const on = begin();
    if (!on) {
        close(opened?.stream);
        intake = undefined;
        return NOT_SUPPORTED;
    }
    (opened ? Promise.resolve(opened) : openMicrophone())
        .then(async ({ stream, fault }) => {
            mine.stream = stream;
            mine.fault = fault ?? 0;
            await modules;
            if (fault || intake !== mine) return close(stream);
            stream.getAudioTracks()[0].addEventListener("ended", () => (mine.fault = LOST));
            mine.source = on.createMediaStreamSource(stream);
            mine.node = new AudioWorkletNode(on, "pegwise-in", { numberOfOutputs: 0 });
            mine.node.port.onmessage = ({ data }) => {
                // Nobody fetched it for a second: what is heard later matters more.
                if (mine.held > on.sampleRate) [mine.blocks, mine.held] = [[], 0];
                mine.blocks.push(data);
                mine.held += data.length;
            };
            mine.source.connect(mine.node);
            return undefined;
        })
        .catch(() => {
            mine.fault = NOT_SUPPORTED;
            close(mine.stream);
        });
    return 0;
}

export function takeIn() {
    const all = new Float32Array(intake?.held ?? 0);
    let at = 0;
    for (const block of intake?.blocks ?? []) {
        all.set(block, at);
        at += block.length;
    }
    if (intake) [intake.blocks, intake.held] = [[], 0];
    return all;
}

/// A call or another app takes the microphone without a word to us: then it is silent, or the context stands still.
export function intakeFault() {
    if (!intake) return LOST;
    const isTaken = intake.stream && (context.state !== "running" || intake.stream.getAudioTracks()[0]?.muted);
    return intake.fault || faultOf(intake, isTaken);
}

/// What waits for longer than a device takes to begin is in other hands.
function faultOf(one, isWaiting) {
    if (!isWaiting) one.since = performance.now();
    return performance.now() - one.since > LONGEST_BEGIN_MS ? BUSY : 0;
}

export function closeIntake() {
    close(intake?.stream);
    intake?.source?.disconnect();
    intake?.node?.port.postMessage("end");
    intake = undefined;
    end();
}

export function openOutlet() {
    if (!globalThis.AudioContext || !globalThis.AudioWorkletNode) return NOT_SUPPORTED;
    const mine = { put: 0, played: 0, gaps: 0, fault: 0, since: performance.now() };
    outlet = mine;
    const on = begin();
    if (!on) {
        outlet = undefined;
        return NOT_SUPPORTED;
    }
    modules
        .then(() => {
            if (outlet !== mine) return;
            mine.node = new AudioWorkletNode(on, "pegwise-out", { numberOfInputs: 0, outputChannelCount: [1] });
            mine.node.port.onmessage = ({ data: { played, gaps } }) => {
                mine.played = played;
                if (gaps > mine.gaps) aheadS = Math.min(MOST_S, aheadS + MORE_S);
                mine.gaps = gaps;
            };
            mine.node.connect(on.destination);
        })
        .catch(() => (mine.fault = NOT_SUPPORTED));
    return 0;
}

export function wanted() {
    if (!outlet?.node || context.state !== "running") return 0;
    return Math.max(0, Math.round(aheadS * context.sampleRate) - (outlet.put - outlet.played));
}

export function putOut(samples) {
    if (!outlet?.node) return;
    outlet.put += samples.length;
    const block = samples.slice();
    outlet.node.port.postMessage(block, [block.buffer]);
}

export function outletFault() {
    if (!outlet) return LOST;
    return outlet.fault || faultOf(outlet, !outlet.node || context.state !== "running");
}

export const isDrained = () => !outlet || outlet.played >= outlet.put;

export function closeOutlet() {
    outlet?.node?.port.postMessage("end");
    outlet?.node?.disconnect();
    outlet = undefined;
    end();
}
