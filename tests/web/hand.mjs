// A hand on the page: opens it in a headless browser as large as a small phone, touches it, and asks what it says.
//
// Touches are sent as the browser's own, through its debugging protocol ("Input.dispatchTouchEvent"), so they take the
// way a finger's take: browser, window system, toolkit. The scale is the device's own, not an emulated one: an emulated
// scale has a device-pixel box that is not the page's.
import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";

import { serve } from "../../ui/web/serve.mjs";

export { serve };

/// How long anything may take to be said, in ms: a page drawn by the processor on a busy machine is slow.
const PATIENCE_MS = 20000;
/// How long the page may take to open, in ms.
const OPENING_MS = 60000;
/// Time between two reports of a moving finger, in ms: 60 a second, as a touch screen sends them.
const REPORT_MS = 16;
/// The glass is touched, as a phone's is: Chromium's numbers for the kinds of pointer ("coarse"). No service of the browser's
/// maker is asked for anything.
const QUIET = [
    "--blink-settings=primaryPointerType=2,availablePointerTypes=2",
    "--no-sandbox", "--disable-gpu", "--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
];

export const pause = (ms) => new Promise((done) => setTimeout(done, ms));
export const middle = ({ left, top, width, height }) => [left + width / 2, top + height / 2];

export function holds(fact, what) {
    if (!fact) throw new Error(what);
}

/// Every element the app tells of, in the order of the screen, inner ones after theirs.
function flat(list, inside = []) {
    return list.flatMap((one) => {
        const [left, top, width, height] = one.place;
        const { inner, ...rest } = one;
        const told = { value: "", ...rest, checked: (one.selected ?? one.checked) === true, left, top, width, height, inside };
        return [told, ...flat(inner ?? [], [...inside, one.role])];
    });
}

/// Starts a browser with an empty folder of its own, or with `profile`, one that was used before.
export async function openBrowser({ modules, browser: path, scale = 1, flags = [], profile, ...options }) {
    const { chromium } = createRequire(join(modules, "node_modules/"))("playwright-core");
    const folder = profile ?? (await mkdtemp(join(tmpdir(), "pegwise-web-")));
    const context = await chromium.launchPersistentContext(folder, {
        executablePath: path,
        viewport: null,
        locale: "en",
        acceptDownloads: true,
        args: [...QUIET, `--force-device-scale-factor=${scale}`, ...flags],
        ...options,
    });
    return {
        context,
        folder,
        async close({ keeps = false } = {}) {
            await context.close();
            if (!keeps) await rm(folder, { recursive: true, force: true });
        },
    };
}

/// Opens `address` in a page of `context`, as a phone of this size, and waits until the app answers.
export async function openPage({ context, address, pictures, width = 360, height = 640, page: given, waits = true, before }) {
    const page = given ?? context.pages()[0] ?? (await context.newPage());
    const faults = [];
    // How the toolkit's event loop leaves the page's first call; nothing is wrong then.
    const isLoop = (text) => text.includes("Using exceptions for control flow");
    page.on("pageerror", (fault) => isLoop(fault.message) || faults.push(fault.message));
    page.on("console", (line) => line.type() === "error" && !isLoop(line.text()) && faults.push(line.text()));
    const devtools = await context.newCDPSession(page);
    const { windowId } = await devtools.send("Browser.getWindowForTarget");
    await devtools.send("Emulation.setTouchEmulationEnabled", { enabled: true, maxTouchPoints: 5 });
    // The window is larger than the page by the browser's own bars.
    const resize = async (width, height) => {
        const bars = await page.evaluate(() => outerHeight - innerHeight);
        await devtools.send("Browser.setWindowBounds", { windowId, bounds: { width, height: height + Math.max(bars, 0) } });
        for (let tries = 0; tries < 50 && (await page.evaluate(() => innerWidth)) !== width; tries += 1) await pause(40);
        const off = (await page.evaluate(() => innerHeight)) - height;
        if (off !== 0) {
            const { bounds } = await devtools.send("Browser.getWindowBounds", { windowId });
            await devtools.send("Browser.setWindowBounds", { windowId, bounds: { width, height: bounds.height - off } });
            await pause(200);
        }
    };
    await resize(width, height);
    await before?.({ page, devtools, address });
    const begun = Date.now();
    await page.goto(address);
    const answers = async () => {
        const until = Date.now() + OPENING_MS;
        const said = () => import("./pegwise.js").then((app) => app.said().length > 2).catch(() => false);
        while (!(await page.evaluate(said).catch(() => false))) {
            if (Date.now() > until) throw new Error(`the app does not answer; ${faults.join("; ")}`);
            await pause(30);
        }
    };
    if (waits) await answers();
    const openedMs = Date.now() - begun;
    const send = (type, points) =>
        devtools.send("Input.dispatchTouchEvent", { type, touchPoints: points.map(([x, y]) => ({ x, y })) });
    let shots = 0;

    const hand = {
        page, devtools, openedMs, faults, width, height, answers,

        /// Every element the app tells of, in the order of the screen; those scrolled away only if asked for.
        async elements({ away = false } = {}) {
            const said = await page.evaluate(() => import("./pegwise.js").then((app) => app.said()));
            return flat(JSON.parse(said)).filter((one) => away || !one.away);
        },

        /// The first element whose name begins with `name` (a string) or matches it (a pattern); undefined without one.
        async find(name, role) {
            const fits = (text) => (name instanceof RegExp ? name.test(text) : text.startsWith(name));
            return (await hand.elements()).find((one) => fits(one.name) && (!role || one.role === role));
        },

        /// Waits until the app says it, and stands still.
        async hears(name, role) {
            const until = Date.now() + PATIENCE_MS;
            let before;
            for (;;) {
                const found = await hand.find(name, role);
                if (found && before && found.left === before.left && found.top === before.top) return found;
                before = found;
                if (Date.now() > until) {
                    const all = (await hand.elements()).map((one) => `${one.role} "${one.name}"`).join(", ");
                    throw new Error(`the app never says ${name}; it says: ${all}`);
                }
                await pause(60);
            }
        },

        /// Throws when the app says it after all.
        async hearsNo(name, role) {
            const found = await hand.find(name, role);
            if (found) throw new Error(`the app says "${found.name}"`);
        },

        /// A finger put down and lifted at a place.
        async tapAt(x, y, { ms = 60 } = {}) {
            await send("touchStart", [[x, y]]);
            await pause(ms);
            await send("touchEnd", []);
            await pause(120);
        },

        /// A tap on the middle of what bears this name.
        async tap(name, role, how) {
            const found = await hand.hears(name, role);
            const [x, y] = middle(found);
            if (x < 0 || y < 0 || x > hand.width || y > hand.height) throw new Error(`"${found.name}" is out of sight`);
            await hand.tapAt(x, y, how);
            return found;
        },

        /// A finger drawn from one place to another; quick and let go it is a swipe, slow and held it is a drag.
        async draw([fromX, fromY], [toX, toY], { ms = 160, hold = 0 } = {}) {
            await send("touchStart", [[fromX, fromY]]);
            const steps = Math.max(3, Math.round(ms / REPORT_MS));
            for (let step = 1; step <= steps; step += 1) {
                await pause(REPORT_MS);
                const part = step / steps;
                await send("touchMove", [[fromX + (toX - fromX) * part, fromY + (toY - fromY) * part]]);
            }
            await pause(hold);
            await send("touchEnd", []);
            await pause(400);
        },

        /// Scrolls the page under the finger by so much (up is positive), slowly and held, so that it stands where it is.
        async scroll(by, { x = hand.width / 2, y = hand.height * 0.45 } = {}) {
            await hand.draw([x, y + by / 2], [x, y - by / 2], { ms: 300, hold: 200 });
        },

        /// Scrolls down until the app says it, five times at most.
        async scrollTo(name, role) {
            for (let tries = 0; tries < 5 && !(await hand.find(name, role)); tries += 1) await hand.scroll(250);
            return hand.hears(name, role);
        },

        /// What the player types once a field has the keys.
        async type(text, { delay = 40 } = {}) {
            await page.keyboard.type(text, { delay });
            await pause(150);
        },

        async key(name) {
            await page.keyboard.press(name);
            await pause(200);
        },

        /// The phone turned, its screen split, or its keyboard up.
        async turn(width, height) {
            await resize(width, height);
            [hand.width, hand.height] = [width, height];
            await pause(500);
        },

        async picture(name) {
            if (!pictures) return;
            shots += 1;
            const file = join(pictures, `${String(shots).padStart(2, "0")}-${name}.png`);
            await writeFile(file, await page.screenshot());
        },
    };
    return hand;
}

/// Runs acts one after the other, says how long each took, and leaves a picture of each.
export function acting(hand) {
    let acts = 0;
    const act = async (name, does) => {
        const begun = Date.now();
        try {
            await does();
        } catch (fault) {
            await hand.picture("fault").catch(() => {});
            throw new Error(`${name}: ${fault.message}`);
        }
        acts += 1;
        if (!hand.page.isClosed()) await hand.picture(name.replaceAll(" ", "-"));
        console.log(`${name} (${((Date.now() - begun) / 1000).toFixed(1)} s)`);
    };
    return { act, count: () => acts };
}
