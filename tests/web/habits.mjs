// A phone's habits: what its player set for all apps, its notch and its keyboard, what it tells an app of its life.
//
//     node habits.mjs PAGE PICTURES MODULES BROWSER [CHECK …]
import { acting, holds, openBrowser, openPage, pause, serve } from "./hand.mjs";

const [folder, pictures, modules, browser, ...only] = process.argv.slice(2);
const server = await serve(folder);
const address = `http://127.0.0.1:${server.address().port}/`;
let failed = 0;

async function check(name, does, { before, ...options } = {}) {
    if (only.length > 0 && !only.some((part) => name.includes(part))) return;
    const open = await openBrowser({ modules, browser, ...options });
    try {
        const hand = await openPage({ context: open.context, address, pictures, before });
        await acting(hand).act(name, () => does(hand));
        holds(hand.faults.length === 0, `${name}: ${hand.faults.join("; ")}`);
    } catch (fault) {
        failed += 1;
        console.error(fault.message);
    } finally {
        await open.close();
    }
}

/// The colour of the page's picture at a place, as the browser shows it.
async function colourAt(hand, x, y) {
    const picture = (await hand.page.screenshot({ clip: { x, y, width: 1, height: 1 } })).toString("base64");
    return hand.page.evaluate(async (picture) => {
        const bytes = Uint8Array.from(atob(picture), (letter) => letter.charCodeAt(0));
        const bitmap = await createImageBitmap(new Blob([bytes], { type: "image/png" }));
        const context = new OffscreenCanvas(1, 1).getContext("2d");
        context.drawImage(bitmap, 0, 0);
        return [...context.getImageData(0, 0, 1, 1).data].slice(0, 3);
    }, picture);
}
const near = (one, other) => one.every((value, index) => Math.abs(value - other[index]) <= 3);
/// An empty place of the first screen, between the tabs and the edge.
const PAPER = [4, 320];

await check("light and dark follow the phone, at once", async (hand) => {
    await hand.page.emulateMedia({ colorScheme: "light" });
    await pause(800);
    // The papers of ui/tokens.slint.
    holds(near(await colourAt(hand, ...PAPER), [0xf6, 0xf1, 0xe6]), `light: ${await colourAt(hand, ...PAPER)}`);
    await hand.page.emulateMedia({ colorScheme: "dark" });
    await pause(800);
    holds(near(await colourAt(hand, ...PAPER), [0x14, 0x13, 0x0f]), `dark: ${await colourAt(hand, ...PAPER)}`);
});

await check("more contrast is the sunlight theme", async (hand) => {
    await hand.page.emulateMedia({ contrast: "more" });
    await pause(800);
    holds(near(await colourAt(hand, ...PAPER), [255, 255, 255]), `${await colourAt(hand, ...PAPER)}`);
});

await check("less movement is heard of", async (hand) => {
    await hand.page.emulateMedia({ reducedMotion: "reduce" });
    await hand.tap("More", "tab");
    await hand.tap(/^Settings/, "button");
    const moves = (await hand.elements({ away: true })).find((one) => /mov(e|ement)/i.test(one.name) && one.role === "switch");
    holds(moves?.checked === true, `${JSON.stringify(moves)}`);
});

await check(
    "the language is the browser's",
    async (hand) => {
        await hand.hears("Stimmungen", "tab");
        holds((await hand.page.evaluate(() => document.documentElement.lang)) === "de", "the page's own too");
    },
    { locale: "de-AT" },
);

await check(
    "text is as large as the player has it",
    async (hand) => {
        const row = await hand.hears("Tunings", "tab");
        holds(row, "the tabs are there");
        const field = await hand.hears("Search tunings", "text-input");
        holds(field.height > 60, `a field for text at 200 % is ${field.height} high`);
    },
    { flags: ["--blink-settings=primaryPointerType=2,availablePointerTypes=2,defaultFontSize=32"] },
);

await check("inside what the notch leaves free", async (hand) => {
    await hand.devtools.send("Emulation.setSafeAreaInsetsOverride", { insets: { top: 40, bottom: 24, left: 0, right: 0 } });
    await pause(500);
    const { top, bottom } = await hand.page.evaluate(() => document.getElementById("canvas").getBoundingClientRect().toJSON());
    holds(top === 40 && bottom === hand.height - 24, `from ${top} to ${bottom} of ${hand.height}`);
});

await check("the field that is typed in stays above the keyboard", async (hand) => {
    await hand.tap("Songs", "tab");
    await hand.tap("Add a song", "button");
    await hand.scrollTo("Tempo", "text-input");
    await hand.tap("Tempo", "text-input");
    // A keyboard takes the lower half.
    await hand.turn(360, 340);
    await hand.type("9");
    const field = await hand.hears("Tempo", "text-input");
    holds(field.top >= 0 && field.top + field.height <= 340, `it is at ${field.top} to ${field.top + field.height} of 340`);
});

await check("the picture stays where it is while its player types on a low screen", async (hand) => {
    await hand.tap("Songs", "tab");
    await hand.tap("Add a song", "button");
    await hand.tap("Title", "text-input");
    await hand.turn(640, 190);
    await hand.type("Weir");
    const at = () => hand.page.evaluate(() => document.getElementById("canvas").getBoundingClientRect().toJSON());
    holds((await at()).top === 0 && (await at()).left === 0, `it is at ${(await at()).left}, ${(await at()).top}`);
    await hand.turn(360, 640);
    await hand.type(" two");
    holds((await at()).top === 0 && (await at()).left === 0, `turned back it is at ${(await at()).left}, ${(await at()).top}`);
});

await check(
    "a field gets the keyboard in the lifting of the finger, however long it lay there",
    async (hand) => {
        await hand.tap("Songs", "tab");
        await hand.tap("Add a song", "button");
        for (const ms of [60, 200]) {
            await hand.page.evaluate(() => (globalThis.focusedIn.length = 0));
            await hand.tap("Title", "text-input", { ms });
            const seen = await hand.page.evaluate(() => globalThis.focusedIn);
            holds(seen.includes("touchend") || seen.includes("pointerup"), `after ${ms} ms: ${seen}`);
            await hand.tap("Songs", "tab");
            await hand.tap("Add a song", "button");
        }
    },
    {
        before: ({ page }) =>
            page.addInitScript(() => {
                globalThis.focusedIn = [];
                const focus = HTMLInputElement.prototype.focus;
                HTMLInputElement.prototype.focus = function (...how) {
                    globalThis.focusedIn.push(globalThis.event?.type ?? "nothing");
                    return focus.apply(this, how);
                };
            }),
    },
);

await check("the page's own messages are reached by keys, and a cover lets nothing through", async (hand) => {
    await hand.tap("Songs", "tab");
    await hand.tap("Add a song", "button");
    await hand.tap("Title", "text-input");
    await hand.type("Weir");
    await hand.page.locator("[data-bar=mayVanish]").waitFor({ timeout: 10000 });
    const focused = () => hand.page.evaluate(() => document.activeElement.closest("[data-bar]")?.dataset.bar);
    await hand.key("F6");
    holds((await focused()) === "mayVanish", `F6 leads to ${await focused()}`);
    await hand.key("Escape");
    holds((await focused()) === undefined, "and Escape back");
    await hand.key("F6");
    await hand.key("Enter");
    await hand.hears(/^Share|^Save/, "button");
    holds((await hand.page.locator("[data-bar=mayVanish]").count()) === 0, "what was chosen is done");
    // Another page goes on with the files.
    await hand.page.evaluate(() => new BroadcastChannel("pegwise").postMessage("hand over"));
    await hand.page.locator("[data-bar=moved]").waitFor({ timeout: 10000 });
    holds((await focused()) === "moved", "its button has the keys");
    const before = JSON.stringify(await hand.elements());
    await hand.tapAt(300, 610);
    await hand.key("Tab");
    await hand.page.keyboard.press("a");
    await pause(500);
    holds(JSON.stringify(await hand.elements()) === before, "nothing below it hears of touch or keys");
});

await check("Back in the moment in which the page has the keys again", async (hand) => {
    await hand.tap("Songs", "tab");
    await hand.tap("Add a song", "button");
    await hand.tap("Title", "text-input");
    await hand.type("Weir");
    await hand.page.evaluate(async () => {
        const app = await import("./pegwise.js");
        document.activeElement.blur();
        document.getElementById("canvas").focus();
        app.goBack();
    });
    await hand.hears("Search songs");
});

await check("nothing zooms or bounces by accident", async (hand) => {
    for (let tap = 0; tap < 2; tap += 1) await hand.tapAt(180, 600);
    await hand.draw([180, 300], [180, 600], { ms: 100 });
    const [scale, x, y] = await hand.page.evaluate(() => [visualViewport.scale, scrollX, scrollY]);
    holds(scale === 1 && x === 0 && y === 0, `${scale} ${x} ${y}`);
});

await check(
    "the screen is kept on while a retuning is shown, and given back",
    async (hand) => {
        const locks = () => hand.page.evaluate(() => globalThis.locks);
        holds((await locks()) === 0, "not before");
        await hand.tap(/^G6, D G D G B E/);
        await pause(500);
        holds((await locks()) === 1, `${await locks()} while it is shown`);
        await hand.tap("Shapes", "tab");
        await pause(500);
        holds((await locks()) === 0, "and not after");
    },
    {
        before: ({ page }) =>
            page.addInitScript(() => {
                globalThis.locks = 0;
                Object.defineProperty(navigator, "wakeLock", {
                    value: {
                        request: async () => {
                            globalThis.locks += 1;
                            const lock = new EventTarget();
                            lock.release = async () => (globalThis.locks -= 1);
                            return lock;
                        },
                    },
                });
            }),
    },
);

await check("what was typed the moment before the page was left is kept", async (hand) => {
    await hand.tap("Songs", "tab");
    await hand.tap("Add a song", "button");
    await hand.tap("Title", "text-input");
    await hand.page.keyboard.type("Weir over stones");
    await hand.page.goto("about:blank");
    const again = await openPage({ context: hand.page.context(), address, page: hand.page });
    await again.tap("Songs", "tab");
    await again.hears("Weir over stones");
    // And before it was hidden, where it may be killed without a further word.
    await again.tap("Add a song", "button");
    await again.tap("Title", "text-input");
    await again.page.keyboard.type("Ferry in fog");
    await again.page.evaluate(() => {
        Object.defineProperty(document, "visibilityState", { get: () => "hidden" });
        document.dispatchEvent(new Event("visibilitychange"));
    });
    const crashed = new Promise((done) => again.page.once("crash", done));
    again.devtools.send("Page.crash").catch(() => {});
    await crashed;
    const context = again.page.context();
    await again.page.close();
    const last = await openPage({ context, address, page: await context.newPage() });
    await last.tap("Songs", "tab");
    await last.hears("Ferry in fog");
});

server.close();
process.exitCode = failed === 0 ? 0 : 1;
