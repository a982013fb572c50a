// What a screen reader finds in the page, over every state of every screen: the browser's own accessibility tree against
// what the app says, the findings of axe-core, and the main job done through that tree alone.
//
//     node aloud.mjs PAGE PICTURES MODULES BROWSER [SCENE …]      (every scene unless told)
import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { holds, openBrowser, openPage, pause, serve } from "./hand.mjs";

const [folder, pictures, modules, browser, ...only] = process.argv.slice(2);
const server = await serve(folder);
const address = `http://127.0.0.1:${server.address().port}/`;
const open = await openBrowser({ modules, browser });
const hand = await openPage({ context: open.context, address, pictures });
const axe = await readFile(join(modules, "node_modules/axe-core/axe.min.js"), "utf8");

/// The app's roles as the browser's tree calls them.
const ROLES = {
    button: "button", checkbox: "checkbox", switch: "switch", tab: "tab", "radio-button": "radio", "text-input": "textbox",
    image: "image", combobox: "button", slider: "slider", "progress-indicator": "progressbar", groupbox: "group", "tab-list": "tablist", list: "group",
};
const sorted = (list) => list.map(({ role, name }) => `${role} "${name.replace(/\s+/g, " ").trim()}"`).sort();

/// The browser's tree, in its order: role, name, value, and the node it is of.
async function tree() {
    const { nodes } = await hand.devtools.send("Accessibility.getFullAXTree");
    const by = new Map(nodes.map((node) => [node.nodeId, node]));
    const inOrder = (node) => [node, ...(node.childIds ?? []).map((id) => by.get(id)).filter(Boolean).flatMap(inOrder)];
    return inOrder(nodes[0])
        .filter((node) => !node.ignored)
        .map((node) => ({
            role: node.role?.value ?? "", name: node.name?.value ?? "", value: node.value?.value ?? "", node: node.backendDOMNodeId,
            properties: Object.fromEntries((node.properties ?? []).map(({ name, value }) => [name, value.value])),
        }));
}

/// Waits until the page has heard what the app says now: it is told ten times a second at most.
async function settled() {
    let before = "";
    for (let tries = 0; tries < 50; tries += 1) {
        const [said, held] = await hand.page.evaluate(async () => [
            (await import("./pegwise.js")).said(), document.querySelectorAll("#sheet [data-path]").length,
        ]);
        const count = (list) => list.reduce((sum, one) => sum + 1 + count(one.inner ?? []), 0);
        if (said === before && held === count(JSON.parse(said || "[]"))) return;
        before = said;
        await pause(130);
    }
    throw new Error("the page is not in step with the app");
}

async function compare(scene) {
    await settled();
    const said = (await hand.elements({ away: true })).filter((one) => one.role in ROLES && one.role !== "text");
    const wanted = sorted(said.map((one) => ({ role: ROLES[one.role], name: one.name })));
    const known = new Set(Object.values(ROLES));
    const found = sorted((await tree()).filter((one) => known.has(one.role)));
    const missing = wanted.filter((one) => !found.includes(one));
    holds(missing.length === 0, `${scene}: the browser's tree lacks ${missing.slice(0, 5).join(", ")}`);
    holds(found.length >= wanted.length, `${scene}: ${wanted.length} elements are said, ${found.length} found`);
    // What only holds others together needs no name.
    const nameless = said.filter((one) => !["groupbox", "list", "tab-list"].includes(one.role) && !one.name.trim());
    holds(nameless.length === 0, `${scene}: ${nameless.map((one) => one.role).join(", ")} without a name`);
    return wanted.length;
}

async function findings() {
    await hand.page.evaluate(axe);
    const { violations } = await hand.page.evaluate(() => globalThis.axe.run(document, { resultTypes: ["violations"] }));
    return violations
        .filter(({ impact }) => impact === "serious" || impact === "critical")
        .map(({ id, nodes }) => `${id}: ${nodes.slice(0, 2).map(({ html }) => html.slice(0, 120)).join(" | ")}`);
}

/// Goes on, element after element, to the one of this name, and activates it as a screen reader does.
async function activate(name, role) {
    for (let tries = 0; tries < 40; tries += 1) {
        await settled();
        const fits = (text) => (name instanceof RegExp ? name.test(text) : text === name);
        const one = (await tree()).find((one) => fits(one.name) && (!role || one.role === role));
        if (one) {
            const { object } = await hand.devtools.send("DOM.resolveNode", { backendNodeId: one.node });
            await hand.devtools.send("Runtime.callFunctionOn", {
                objectId: object.objectId,
                functionDeclaration: `function () {
                    const element = this.nodeType === 1 ? this : this.parentElement;
                    element.scrollIntoView({ block: "nearest" });
                    element.focus();
                    element.click();
                }`,
            });
            await pause(250);
            return one;
        }
        await pause(100);
    }
    throw new Error(`a screen reader never finds ${name}: ${(await tree()).map((one) => `${one.role} "${one.name}"`).join(", ")}`);
}

async function finds(name) {
    for (let tries = 0; tries < 60; tries += 1) {
        const fits = ({ name: text, value }) => (name instanceof RegExp ? name.test(text) || name.test(value) : text.startsWith(name));
        if ((await tree()).some(fits)) return;
        await pause(100);
    }
    throw new Error(`a screen reader is never told ${name}`);
}

let failed = 0;
async function check(name, does) {
    try {
        console.log(`${name}: ${(await does()) ?? "as expected"}`);
    } catch (fault) {
        failed += 1;
        console.error(`${name}: ${fault.message}`);
    }
}

if (only.length === 0 || only.includes("main")) {
    await check("the main job through the tree alone", async () => {
        await activate(/^G6, D G D G B E/);
        await activate("Skip to the step", "button");
        await finds("Loosen 6");
        await activate("It is right", "button");
        await finds("Loosen 5");
        await activate("It is right", "button");
        await activate("All sound right", "button");
        await finds("You are in G6");
        await activate("Shapes", "tab");
        await finds(/^Key of G major/);
        await activate("Tunings", "tab");
        await activate("Search tunings", "textbox");
        await hand.page.keyboard.type("dgd");
        await settled();
        const fields = (await tree()).filter((one) => one.name === "Search tunings");
        holds(JSON.stringify(fields).includes("dgd"), `the field says ${JSON.stringify(fields)}`);
    });
}

if (only.length === 0 || only.includes("main")) {
    await check("an element stays the one it was, and what is new is said", async () => {
        await hand.page.evaluate(() => (location.hash = ""));
        await activate("More", "tab");
        await settled();
        const idOf = (name) =>
            hand.page.evaluate((name) => [...document.querySelectorAll("#sheet [data-path]")].find((one) => one.getAttribute("aria-label") === name)?.id, name);
        const before = await idOf("Settings");
        const tab = await idOf("Shapes");
        const path = (id) => hand.page.evaluate((id) => document.getElementById(id)?.dataset.path, id);
        const was = await path(tab);
        // A message comes above the rest of the screen.
        await hand.page.evaluate(() => import("./pegwise.js").then((app) => app.takeIn(new TextEncoder().encode("no library"))));
        await settled();
        const words = await hand.page.evaluate(() => [...document.querySelectorAll(".heard")].map((one) => one.textContent).join(""));
        holds(words.length > 0, "it is said");
        holds((await idOf("Shapes")) === tab, `"Shapes" is ${tab}, then ${await idOf("Shapes")}`);
        return `"${words}"; Shapes at ${was}, then at ${await path(tab)}, Settings ${before}`;
    });
    await check("the field that has the keyboard is named, and no longer than it has it", async () => {
        await activate("Tunings", "tab");
        await activate("Search tunings", "textbox");
        await settled();
        const field = () => hand.page.evaluate(() => document.querySelector("#glass > input").getAttribute("aria-label"));
        const active = () =>
            hand.page.evaluate(() => {
                const id = document.getElementById("canvas").getAttribute("aria-activedescendant");
                return id && document.getElementById(id)?.getAttribute("aria-label");
            });
        holds((await field()) === "Search tunings", `it is called ${await field()}`);
        holds((await active()) === "Search tunings", `the keys are at ${await active()}`);
        await activate("Retune", "tab");
        await settled();
        holds((await field()) === "Pegwise", `then ${await field()}`);
        holds((await active()) !== "Search tunings", `and the keys at ${await active()}`);
    });
}

// The page that is given out has no scenes; the main job needs none.
const names = only.join() === "main" ? [] : await hand.page.evaluate(() => import("./pegwise.js").then((app) => app.sceneNames()));
const scenes = names.filter((name) => only.length === 0 || only.some((part) => name.includes(part)));
let elements = 0;
const found = new Map();
if (scenes.length > 0) await check(`${scenes.length} scenes`, async () => {
    const faults = [];
    for (const scene of scenes) {
        await hand.page.goto(`${address}#scene=${scene}`);
        await hand.page.reload();
        await hand.answers();
        try {
            elements += await compare(scene);
            for (const finding of await findings()) {
                const [rule] = finding.split(":");
                if (!found.has(rule)) found.set(rule, `${scene}: ${finding}`);
            }
        } catch (fault) {
            faults.push(fault.message);
        }
    }
    holds(faults.length === 0, faults.slice(0, 8).join("\n"));
    return `${elements} elements, each in the browser's tree with role and name`;
});
if (scenes.length > 0) await check("axe-core", () => {
    holds(found.size === 0, [...found.values()].join("\n"));
    return `nothing serious in ${scenes.length} scenes`;
});
await check("the page", () => holds(hand.faults.length === 0, hand.faults.slice(0, 5).join("; ")));
await open.close();
server.close();
process.exitCode = failed === 0 ? 0 : 1;
