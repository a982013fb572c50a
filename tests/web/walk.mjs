// The way of a player's finger through the app, from the first launch: choose a tuning, do its steps, look at shapes,
// show one across the room. After each act a picture; each act asks the app what it says now.
//
//     node walk.mjs PAGE PICTURES MODULES BROWSER [SCALE]
import { acting, holds, middle, openBrowser, openPage, pause, serve } from "./hand.mjs";

const [folder, pictures, modules, browser, scale = "1"] = process.argv.slice(2);
const server = await serve(folder);
const address = `http://127.0.0.1:${server.address().port}/`;
const open = await openBrowser({ modules, browser, scale: Number(scale) });
// Nothing goes anywhere else.
const strangers = [];
open.context.on("request", (request) => {
    const url = request.url();
    if (!url.startsWith(address) && !url.startsWith("blob:") && !url.startsWith("data:")) strangers.push(url);
});
const hand = await openPage({ context: open.context, address, pictures });
const { act, count } = acting(hand);

const number = async () => (await hand.hears(/ Now \d+ of \d+$/)).name.replace(/^.* Now /, "Shape ");
const isRow = (one) => one.role === "button" && /(to move|on the guitar|with a capo)/.test(one.name);

try {
    await act("first launch", async () => {
        console.log(`  the page stands after ${(hand.openedMs / 1000).toFixed(1)} s`);
        await hand.hears(/^Acoustic guitar now: Standard/);
        holds((await hand.hears("Tunings", "tab")).checked, "it opens on Tunings");
        holds((await hand.elements()).filter(isRow).length >= 3, "tunings are listed");
    });

    await act("the picture is as sharp as the glass", async () => {
        const [wide, high] = await hand.page.evaluate(() => [canvas.width, canvas.height]);
        const [wanted, tall] = [hand.width, hand.height].map((side) => side * Number(scale));
        // A window's side in dp is rounded by the browser.
        const most = Number(scale) + 1;
        holds(Math.abs(wide - wanted) <= most && Math.abs(high - tall) <= most, `${wide} × ${high} for ${wanted} × ${tall}`);
    });

    await act("every control is large enough for a finger", async () => {
        // Android accessibility help: 48 × 48 dp. Rows at the edge of a list are cut by it, so whole ones only.
        for (const one of await hand.elements()) {
            const isControl = ["button", "tab", "switch", "checkbox"].includes(one.role);
            holds(!isControl || (one.width >= 47.9 && one.height >= 47.9), `"${one.name}" is ${one.width} × ${one.height}`);
        }
    });

    await act("the list is scrolled", async () => {
        const row = (await hand.elements()).filter(isRow)[2];
        await hand.draw([180, 480], [180, 330], { ms: 400, hold: 200 });
        const now = await hand.find(row.name);
        const moved = row.top - (now?.top ?? 0);
        holds(moved > 100 && moved < 180, `a finger drawn 150 up moved the list by ${moved}`);
        holds((await hand.find("Tunings", "tab")).checked, "a finger that scrolls chooses nothing");
    });

    await act("the list is flung", async () => {
        // The finger goes 250; what the list goes beyond that it goes by itself.
        const row = (await hand.elements()).filter(isRow).at(-1);
        await hand.draw([180, 520], [180, 270], { ms: 90 });
        await pause(900);
        const now = await hand.find(row.name);
        holds(!now || row.top - now.top > 265, `a quick swipe of 250 moved the list by ${row.top - now?.top}`);
        holds((await hand.find("Tunings", "tab")).checked, "a finger that scrolls chooses nothing");
    });

    await act("a finger that slips off chooses nothing", async () => {
        const [x, y] = middle(await hand.hears("Shapes", "tab"));
        await hand.draw([x, y], [x, y - 160], { ms: 300, hold: 200 });
        holds((await hand.find("Tunings", "tab")).checked, "the tab was let go elsewhere");
    });

    await act("half a name is typed", async () => {
        await hand.tap("Search tunings");
        await hand.type("dgd");
        holds((await hand.hears("Search tunings", "text-input")).value === "dgd", "what is typed stands in the field");
    });

    await act("the phone is turned while typing", async () => {
        await hand.turn(640, 360);
        holds((await hand.hears("Search tunings", "text-input")).value === "dgd", "the typed letters stay");
        await hand.type("g");
        holds((await hand.hears("Search tunings", "text-input")).value === "dgdg", "and typing goes on");
    });

    await act("and turned back", async () => {
        await hand.turn(360, 640);
        holds((await hand.hears("Search tunings", "text-input")).value === "dgdg", "the typed letters stay");
    });

    await act("a tuning is chosen", async () => {
        await hand.tap(/^G6, D G D G B E/);
        await hand.tap("Skip to the step");
        await hand.hears("Loosen 6");
        await hand.hears(/^E down to D, 2 semitones/);
    });

    await act("the step is read to its end", async () => {
        const before = await hand.hears("Loosen 6");
        await hand.scrollTo("Another way");
        await hand.tap("Another way");
        await hand.scrollTo("Start over");
        await hand.hears("It is right");
        const backTo = async (name) => {
            for (let tries = 0; tries < 8 && !(await hand.find(name)); tries += 1) await hand.scroll(-150);
        };
        await backTo("Hide the others");
        await hand.tap("Hide the others");
        await backTo("Loosen 6");
        await hand.scroll(-250);
        holds((await hand.hears("Loosen 6")).top === before.top, "and back to its beginning");
    });

    await act("the phone is turned in the middle of a step", async () => {
        await hand.turn(640, 360);
        await hand.hears("Loosen 6");
        await hand.turn(360, 640);
        await hand.hears("Loosen 6");
    });

    await act("the first string is right", async () => {
        await hand.tap("It is right");
        await hand.hears("Loosen 5");
    });

    await act("the step is undone", async () => {
        await hand.tap("Undo the last step");
        await hand.hears("Loosen 6");
    });

    await act("both strings are right", async () => {
        await hand.tap("It is right");
        await hand.hears("Loosen 5");
        await hand.tap("It is right");
        await hand.hears("All sound right");
    });

    await act("the check is done", async () => {
        await hand.tap("All sound right");
        await hand.hears("You are in G6");
    });

    await act("shapes", async () => {
        await hand.tap("Shapes", "tab");
        await hand.hears(/^Key of G major/);
        holds((await number()).startsWith("Shape 1 of "), "the first shape");
    });

    await act("another chord of the key", async () => {
        await hand.tap("C, IV");
        await hand.hears(/^C[^.]*\. Strings 6 to 1/, "image");
    });

    await act("the row of chords slides", async () => {
        const first = await hand.find("G, I", "button");
        const [x, y] = middle(await hand.find("D, V", "button"));
        await hand.draw([x, y], [x - 140, y], { ms: 300, hold: 200 });
        const now = await hand.find("G, I", "button");
        holds(!now || now.left < first.left - 60, "a finger drawn to the left moves the row");
        await hand.hears(/^C[^.]*\. Strings 6 to 1/, "image");
    });

    await act("a swipe turns to the next shape", async () => {
        const [x, y] = middle(await hand.hears(/^C[^.]*\. Strings/, "image"));
        await hand.draw([x + 90, y], [x - 90, y]);
        holds((await number()).startsWith("Shape 2 of "), `it shows ${await number()}`);
    });

    await act("a swipe to the right turns back", async () => {
        const [x, y] = middle(await hand.hears(/^C[^.]*\. Strings/, "image"));
        await hand.draw([x - 90, y], [x + 90, y]);
        holds((await number()).startsWith("Shape 1 of "), `it shows ${await number()}`);
    });

    await act("a finger drawn up on the picture scrolls the page", async () => {
        const picture = await hand.hears(/^C[^.]*\. Strings/, "image");
        const [x, y] = middle(picture);
        await hand.draw([x, y], [x, y - 150], { ms: 400, hold: 200 });
        const now = await hand.find(/^C[^.]*\. Strings/, "image");
        holds(!now || now.top < picture.top - 60, "the picture moves with the finger");
        holds((await number()).startsWith("Shape 1 of "), "and the shape stays");
        await hand.draw([x, y - 50], [x, y + 150], { ms: 400, hold: 200 });
    });

    await act("the next shape by its button", async () => {
        await hand.tap("Next shape");
        holds((await number()).startsWith("Shape 2 of "), `it shows ${await number()}`);
    });

    await act("shown large", async () => {
        await hand.tap("Show it large");
        await hand.hears("Close");
        await hand.hearsNo("Tunings", "tab");
    });

    await act("swiped to the next while large", async () => {
        const before = (await hand.hears(/^C[^.]*\. Strings/, "image")).name;
        const [x, y] = middle(await hand.find(/^C[^.]*\. Strings/, "image"));
        await hand.draw([x + 120, y], [x - 120, y]);
        const after = await hand.hears(/^C[^.]*\. Strings/, "image");
        holds(after.name !== before, "another shape of the chord");
    });

    await act("swiped down to put it away", async () => {
        const [x, y] = middle(await hand.find(/^C[^.]*\. Strings/, "image"));
        await hand.draw([x, y - 120], [x, y + 140]);
        await hand.hears("Show it large");
        holds((await number()).startsWith("Shape 3 of "), "at the shape that was shown");
    });

    await act("the Back key puts the large shape away", async () => {
        await hand.tap("Show it large");
        await hand.hears("Close");
        // A browser keeps the phone's own Back key to itself; the app takes Escape for it.
        await hand.key("Escape");
        await hand.hears("Show it large");
    });

    await act("the key leads on to the first screen", async () => {
        await hand.key("Escape");
        holds((await hand.hears("Tunings", "tab")).checked, "Back leads to Tunings before it leaves");
    });

    await act("an instrument is looked for", async () => {
        await hand.tap("More", "tab");
        await hand.tap(/^Instrument/, "button");
        await hand.tap(/^Instrument: /, "button");
        await hand.tap("Search instruments", "text-input");
        await hand.type("ukul");
        holds((await hand.hears("Search instruments", "text-input")).value === "ukul", "the letters stand in the field");
    });

    await act("the list is closed by the key and the screen left by the next", async () => {
        await hand.key("Escape");
        await hand.hears(/^Instrument: /, "button");
        await hand.key("Escape");
        await hand.hearsNo(/^Instrument: /, "button");
        holds((await hand.hears("More", "tab")).checked, "one level up");
    });

    await act("back from the filters by the sign", async () => {
        await hand.tap("Shapes", "tab");
        await hand.tap(/^How to play/);
        await hand.tap("Back", "button");
        await hand.hears("Show it large");
    });

    await act("back from the keys by the sign", async () => {
        await hand.tap("Shapes", "tab");
        await hand.tap(/^Key of/);
        await hand.tap("Back", "button");
        await hand.hears("Show it large");
    });

    await act("Back by the browser goes level by level", async () => {
        await hand.tap("More", "tab");
        await hand.tap(/^Settings/, "button");
        await hand.hearsNo("More", "tab").catch(() => {});
        await hand.page.goBack({ waitUntil: "commit" });
        holds((await hand.hears("More", "tab")).checked, "one level up");
        await hand.page.goBack({ waitUntil: "commit" });
        holds((await hand.hears("Tunings", "tab")).checked, "Back leads to Tunings before it leaves");
    });

    holds(hand.faults.length === 0, `the page had faults: ${hand.faults.join("; ")}`);
    holds(strangers.length === 0, `something was asked of others: ${strangers.join("; ")}`);
    holds((await open.context.cookies()).length === 0, "no cookie");
    console.log(`${count()} acts at scale ${scale}, all as expected; pictures in ${pictures}`);
} catch (fault) {
    console.error(fault.message);
    if (hand.faults.length > 0) console.error(`faults of the page: ${hand.faults.join("; ")}`);
    process.exitCode = 1;
} finally {
    await open.close();
    server.close();
}
