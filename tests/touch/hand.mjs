// A hand on the page: opens it in a headless browser as large as a small phone, touches it, and asks what it says.
//
// Touches are sent as the browser's own, through its debugging protocol ("Input.dispatchTouchEvent"), so they take the
// way a finger's take: browser, window system, toolkit. There is nothing else in the page to click on.
import { createServer } from "node:http";
import { readFile, writeFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { join } from "node:path";

const TYPES = { html: "text/html", js: "text/javascript", wasm: "application/wasm" };
/// How long anything may take to be said, in ms: a page drawn by the processor on a busy machine is slow.
const PATIENCE_MS = 15000;
/// Time between two reports of a moving finger, in ms: 60 a second, as a touch screen sends them.
const REPORT_MS = 16;

export const pause = (ms) => new Promise((done) => setTimeout(done, ms));

function serve(folder) {
    const server = createServer(async (request, answer) => {
        const name = request.url === "/" ? "index.html" : request.url.slice(1);
        try {
            const body = await readFile(join(folder, name));
            answer.writeHead(200, { "content-type": TYPES[name.split(".").pop()] ?? "application/octet-stream" });
            answer.end(body);
        } catch {
            answer.writeHead(404).end();
        }
    });
    return new Promise((done) => server.listen(0, "127.0.0.1", () => done(server)));
}

export async function openPage({ page: folder, pictures, modules, browser: path, width, height }) {
    const { chromium } = createRequire(join(modules, "node_modules/"))("playwright-core");
    const server = await serve(folder);
    const browser = await chromium.launch({
        executablePath: path,
        args: ["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"],
    });
    const context = await browser.newContext({
        viewport: { width, height }, deviceScaleFactor: 1, hasTouch: true, isMobile: true, locale: "en",
    });
    const page = await context.newPage();
    const faults = [];
    // How the toolkit's event loop leaves the page's first call; nothing is wrong then.
    const isLoop = (text) => text.includes("Using exceptions for control flow");
    page.on("pageerror", (fault) => isLoop(fault.message) || faults.push(fault.message));
    page.on("console", (line) => line.type() === "error" && !isLoop(line.text()) && faults.push(line.text()));
    const touchScreen = await context.newCDPSession(page);
    const begun = Date.now();
    await page.goto(`http://127.0.0.1:${server.address().port}/`);
    await page.waitForFunction(() => window.said?.().includes("\n"), undefined, { timeout: 60000 });
    const openedMs = Date.now() - begun;

    const send = (type, points) =>
        touchScreen.send("Input.dispatchTouchEvent", { type, touchPoints: points.map(([x, y]) => ({ x, y })) });
    let shots = 0;

    const hand = {
        openedMs,
        faults,
        width,
        height,

        /// Every element the app tells of, in the order of the screen.
        async elements() {
            const lines = await page.evaluate(() => window.said());
            return lines.split("\n").filter(Boolean).map((line) => {
                const [role, left, top, width, height, checked, enabled, value, name] = line.split("\t");
                return {
                    role, name, value, checked: checked === "true", enabled: enabled !== "false",
                    left: +left, top: +top, width: +width, height: +height,
                };
            });
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
        async tapAt(x, y) {
            await send("touchStart", [[x, y]]);
            await pause(60);
            await send("touchEnd", []);
            await pause(120);
        },

        /// A tap on the middle of what bears this name.
        async tap(name, role) {
            const found = await hand.hears(name, role);
            const [x, y] = middle(found);
            if (x < 0 || y < 0 || x > hand.width || y > hand.height) throw new Error(`"${found.name}" is out of sight`);
            await hand.tapAt(x, y);
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
        async type(text) {
            await page.keyboard.type(text, { delay: 40 });
            await pause(150);
        },

        async key(name) {
            await page.keyboard.press(name);
            await pause(200);
        },

        /// The phone turned or its screen split.
        async turn(width, height) {
            await page.setViewportSize({ width, height });
            [hand.width, hand.height] = [width, height];
            await pause(500);
        },

        async picture(name) {
            shots += 1;
            const file = join(pictures, `${String(shots).padStart(2, "0")}-${name}.png`);
            await writeFile(file, await page.screenshot());
        },

        async close() {
            await browser.close();
            server.close();
        },
    };
    return hand;
}

export const middle = ({ left, top, width, height }) => [left + width / 2, top + height / 2];
