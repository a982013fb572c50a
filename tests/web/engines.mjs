// The page in the two other engines that phones have, driven through W3C WebDriver: Firefox's (Gecko) and WebKit's (the one
// of every browser on an iPhone, here as its port for GTK). What is checked in Chromium in full is done here once.
//
//     node engines.mjs PAGE PICTURES MODULES DRIVER BROWSER      (DRIVER: geckodriver or WebKitWebDriver)
import { spawn } from "node:child_process";
import { createRequire } from "node:module";
import { basename, join } from "node:path";
import { writeFile } from "node:fs/promises";
import { createServer } from "node:net";
import { serve } from "../../ui/web/serve.mjs";
import { frequency } from "./pitch.mjs";

const [folder, pictures, modules, driverPath, browser] = process.argv.slice(2);
const isGecko = basename(driverPath) === "geckodriver";
const require = createRequire(join(modules, "node_modules/"));
const { Builder, Capabilities } = require("selenium-webdriver");
const { Pointer } = require("selenium-webdriver/lib/input");

/// How long anything may take to be said, in ms: both draw by the processor here.
const PATIENCE_MS = 30000;
/// The step's target that the browser's own made-up microphone can sound: whole hertz. G2 is 97.999 Hz (equal temperament
/// from A4 = 440; E2 82.407 is in the CRC Handbook of Chemistry and Physics, "Musical scales").
const G2_HZ = 98;
const D2_HZ = 73.416;

const pause = (ms) => new Promise((done) => setTimeout(done, ms));
function holds(fact, what) {
    if (!fact) throw new Error(what);
}

async function freePort() {
    const server = createServer();
    await new Promise((done) => server.listen(0, "127.0.0.1", done));
    const { port } = server.address();
    await new Promise((done) => server.close(done));
    return port;
}

function capabilities() {
    const wanted = new Capabilities();
    if (isGecko) {
        wanted.set("browserName", "firefox");
        wanted.set("moz:firefoxOptions", {
            binary: browser,
            args: ["-headless"],
            prefs: {
                "intl.accept_languages": "en",
                "media.navigator.streams.fake": true,
                "media.navigator.permission.disabled": true,
                "media.navigator.audio.fake_frequency": G2_HZ,
                "media.autoplay.default": 0,
            },
        });
    } else {
        wanted.set("browserName", "MiniBrowser");
        wanted.set("webkitgtk:browserOptions", { binary: browser, args: ["--automation", "--enable-mock-capture-devices=true"] });
    }
    return wanted;
}

const port = await freePort();
const driver = spawn(driverPath, ["-p", String(port)], { stdio: "ignore" });
const server = await serve(folder);
const address = `http://127.0.0.1:${server.address().port}/`;
let page;
for (let tries = 0; !page; tries += 1) {
    try {
        page = await new Builder().usingServer(`http://127.0.0.1:${port}`).withCapabilities(capabilities()).build();
    } catch (fault) {
        if (tries > 20) throw fault;
        await pause(250);
    }
}

/// What the page's elements for screen readers say, in the order of the screen.
const elements = () =>
    page.executeScript(() =>
        [...document.querySelectorAll("#sheet [data-path]")].map((element) => {
            const own = element.firstChild?.nodeType === Node.TEXT_NODE ? element.firstChild.data : "";
            const { left, top, width, height } = element.getBoundingClientRect();
            const name = [element.getAttribute("aria-label"), own].filter(Boolean).join(" ");
            return { path: element.dataset.path, role: element.getAttribute("role") ?? "text", name, place: [left, top, width, height] };
        }),
    );

const fits = (name, role) => (one) => (name instanceof RegExp ? name.test(one.name) : one.name === name) && (!role || one.role === role);

async function find(name, role) {
    const until = Date.now() + PATIENCE_MS;
    let all = [];
    while (Date.now() < until) {
        all = await elements().catch(() => []);
        const one = all.find(fits(name, role));
        if (one) return one;
        await pause(100);
    }
    throw new Error(`never: ${name}; there is: ${all.map((one) => one.name).join(" | ").slice(0, 600)}`);
}

async function until(what, isSo) {
    const end = Date.now() + PATIENCE_MS;
    while (!(await isSo())) {
        if (Date.now() > end) throw new Error(`never: ${what}`);
        await pause(100);
    }
}

/// Activates an element as a screen reader does.
async function activate(name, role) {
    const one = await find(name, role);
    await page.executeScript((path) => {
        const element = document.querySelector(`[data-path="${path}"]`);
        element.scrollIntoView({ block: "nearest" });
        element.focus();
        element.click();
    }, one.path);
    await pause(300);
}

/// A finger on the glass where the element lies (where the driver has no finger, its mouse).
const finger = new Pointer("finger", isGecko ? Pointer.Type.TOUCH : Pointer.Type.MOUSE);
async function tap(name, role) {
    const { path } = await find(name, role);
    await page.executeScript((path) => document.querySelector(`[data-path="${path}"]`).scrollIntoView({ block: "nearest" }), path);
    await pause(300);
    const { place: [left, top, width, height] } = await find(name, role);
    const at = { x: Math.round(left + width / 2), y: Math.round(top + height / 2), duration: 0 };
    await page.actions({ async: true }).insert(finger, finger.move(at), finger.press(), finger.release()).perform();
    await pause(300);
}

let shots = 0;
async function picture(name) {
    shots += 1;
    const png = await page.takeScreenshot();
    await writeFile(join(pictures, `${String(shots).padStart(2, "0")}-${name.replaceAll(" ", "-")}.png`), Buffer.from(png, "base64"));
    return png;
}

/// How many colours a picture has, as the page itself reads it.
const colours = (png) =>
    page.executeAsyncScript((data, done) => {
        const bytes = Uint8Array.from(atob(data), (letter) => letter.charCodeAt(0));
        createImageBitmap(new Blob([bytes], { type: "image/png" })).then((image) => {
            const canvas = new OffscreenCanvas(image.width, image.height);
            const glass = canvas.getContext("2d");
            glass.drawImage(image, 0, 0);
            const { data: pixels } = glass.getImageData(0, 0, image.width, image.height);
            done(new Set(new Uint32Array(pixels.buffer)).size);
        }, (fault) => done(String(fault)));
    }, png);

/// The titles in the file that the browser keeps.
const titles = () =>
    page.executeAsyncScript((done) => {
        const opening = indexedDB.open("pegwise");
        opening.onsuccess = () => {
            const base = opening.result;
            const asked = base.transaction("files").objectStore("files").get("pegwise-library.json");
            asked.onsuccess = () => {
                base.close();
                const text = asked.result ? new TextDecoder().decode(asked.result.bytes) : "{}";
                done((JSON.parse(text).songs ?? []).map(({ title }) => title));
            };
        };
    });

/// Whether the page shows a message of its own.
const bar = (which) => page.executeScript((which) => document.querySelector(`[data-bar="${which}"]`) !== null, which);

/// Presses the first button of a message of the page, once it is there.
async function press(which) {
    await until(`the message "${which}"`, () => bar(which));
    await page.executeScript((which) => document.querySelector(`[data-bar="${which}"] button`).click(), which);
}

let failed = 0;
let passed = 0;
async function check(name, does) {
    try {
        console.log(`${name}: ${(await does()) ?? "as expected"}`);
        passed += 1;
    } catch (fault) {
        failed += 1;
        console.error(`${name}: ${fault.message}`);
        await picture(`fault ${name}`).catch(() => {});
    }
}

/// As on a phone's glass, whatever this machine has for a pointer (page.css).
const asOnGlass = () =>
    page.executeScript(() => document.styleSheets[0].insertRule("#mirror [data-path] { pointer-events: auto; touch-action: none; }"));

await page.manage().window().setRect({ width: 400, height: 760 });
await page.get(address);
await asOnGlass();

await check("it opens, and draws", async () => {
    await find(/^G6, D G D G B E/);
    await pause(1000);
    const count = await colours(await picture("opened"));
    holds(count > 50, `${count} colours`);
    const said = await page.executeScript("return [navigator.userAgent, innerWidth, innerHeight, devicePixelRatio].join(' ')");
    return `${count} colours; ${said}`;
});

await check("what the loudspeaker gets", async () => {
    await page.executeScript(() => {
        const connect = AudioNode.prototype.connect;
        AudioNode.prototype.connect = function (to, ...rest) {
            if (to instanceof AudioDestinationNode) {
                const ear = this.context.createAnalyser();
                ear.fftSize = 32768;
                connect.call(this, ear);
                window.ear = ear;
            }
            return connect.call(this, to, ...rest);
        };
    });
    await tap(/^G6, D G D G B E/);
    await tap("Skip to the step");
    await find(/^Loosen 6/);
    await tap("Hear it", "button");
    await tap("Hear the note D", "button");
    await pause(1300);
    const [samples, rate, state] = await page.executeScript(() => {
        if (!window.ear) return [[], 0, "nothing was connected"];
        const samples = new Float32Array(window.ear.fftSize);
        window.ear.getFloatTimeDomainData(samples);
        return [[...samples], window.ear.context.sampleRate, window.ear.context.state];
    });
    const loudest = Math.max(0, ...samples.map(Math.abs));
    holds(loudest > 0.01, `${state}, ${loudest} at the loudest`);
    let [zeros, gaps] = [0, 0];
    for (const value of samples) {
        zeros = value === 0 ? zeros + 1 : 0;
        if (zeros === 16) gaps += 1;
    }
    const halves = { from: 0, length: samples.length / 2, apart: samples.length / 2 };
    const off = 1200 * Math.log2(frequency(samples, rate, D2_HZ, halves) / D2_HZ);
    const first = samples.findIndex((value) => value !== 0);
    holds(gaps === 0, `${gaps} gaps, first ${first} of ${samples.length}, ${samples.filter((v) => v === 0).length} zeros`);
    holds(Math.abs(off) < 0.5, `off by ${off} cents`);
    return `${off.toFixed(3)} cents from D2, no gap, at ${rate} Hz`;
});

await check("the microphone", async () => {
    await tap("It is right", "button");
    await find(/^Loosen 5/);
    const step = /^step 2 of 2/;
    await find(step);
    const begun = Date.now();
    await tap(/^Listen/, "button");
    if (isGecko) {
        await until("the sounding string is accepted", async () => !(await elements()).some(fits(step)));
        return `accepted ${((Date.now() - begun) / 1000).toFixed(1)} s after the tap`;
    }
    await pause(5000);
    await picture("listening");
    holds((await elements()).some(fits(step)), "what is no string is taken for one");
    await tap("It is right", "button");
    return "open; what is no string is not taken for one";
});

await check("the main job by touch", async () => {
    await tap("All sound right");
    await find(/^You are in G6/);
    await tap("Shapes", "tab");
    await find(/^Key of G major/);
    await picture("shapes");
});

await check("Back by the browser", async () => {
    await page.executeScript(() => history.back());
    await find("Search tunings", "textbox");
});

await check("a song is typed, and is there after the page was loaded anew", async () => {
    await tap("Songs", "tab");
    await tap("Add a song", "button");
    await tap("Title", "textbox");
    await page.actions().sendKeys("Weir").perform();
    await find(/Weir/);
    await until("it is in the file", async () => (await titles()).includes("Weir"));
    await page.navigate().refresh();
    await tap("Songs", "tab");
    await find(/^Weir/);
    await picture("kept");
});

// WebKit's driver opens no second one.
if (isGecko) await check("a second tab", async () => {
    const first = await page.getWindowHandle();
    await page.switchTo().newWindow("tab");
    const second = await page.getWindowHandle();
    await page.get(address);
    await press("elsewhere");
    await tap("Songs", "tab");
    await find(/^Weir/);
    await page.switchTo().window(first);
    await press("moved");
    await press("elsewhere");
    await find(/^Weir|^Songs/);
    await page.switchTo().window(second);
    await until("it is told in the second", () => bar("moved"));
    await page.close();
    await page.switchTo().window(first);
});

await check("without a host", async () => {
    await page.executeAsyncScript((done) => {
        navigator.serviceWorker.ready.then(({ active }) => {
            const look = () => (active.state === "activated" ? done() : setTimeout(look, 50));
            look();
        });
    });
    server.closeAllConnections();
    await new Promise((done) => server.close(done));
    await page.get(address);
    await find("Tunings", "tab");
    await page.executeScript(() => location.reload());
    await pause(1500);
    await activate("Tunings", "tab");
    await find("Search tunings", "textbox");
});

await check("the main job through what is read aloud alone", async () => {
    await activate(/^Open G, D G D G B D/);
    await find(/^Loosen 1/);
    await activate("It is right", "button");
    await activate("All sound right", "button");
    await find(/^You are in Open G/);
    await activate("Shapes", "tab");
    await find(/^Key of/);
});

await page.quit().catch(() => {});
driver.kill();
server.closeAllConnections();
server.close();
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed === 0 ? 0 : 1);
