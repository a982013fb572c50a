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
sheet.style.width = sheet.style.height = `${ROOM * 3}px`;
/// Each element by its path, with what it was told last.
const elements = new Map();

const settle = () => (outer.scrollLeft = outer.scrollTop = ROOM);

/// Puts an element's attribute, or takes it away; returns nothing.
function attribute(element, name, value) {
    if (value === undefined) element.removeAttribute(name);
    else if (element.getAttribute(name) !== String(value)) element.setAttribute(name, value);
}

function fill(element, one) {
    const role = ROLES[one.role];
    const isText = role === undefined;
    const words = [one.name, one.value].filter(Boolean).join(" ");
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
    attribute(element, "aria-live", one.live);
    const isRanged = RANGED.includes(role);
    attribute(element, "aria-valuetext", isRanged && one.value ? one.value : undefined);
    attribute(element, "aria-valuenow", isRanged ? parseFloat(one.value) || 0 : undefined);
    attribute(element, "aria-valuemin", isRanged ? one.range?.[0] : undefined);
    attribute(element, "aria-valuemax", isRanged ? one.range?.[1] : undefined);
    const acts = one.acts || ["button", "tab", "switch", "checkbox", "radio", "textbox", "slider", "spinbutton"].includes(role);
    attribute(element, "tabindex", acts ? "-1" : undefined);
    // What stands inside is said by itself; else the words are the element's own.
    const text = one.inner ? "" : isText ? words : role === "button" || role === "tab" ? one.value ?? "" : role === "textbox" ? one.value ?? "" : "";
    let own = element.firstChild?.nodeType === Node.TEXT_NODE ? element.firstChild : undefined;
    if (text && !own) element.prepend((own = document.createTextNode(text)));
    else if (own && !text) own.remove();
    else if (own && own.data !== text) own.data = text;
}

function build(list, parent, prefix, corner, seen) {
    list.forEach((one, index) => {
        const path = prefix ? `${prefix}.${index}` : String(index);
        seen.add(path);
        let held = elements.get(path);
        if (held && held.one.role !== one.role) {
            held.element.remove();
            held = undefined;
        }
        if (!held) {
            held = { element: document.createElement("div"), one: {} };
            held.element.dataset.path = path;
            held.element.id = `said-${path}`;
            elements.set(path, held);
        }
        const { element } = held;
        held.one = one;
        fill(element, one);
        const [left, top, width, height] = one.place;
        Object.assign(element.style, {
            left: `${left - corner[0]}px`, top: `${top - corner[1]}px`, width: `${width}px`, height: `${height}px`,
        });
        const before = parent.querySelectorAll(":scope > [data-path]")[index];
        if (before !== element) parent.insertBefore(element, before ?? null);
        build(one.inner ?? [], element, path, [left, top], seen);
        if (one.focused) attribute(canvas, "aria-activedescendant", element.id);
    });
}

/// The app says this now.
export function mirror(said) {
    if (!said) return;
    const seen = new Set();
    build(JSON.parse(said), sheet, "", [-ROOM, -ROOM], seen);
    for (const [path, { element }] of elements) {
        if (!seen.has(path)) {
            element.remove();
            elements.delete(path);
        }
    }
    settle();
}

/// Asks the app for what a screen reader asked of an element.
function act(target, what, value) {
    const element = target.closest?.("[data-path]");
    const held = element && elements.get(element.dataset.path);
    if (!held) return;
    app.actOn(element.dataset.path, held.one.role, held.one.name, what, value);
}

sheet.addEventListener("click", (event) => act(event.target, "default"));
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
