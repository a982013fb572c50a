// What is kept, whatever happens to the page: no network, a tab that is killed while its player types, no room, a private
// window, a second tab, a new version in the middle of a retuning, files out and in.
//
//     node kept.mjs PAGE PICTURES MODULES BROWSER [CHECK …]      (all of them unless told)
import { createHash } from "node:crypto";
import { cp, mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { holds, openBrowser, openPage, pause, serve } from "./hand.mjs";

const [folder, pictures, modules, browser, ...only] = process.argv.slice(2);
const KILLS = Number(process.env.PEGWISE_KILLS ?? 50);
/// What was typed this long before the end is kept, in ms.
const PROMISED_MS = 2000;
const checks = [];
const check = (name, does) => checks.push({ name, does });

/// A server, a browser and the app opened in it, all gone afterwards.
async function withApp(does, { page = folder, ...options } = {}) {
    const server = await serve(page, 0, options.seen);
    const address = `http://127.0.0.1:${server.address().port}/`;
    const open = await openBrowser({ modules, browser, ...options });
    try {
        const hand = await openPage({ context: open.context, address, pictures, ...options });
        await does({ hand, open, address, server });
    } finally {
        await open.close();
        server.closeAllConnections();
        server.close();
    }
}

/// The titles in the file that the browser keeps.
const titles = (hand) =>
    hand.page.evaluate(async () => {
        const asked = (request) =>
            new Promise((done, fail) => {
                request.onsuccess = () => done(request.result);
                request.onerror = () => fail(request.error);
            });
        const base = await asked(indexedDB.open("pegwise"));
        const file = await asked(base.transaction("files").objectStore("files").get("pegwise-library.json"));
        base.close();
        return (JSON.parse(new TextDecoder().decode(file?.bytes) || "{}").songs ?? []).map(({ title }) => title);
    });

/// Until everything of this version lies on the device.
const isOffline = (hand) =>
    hand.page.evaluate(async () => {
        const { active } = await navigator.serviceWorker.ready;
        while (active.state !== "activated") await new Promise((done) => setTimeout(done, 50));
    });

async function retune(hand) {
    await hand.tap(/^G6, D G D G B E/);
    await hand.tap("Skip to the step");
    await hand.hears("Loosen 6");
}

async function finish(hand) {
    await hand.tap("It is right");
    await hand.hears("Loosen 5");
    await hand.tap("It is right");
    await hand.tap("All sound right");
    await hand.hears("You are in G6");
    await hand.tap("Shapes", "tab");
    await hand.hears(/^Key of G major/);
}

async function newSong(hand) {
    await hand.tap("Songs", "tab");
    await hand.tap("Add a song", "button");
    await hand.tap("Title", "text-input");
}

check("offline", () =>
    withApp(async ({ hand, open, address, server }) => {
        await isOffline(hand);
        await hand.page.close();
        server.closeAllConnections();
        await new Promise((done) => server.close(done));
        const page = await open.context.newPage();
        const again = await openPage({ context: open.context, address, page });
        console.log(`  the second opening, without a host: ${again.openedMs} ms`);
        await retune(again);
        await finish(again);
        holds(again.faults.length === 0, again.faults.join("; "));
    }));

check("no request leaves once the files are there", async () => {
    const seen = [];
    await withApp(
        async ({ hand, open, address }) => {
            await isOffline(hand);
            seen.length = 0;
            await hand.page.close();
            const page = await open.context.newPage();
            const again = await openPage({ context: open.context, address, page });
            await retune(again);
            await finish(again);
            // The browser itself asks whether there is a new version, and for nothing else.
            const others = seen.filter((path) => path !== "/service-worker.js");
            holds(others.length === 0, `asked for: ${others.join(" ")}`);
        },
        { seen: (path) => seen.push(path) },
    );
});

check("killed while its player types", () =>
    withApp(async ({ hand, open, address }) => {
        await newSong(hand);
        let worst = 0;
        let now = hand;
        for (let kill = 0; kill < KILLS; kill += 1) {
            if (kill > 0) {
                await now.tap("Songs", "tab");
                await newSong(now);
            }
            // Letters that tell which run they are of, and when each was typed.
            const typed = [];
            const until = 500 + ((kill * 937) % 4000);
            const begun = Date.now();
            const mark = String.fromCharCode(97 + (kill % 26));
            let text = `${mark}${kill} `;
            await now.page.keyboard.type(text);
            while (Date.now() - begun < until) {
                const letter = String.fromCharCode(97 + (typed.length % 26));
                await now.page.keyboard.press(letter);
                text += letter;
                typed.push({ at: Date.now(), text });
                await pause(30);
            }
            const crashed = new Promise((done) => now.page.once("crash", done));
            now.devtools.send("Page.crash").catch(() => {});
            await crashed;
            const killed = Date.now();
            await now.page.close();
            const page = await open.context.newPage();
            now = await openPage({ context: open.context, address, page });
            const due = typed.filter(({ at }) => killed - at >= PROMISED_MS).at(-1)?.text ?? "";
            const found = (await titles(now)).find((title) => title.startsWith(`${mark}${kill} `)) ?? "";
            holds(due === "" || found.length >= due.length, `kill ${kill}: "${found}" is kept of "${due}"`);
            const lost = typed.find(({ text }) => text.length > found.length);
            if (lost && found) worst = Math.max(worst, killed - lost.at);
        }
        console.log(`  ${KILLS} kills; at the worst what was typed in the last ${worst} ms was lost`);
    }));

/// The browser looks at its room before it first writes and remembers it for half a minute (Chromium 156).
const FORGETS_ROOM_MS = 31000;

check("no room", () =>
    withApp(
        async ({ hand, address }) => {
            await newSong(hand);
            await hand.type("Weir");
            await hand.hears(/no room|full/i, undefined);
            await hand.picture("no-room");
            await hand.devtools.send("Storage.overrideQuotaForOrigin", { origin: new URL(address).origin });
            await hand.type(" two");
            await pause(FORGETS_ROOM_MS + 12000);
            await hand.page.reload();
            await hand.answers();
            await hand.tap("Songs", "tab");
            await hand.hears(/^Weir two/);
        },
        {
            before: ({ devtools, address }) =>
                devtools.send("Storage.overrideQuotaForOrigin", { origin: new URL(address).origin, quotaSize: 1 }),
        },
    ));

check("a private window", async () => {
    await withApp(
        async ({ hand }) => {
            await newSong(hand);
            await hand.type("Weir");
            await pause(2500);
            await hand.page.reload();
            await hand.answers();
            await hand.tap("Songs", "tab");
            await hand.hears(/^Weir/);
        },
        { flags: ["--incognito"] },
    );
    // One that keeps nothing at all.
    await withApp(
        async ({ hand }) => {
            await hand.hears("Close this message");
            await retune(hand).catch(async () => {
                await hand.tap("Close this message");
                await retune(hand);
            });
            await finish(hand);
        },
        {
            before: ({ page }) =>
                page.addInitScript(() => {
                    indexedDB.open = () => {
                        throw new Error("nothing is kept here");
                    };
                }),
        },
    );
});

check("what the browser may throw away is told once", () =>
    withApp(async ({ hand, address, open }) => {
        const bar = hand.page.locator("[data-bar=mayVanish]");
        holds((await bar.count()) === 0, "nothing is said before there is a song");
        await newSong(hand);
        await hand.type("Weir");
        await bar.waitFor({ timeout: 10000 });
        await bar.locator("button").first().click();
        await hand.hears(/^Share|^Save/, "button");
        holds((await bar.count()) === 0, "it is put away");
        await hand.picture("a-copy");
        await hand.page.close();
        const page = await open.context.newPage();
        const again = await openPage({ context: open.context, address, page });
        await newSong(again);
        await again.type("Ferry");
        await pause(3000);
        holds((await page.locator("[data-bar=mayVanish]").count()) === 0, "it is not said again");
    }));

check("two tabs", () =>
    withApp(async ({ hand, open, address }) => {
        await newSong(hand);
        await hand.type("Weir");
        const page = await open.context.newPage();
        const second = await openPage({ context: open.context, address, page, waits: false });
        const bar = page.locator("[data-bar=elsewhere]");
        await bar.waitFor({ timeout: 10000 });
        await bar.locator("button").click();
        await second.answers();
        await hand.page.locator("[data-bar=moved]").waitFor({ timeout: 10000 });
        await second.tap("Songs", "tab");
        await second.hears(/^Weir/);
        await newSong(second);
        await second.type("Ferry");
        await pause(2500);
        // The first takes it back, with what was entered in the second.
        await hand.page.bringToFront();
        await hand.page.locator("[data-bar=moved] button").click();
        await pause(1000);
        await hand.page.locator("[data-bar=elsewhere] button").click();
        await hand.answers();
        await hand.tap("Songs", "tab");
        await hand.hears(/^Weir/);
        await hand.hears(/^Ferry/);
        await page.locator("[data-bar=moved]").waitFor({ timeout: 10000 });
    }));

check("a second tab while the first is asleep", () =>
    withApp(async ({ hand, open, address }) => {
        // A page that does not answer: its script stands still.
        await newSong(hand);
        await hand.type("Weir");
        await pause(2500);
        await hand.devtools.send("Debugger.enable");
        await hand.devtools.send("Debugger.pause");
        hand.page.evaluate(() => 1).catch(() => {});
        const page = await open.context.newPage();
        const second = await openPage({ context: open.context, address, page, waits: false });
        await page.locator("[data-bar=elsewhere] button").click();
        await second.answers();
        await second.tap("Songs", "tab");
        await second.hears(/^Weir/);
        await hand.devtools.send("Debugger.resume");
        await hand.devtools.send("Debugger.disable");
        await hand.page.locator("[data-bar=moved]").waitFor({ timeout: 10000 });
    }));

check("a page that was told nothing of another", async () => {
    const deaf = ({ page }) =>
        page.addInitScript(() => {
            Object.defineProperty(navigator, "locks", { value: undefined });
            globalThis.BroadcastChannel = undefined;
            delete globalThis.BroadcastChannel;
        });
    await withApp(
        async ({ hand, open, address }) => {
            await newSong(hand);
            await hand.type("Weir");
            await pause(2500);
            const page = await open.context.newPage();
            const second = await openPage({ context: open.context, address, page, before: deaf });
            await newSong(second);
            await second.type("Ferry");
            await pause(2500);
            // What the first still holds is older than what is kept: none of it goes over that.
            await hand.page.bringToFront();
            await hand.type(" by night");
            await hand.page.locator("[data-bar=moved]").waitFor({ timeout: 10000 });
            const kept = await titles(second);
            holds(kept.includes("Weir") && kept.includes("Ferry"), `kept: ${kept.join(", ")}`);
        },
        { before: deaf },
    );
});

check("a store that closes under the page", () =>
    withApp(
        async ({ hand }) => {
            await newSong(hand);
            await hand.type("Weir");
            await pause(2500);
            for (const how of ["close", "told"]) {
                await hand.page.evaluate((how) => {
                    globalThis.base.close();
                    if (how === "told") globalThis.base.dispatchEvent(new Event("close"));
                }, how);
                await hand.type(` ${how}`);
                await pause(2500);
                const kept = await titles(hand);
                holds(kept.some((title) => title.endsWith(how)), `kept: ${kept.join(", ")}`);
            }
            holds(hand.faults.length === 0, hand.faults.join("; "));
        },
        {
            before: ({ page }) =>
                page.addInitScript(() => {
                    const open = IDBFactory.prototype.open;
                    IDBFactory.prototype.open = function (...of) {
                        const request = open.apply(this, of);
                        if (of[1]) request.addEventListener("success", () => (globalThis.base = request.result));
                        return request;
                    };
                }),
        },
    ));

check("what is not passed on", () =>
    withApp(
        async ({ hand }) => {
            await newSong(hand);
            await hand.type("Weir");
            await pause(2500);
            const out = async (fault) => {
                await hand.page.evaluate((fault) => (globalThis.shareFault = fault), fault);
                await hand.page.evaluate(() => import("./pegwise.js").then((app) => app.showExport()));
                await hand.hears(/^Share|^Save/, "button");
            };
            await out("AbortError");
            await hand.tap(/^Share|^Save/, "button");
            await pause(800);
            holds((await hand.page.evaluate(() => globalThis.shared.length)) === 1, "the sheet was asked");
            await hand.hearsNo(/^Written|^Saved|^Shared|is written/);
            // What the sheet does not take goes where downloads go.
            await out("NotAllowedError");
            const [download] = await Promise.all([hand.page.waitForEvent("download"), hand.tap(/^Share|^Save/, "button")]);
            holds(JSON.parse(await readFile(await download.path(), "utf8")).songs[0].title === "Weir", "whole");
            holds(hand.faults.length === 0, hand.faults.join("; "));
        },
        {
            before: ({ page }) =>
                page.addInitScript(() => {
                    globalThis.shared = [];
                    navigator.canShare = () => true;
                    navigator.share = ({ title }) => {
                        globalThis.shared.push(title);
                        return Promise.reject(new DOMException("as the test wants it", globalThis.shareFault));
                    };
                }),
        },
    ));

check("a new version while a retuning is half done", async () => {
    const copy = await mkdtemp(join(tmpdir(), "pegwise-page-"));
    await cp(folder, copy, { recursive: true });
    try {
        await withApp(
            async ({ hand }) => {
                await isOffline(hand);
                await hand.page.reload();
                await hand.answers();
                await retune(hand);
                await hand.tap("It is right");
                await hand.hears("Loosen 5");
                await change(copy);
                await hand.page.evaluate(async () => (await navigator.serviceWorker.getRegistration()).update());
                const bar = hand.page.locator("[data-bar=newVersion]");
                await bar.waitFor({ timeout: 60000 });
                await hand.picture("a-new-version");
                const colour = () => hand.page.evaluate(() => getComputedStyle(document.body).getPropertyValue("--tried").trim());
                holds((await colour()) === "", "the page under the player's hands is the old one");
                // Loaded anew it is still the old one: the player has not said so.
                await bar.locator("button").nth(1).click();
                await hand.page.reload();
                await hand.answers();
                holds((await colour()) === "", "and stays so");
                await hand.hears("Loosen 5");
                await bar.waitFor({ timeout: 20000 });
                await Promise.all([hand.page.waitForEvent("load"), bar.locator("button").first().click()]);
                await hand.answers();
                holds((await colour()) === "new", "the new version is there");
                await hand.hears("Loosen 5");
                await hand.tap("It is right");
                await hand.tap("All sound right");
                await hand.hears("You are in G6");
            },
            { page: copy },
        );
    } finally {
        await rm(copy, { recursive: true, force: true });
    }
});

/// Makes another version of a built page: another style sheet, and a worker that knows its sum.
async function change(page) {
    const style = join(page, "page.css");
    const before = await readFile(style);
    const after = Buffer.concat([before, Buffer.from("\n:root { --tried: new; }\n")]);
    const sum = (bytes) => createHash("sha256").update(bytes).digest("hex");
    const worker = join(page, "service-worker.js");
    const text = (await readFile(worker, "utf8")).replace(sum(before), sum(after)).replace(/VERSION = "/, 'VERSION = "n');
    for (const packed of [style, worker]) {
        for (const ending of ["gz", "br"]) await rm(`${packed}.${ending}`, { force: true });
    }
    await writeFile(style, after);
    await writeFile(worker, text);
}

check("out and in", () =>
    withApp(async ({ hand, open, address }) => {
        // Touch is not known here as a phone's, so a file goes where downloads go.
        await newSong(hand);
        await hand.type("Weir");
        await pause(2500);
        await hand.page.evaluate(() => import("./pegwise.js").then((app) => app.showExport()));
        const [download] = await Promise.all([hand.page.waitForEvent("download"), hand.tap(/^Share|^Save/, "button")]);
        const file = await download.path();
        const kept = JSON.parse(await readFile(file, "utf8"));
        holds(kept.songs[0].title === "Weir", "the whole library is in it");
        // Into another browser's page: by dropping it, and once more by choosing it.
        const bytes = [...(await readFile(file))];
        const other = await openBrowser({ modules, browser });
        try {
            const there = await openPage({ context: other.context, address });
            await there.page.evaluate((bytes) => {
                const data = new DataTransfer();
                data.items.add(new File([new Uint8Array(bytes)], "weir.json"));
                dispatchEvent(new DragEvent("drop", { dataTransfer: data }));
            }, bytes);
            await there.hears(/Weir/);
            await there.key("Escape");
            await there.page.evaluate((text) => {
                const data = new DataTransfer();
                data.setData("text", text);
                document.body.dispatchEvent(new ClipboardEvent("paste", { clipboardData: data, bubbles: true }));
            }, String.fromCharCode(...bytes));
            await there.hears(/Weir/);
            await there.picture("taken-in");
            await there.tap("Discard", "button");
            await there.tap("Songs", "tab");
            await there.tap("Import and export", "button");
            const [chooser] = await Promise.all([there.page.waitForEvent("filechooser"), there.tap(/file/i, "button")]);
            await chooser.setFiles(file);
            await there.hears(/Weir/);
            holds(there.faults.length === 0, there.faults.join("; "));
        } finally {
            await other.close();
        }
        holds(open && hand.faults.length === 0, hand.faults.join("; "));
    }));

let failed = 0;
for (const { name, does } of checks.filter(({ name }) => only.length === 0 || only.some((part) => name.includes(part)))) {
    const begun = Date.now();
    try {
        await does();
        console.log(`${name} (${((Date.now() - begun) / 1000).toFixed(1)} s)`);
    } catch (fault) {
        failed += 1;
        console.error(`${name}: ${fault.stack}`);
    }
}
process.exitCode = failed === 0 ? 0 : 1;
