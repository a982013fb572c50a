// What the screen says, as elements of the page, for screen readers: the app tells it whenever it has changed (src/web.rs).
// The elements lie where the screen's own lie and let every finger through; what is asked of them goes back to the app.
import * as app from "./pegwise.js";
import { show } from "./words.js";

/// The app's roles and those of WAI-ARIA 1.2. What is not named here says its words and nothing more.
const ROLES = {
    button: "button", checkbox: "checkbox", combobox: "button", groupbox: "group", image: "img", list: "group",
    "list-item": "group", "progress-indicator": "progressbar", "radio-button": "radio", "radio-group": "radiogroup",
    slider: "slider", spinbox: "spinbutton", switch: "switch", tab: "tab", "tab-list": "tablist", "text-input": "textbox",
};
const RANGED = ["progressbar", "slider", "spinbutton"];
/// The sheet of elements lies so far down and right in its window that it can be scrolled to all sides, in px.
const ROOM = 20000;

const outer = document.getElementById("mirror");
const sheet = document.getElementById("sheet");
const canvas = document.getElementById("canvas");
/// The toolkit's own field, which has the keyboard while something is typed.
const keyboard = () => document.querySelector("#glass > input");
sheet.style.width = sheet.style.height = `${ROOM * 3}px`;

const settle = () => (outer.scrollLeft = outer.scrollTop = ROOM);

/// Puts an element's attribute, or takes it away; returns nothing.
function attribute(element, name, value) {
    if (value === undefined) element.removeAttribute(name);
    else if (element.getAttribute(name) !== String(value)) element.setAttribute(name, value);
}

const wordsOf = ({ name, value }) => [name, value].filter(Boolean).join(" ");

function fill(element, one) {
    const role = ROLES[one.role];
    const isText = role === undefined;
    attribute(element, "role", role);
    const isNamed = !isText || one.inner;
    attribute(element, "aria-label", isNamed && one.name ? one.name : undefined);
    attribute(element, "aria-description", one.description || undefined);
    attribute(element, "aria-disabled", one.off ? "true" : undefined);
    attribute(element, "aria-checked", ["checkbox", "radio", "switch"].includes(role) ? one.checked === true : undefined);
    attribute(element, "aria-pressed", role === "button" && one.checked !== undefined ? one.checked : undefined);
    const isChosen = role === "tab" ? (one.selected ?? one.checked) === true : undefined;
    attribute(element, "aria-selected", isChosen);
    attribute(element, "aria-expanded", one.expanded);
    const isRanged = RANGED.includes(role);
    attribute(element, "aria-valuetext", isRanged && one.value ? one.value : undefined);
    attribute(element, "aria-valuenow", isRanged ? parseFloat(one.value) || 0 : undefined);
    attribute(element, "aria-valuemin", isRanged ? one.range?.[0] : undefined);
    attribute(element, "aria-valuemax", isRanged ? one.range?.[1] : undefined);
    const acts = one.acts || ["button", "tab", "switch", "checkbox", "radio", "textbox", "slider", "spinbutton"].includes(role);
    attribute(element, "tabindex", acts ? "-1" : undefined);
    // What stands inside is said by itself; else the words are the element's own.
    const said = isText ? wordsOf(one) : ["button", "tab", "textbox"].includes(role) ? one.value ?? "" : "";
    const text = one.inner ? "" : said;
    let own = element.firstChild?.nodeType === Node.TEXT_NODE ? element.firstChild : undefined;
    if (text && !own) element.prepend((own = document.createTextNode(text)));
    else if (own && !text) own.remove();
    else if (own && own.data !== text) own.data = text;
}

/// An element of the page, what it was told last, and those inside it.
const root = { element: sheet, one: {}, inner: [] };
const heldBy = new WeakMap();
let count = 0;

function made(role) {
    const held = { element: document.createElement("div"), one: { role }, inner: [] };
    count += 1;
    held.element.id = `said-${count}`;
    heldBy.set(held.element, held);
    return held;
}

/// Gives each of `list` the element that said it before: one of the same role and name, else the next of the same role that
/// nothing else has. So what is put in between moves no reader from where it is, and what changes its words stays the same.
function matched(list, before) {
    const found = new Array(list.length).fill(undefined);
    const left = new Set(before);
    for (const like of [({ role, name }) => `${role} ${name}`, ({ role }) => role]) {
        const waiting = new Map();
        for (const held of left) {
            const key = like(held.one);
            if (waiting.has(key)) waiting.get(key).push(held);
            else waiting.set(key, [held]);
        }
        list.forEach((one, index) => {
            const held = found[index] ?? waiting.get(like(one))?.shift();
            if (!held) return;
            found[index] = held;
            left.delete(held);
        });
    }
    for (const { element } of left) element.remove();
    return found.map((held, index) => held ?? made(list[index].role));
}

/// What is said aloud at once, by how much it matters, and which element has the keys.
let news;
let focused;

function build(list, parent, prefix, corner) {
    parent.inner = matched(list, parent.inner);
    let next = parent.element.firstElementChild;
    list.forEach((one, index) => {
        const held = parent.inner[index];
        const { element } = held;
        if (one.live && wordsOf(one) && (wordsOf(held.one) !== wordsOf(one) || !held.one.live)) news.push([one.live, wordsOf(one)]);
        held.one = one;
        held.path = prefix ? `${prefix}.${index}` : String(index);
        element.dataset.path = held.path;
        fill(element, one);
        const [left, top, width, height] = one.place;
        Object.assign(element.style, {
            left: `${left - corner[0]}px`, top: `${top - corner[1]}px`, width: `${width}px`, height: `${height}px`,
        });
        if (element === next) next = next.nextElementSibling;
        else parent.element.insertBefore(element, next);
        if (one.focused) focused = held;
        build(one.inner ?? [], held, held.path, [left, top]);
    });
}

/// The app says this now.
export function mirror(said) {
    if (!said) return;
    news = [];
    focused = undefined;
    build(JSON.parse(said), root, "", [-ROOM, -ROOM]);
    attribute(canvas, "aria-activedescendant", focused?.element.id);
    const isField = focused?.one.role === "text-input";
    const field = keyboard();
    if (field) {
        attribute(field, "aria-label", isField ? focused.one.name : "Pegwise");
        attribute(field, "aria-description", isField ? focused.one.value || undefined : undefined);
    }
    for (const how of ["polite", "assertive"]) announce(how, news.filter(([live]) => live === how).map(([, words]) => words));
    settle();
}

/// Two places of the page that are always there are read aloud when their words change; what comes with its words is not.
const HEARD_MS = 5000;
const silences = new Map();
function announce(how, words) {
    if (words.length === 0) return;
    const place = document.getElementById(how);
    const text = words.map((one) => (/[.!?:]$/.test(one) ? one : `${one}.`)).join(" ");
    // The same again is new to a reader only if it differs.
    place.textContent = place.textContent === text ? `${text}\u00a0` : text;
    clearTimeout(silences.get(how));
    silences.set(how, setTimeout(() => (place.textContent = ""), HEARD_MS));
}

// A reader that follows a finger finds only what takes a finger. So on glass that is touched the elements do, and hand it on
// to the picture: from its first moment on, its way is the picture's own.
let fingerAt = -Infinity;
let wasTyping = false;
outer.addEventListener("pointerdown", (event) => {
    fingerAt = event.timeStamp;
    event.preventDefault();
    canvas.dispatchEvent(new PointerEvent(event.type, event));
    canvas.setPointerCapture(event.pointerId);
});
outer.addEventListener("wheel", (event) => canvas.dispatchEvent(new WheelEvent(event.type, event)), { passive: true });
// Some phones show the keyboard only for a field that gets it while the finger is lifted; the toolkit may give it before.
addEventListener("pointerdown", () => (wasTyping = document.activeElement === keyboard()), { capture: true });
addEventListener("touchend", () => {
    const field = keyboard();
    if (!wasTyping && field && document.activeElement === field) field.focus();
});

/// Asks the app for what a screen reader asked of an element.
function act(target, what, value) {
    const held = heldBy.get(target.closest?.("[data-path]"));
    if (held) app.actOn(held.path, held.one.role, held.one.name, what, value);
}

/// A finger's click follows its touch, which the picture has had; a reader's comes alone.
const CLICK_MS = 1000;
sheet.addEventListener("click", (event) => {
    if (!event.pointerType && event.timeStamp - fingerAt > CLICK_MS) act(event.target, "default");
});
sheet.addEventListener("keydown", (event) => {
    const what = { Enter: "default", " ": "default", ArrowUp: "increment", ArrowDown: "decrement" }[event.key];
    const isRanged = RANGED.includes(event.target.getAttribute?.("role"));
    if (!what || (what !== "default" && !isRanged)) return;
    event.preventDefault();
    event.stopPropagation();
    act(event.target, what);
});

/// A screen reader that goes on to something out of sight scrolls to it: the app's screen follows, and the sheet goes back.
outer.addEventListener("scroll", () => {
    const [x, y] = [outer.scrollLeft - ROOM, outer.scrollTop - ROOM];
    if (x === 0 && y === 0) return;
    settle();
    app.scrollAt(outer.clientWidth / 2, outer.clientHeight / 2, x, y);
});

/// The app has met a fault of its own: what was entered is kept, and it can be started again.
export function fell(words) {
    console.error(words);
    show("fell", [["again", () => location.reload()]], { whole: true });
}
