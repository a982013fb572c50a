// What the app asks of a browser (src/platform/web.rs), and what a browser tells the app.
import * as app from "./pegwise.js";
import * as files from "./files.js";
import { answerOf, askMicrophone } from "./sound.js";
import { knownLanguage, show, speak } from "./words.js";

export const nowMs = () => Date.now();

// Files: what is kept, as it was when the page was opened, and what changes.

export const keptPlace = () => (files.isKeeping() ? location.origin + location.pathname : undefined);
export const keptNames = () => files.names();
export const keptBytes = (name) => files.bytesOf(name);
export const keptWrittenMs = (name) => files.writtenOf(name);
export const stagePut = (name, bytes, written) => files.put(name, bytes, written);
export const stageRemove = (name) => files.remove(name);

export function keepStaged(number) {
    files.keep((fault) => {
        app.tellKept(number, fault);
        if (!fault) askToPersist();
    });
}

/// What the page remembers beside the library: that something was told once. Nothing where the browser remembers nothing.
const memory = {
    get: (name) => {
        try {
            return localStorage.getItem(name);
        } catch {
            return null;
        }
    },
    set: (name, value) => {
        try {
            localStorage.setItem(name, value);
        } catch {
            // It is told again next time.
        }
    },
};

let hasAsked = false;

/// From the first song on the browser is asked to keep the files whatever happens (Storage Standard); when it does not
/// promise that, the player is told once.
async function askToPersist() {
    if (hasAsked || app.songCount() === 0) return;
    hasAsked = true;
    const isPromised = (await navigator.storage?.persisted?.()) || (await navigator.storage?.persist?.());
    if (isPromised || memory.get("told-may-vanish")) return;
    show("mayVanish", [
        ["copy", () => app.showExport()],
        ["close", () => {}],
    ]);
    memory.set("told-may-vanish", "yes");
}

// Files out and in.

function download(file) {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(file);
    link.download = file.name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}

/// Hands a file to the system's share sheet on a phone, else to where downloads go. The app hears under `number` where it
/// lies, nothing besides where the player has passed it on, or that it went nowhere.
export function handOut(number, name, type, bytes) {
    const file = new File([bytes.slice()], name, { type });
    const save = () => {
        download(file);
        app.tellGone(number, name);
    };
    const isPhone = matchMedia("(pointer: coarse)").matches;
    if (!isPhone || !navigator.canShare?.({ files: [file] })) return save();
    navigator.share({ files: [file], title: name }).then(
        () => app.tellGone(number, ""),
        (fault) => {
            // The player thought better of it. What the sheet does not take is a download.
            if (fault?.name === "AbortError") app.tellGone(number);
            else save();
        },
    );
    return undefined;
}

export function pickFile(number) {
    const input = document.createElement("input");
    input.type = "file";
    input.addEventListener("cancel", () => app.tellPicked(number));
    input.addEventListener("change", async () => {
        try {
            const [file] = input.files;
            app.tellPicked(number, new Uint8Array(await file.arrayBuffer()));
        } catch (fault) {
            app.tellPicked(number, undefined, String(fault.message));
        }
    });
    input.click();
}

addEventListener("dragover", (event) => event.preventDefault());
addEventListener("drop", async (event) => {
    event.preventDefault();
    const [file] = event.dataTransfer.files;
    if (file) app.takeIn(new Uint8Array(await file.arrayBuffer()));
});
addEventListener("paste", async (event) => {
    // In a field, what is pasted is the field's.
    if (event.target instanceof HTMLInputElement) return;
    const [file] = event.clipboardData.files;
    const text = event.clipboardData.getData("text");
    if (file) app.takeIn(new Uint8Array(await file.arrayBuffer()));
    else if (text.trim()) app.takeIn(new TextEncoder().encode(text));
});

// The screen kept on (Screen Wake Lock API): given back by the browser whenever the page is hidden.

let wantsAwake = false;
let awake;
let isAsking = false;

async function followAwake() {
    // One question at a time; what was wanted meanwhile is seen to after it.
    if (isAsking) return;
    if (!wantsAwake) {
        awake?.release();
        awake = undefined;
    } else if (!awake && document.visibilityState === "visible") {
        isAsking = true;
        try {
            const lock = await navigator.wakeLock?.request("screen");
            awake = lock;
            lock?.addEventListener("release", () => {
                if (awake === lock) awake = undefined;
            });
        } catch {
            // A battery that is low, for one: then the screen sleeps.
        }
        isAsking = false;
        if (!wantsAwake) followAwake();
    }
}

export function keepAwake(wanted) {
    wantsAwake = wanted;
    followAwake();
}

// Back: the history holds an entry for each level of the app, made by the tap that went there.

const RUN = String(Math.random());
/// How many levels the history holds, how many the app has, and whether the browser is on its way between the two.
let held = 0;
let wanted = 0;
let isGoing = false;

function followLevels() {
    if (isGoing || held === wanted) return;
    if (held < wanted) {
        try {
            history.pushState({ run: RUN, level: held + 1 }, "");
        } catch {
            // Too many in a short while, for some browsers: the next tap tries again.
            return;
        }
        held += 1;
        followLevels();
    } else {
        isGoing = true;
        history.go(wanted - held);
    }
}

export function showLevels(levels) {
    wanted = levels;
    followLevels();
}

addEventListener("popstate", ({ state }) => {
    if (state?.run !== RUN) {
        // An entry of the page before it was loaded anew.
        if (state) history.back();
        return;
    }
    const before = held;
    held = state.level;
    if (isGoing) {
        isGoing = false;
    } else {
        for (let level = before; level > held && wanted > held; level -= 1) app.goBack();
    }
    followLevels();
});

export function beginHistory() {
    history.replaceState({ run: RUN, level: 0 }, "");
}

// What the player set in the browser or the system.

export const language = () => knownLanguage() ?? navigator.language;
export const showLanguage = (code) => speak(code);
const lessMotion = matchMedia("(prefers-reduced-motion: reduce)");
const moreContrast = matchMedia("(prefers-contrast: more)");
const forcedColors = matchMedia("(forced-colors: active)");
export const wantsLessMotion = () => lessMotion.matches;
export const wantsMoreContrast = () => moreContrast.matches || forcedColors.matches;

/// Usual text is 16 px; 17 on phones that name their size by their own font (page.css).
export function textScale() {
    const usual = CSS.supports("font: -apple-system-body") && CSS.supports("-webkit-touch-callout: none") ? 17 : 16;
    return parseFloat(getComputedStyle(document.documentElement).fontSize) / usual;
}

/// One of the states the app can be looked at in: `#scene=` in the address. Nothing is kept then.
export const wantedScene = () => new URLSearchParams(location.hash.slice(1)).get("scene") ?? undefined;

// The microphone's permission.

export const microphone = () => answerOf();
export function askForMicrophone() {
    askMicrophone().then(() => app.tellMoment("shown"));
}

// Turns in the app's life. What is hidden may be ended without a further word.

export function keepPlace(place) {
    try {
        sessionStorage.setItem("place", place);
    } catch {
        // Then the app opens where it always does.
    }
}

let placeBefore;
try {
    placeBefore = sessionStorage.getItem("place") ?? undefined;
} catch {
    // Likewise.
}

/// Where the player was in the page before it was loaded anew, once.
export function takePlace() {
    const place = placeBefore;
    placeBefore = undefined;
    return place;
}

/// Brings everything to the files and keeps where the player is.
export function save() {
    app.tellMoment("freezing");
    files.hasten();
}

/// Another page goes on: this one listens, sounds and stays awake no more.
export function stop() {
    app.tellMoment("hidden");
    keepAwake(false);
}

/// From now on the app is told of its life.
export function beginLife() {
    const follow = () => {
        if (document.visibilityState === "visible") {
            app.tellMoment("shown");
            followAwake();
        } else {
            app.tellMoment("hidden");
            save();
        }
    };
    document.addEventListener("visibilitychange", follow);
    document.addEventListener("freeze", save);
    addEventListener("pagehide", () => {
        app.tellMoment("hidden");
        save();
    });
    for (const query of [lessMotion, moreContrast, forcedColors]) {
        query.addEventListener("change", () => app.tellMoment("shown"));
    }
    app.tellMoment("shown");
}
