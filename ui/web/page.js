// Opens the app: its files first, then the app, then what makes the page work without a network.
import { openFiles, forget } from "./files.js";
import { show } from "./words.js";

document.getElementById("opening").remove();

/// The app, once it has come over the network.
let machine;

/// The glass is as high as the phone's keyboard leaves it.
function followKeyboard() {
    const view = globalThis.visualViewport;
    if (!view) return;
    const follow = () => {
        // A page that its player has enlarged shows less of the same.
        document.documentElement.style.setProperty("--height", `${view.height * view.scale}px`);
        // A browser that moves the page up for the keyboard is told that it need not.
        if (view.offsetTop > 0 && view.scale < 1.01) scrollTo(0, 0);
    };
    view.addEventListener("resize", follow);
    view.addEventListener("scroll", follow);
    follow();
    // Nor does it move the picture to where it takes the typing to be.
    const glass = document.getElementById("glass");
    glass.addEventListener("scroll", () => (glass.scrollLeft = glass.scrollTop = 0));
}

/// Without a network from the second opening on. A new version waits until the player wants it.
async function followVersions() {
    if (!("serviceWorker" in navigator)) return;
    let isReplacing = false;
    const offer = (worker) =>
        show("newVersion", [
            [
                "startNew",
                () => {
                    isReplacing = true;
                    machine?.save();
                    worker.postMessage("go on");
                },
            ],
            ["later", () => {}],
        ]);
    navigator.serviceWorker.addEventListener("controllerchange", () => {
        if (isReplacing) location.reload();
    });
    const registration = await navigator.serviceWorker.register("service-worker.js", { updateViaCache: "none" });
    const follow = (worker) =>
        worker?.addEventListener("statechange", () => {
            if (worker.state === "installed" && navigator.serviceWorker.controller) offer(worker);
        });
    if (registration.waiting && navigator.serviceWorker.controller) offer(registration.waiting);
    follow(registration.installing);
    registration.addEventListener("updatefound", () => follow(registration.installing));
    // An app that stays open for days asks now and then, when it is looked at again.
    document.addEventListener("visibilitychange", () => {
        if (document.visibilityState === "visible") registration.update().catch(() => {});
    });
}

const again = () => location.reload();

/// The app and what it asks of the page. They know each other, so they come together.
async function load() {
    const [app, its] = await Promise.all([import("./pegwise.js"), import("./machine.js")]).catch((fault) => {
        throw new Error("unfetched", { cause: fault });
    });
    machine = its;
    try {
        await app.default();
    } catch (fault) {
        // The toolkit leaves the call that starts its loop by throwing; from then on the app answers.
        if (!String(fault).includes("Using exceptions for control flow")) throw fault;
    }
    if (!app.said()) throw new Error("the app does not answer");
}

async function open() {
    followKeyboard();
    await openFiles({
        wait: () => new Promise((here) => show("elsewhere", [["here", here]], { whole: true })),
        save: () => machine?.save(),
        moved: () => {
            machine?.stop();
            show("moved", [["here", again]], { whole: true });
        },
    });
    await load();
    requestAnimationFrame(() => performance.mark("first frame"));
    forget();
    machine.beginHistory();
    machine.beginLife();
}

// One that comes back from the browser's memory may know less than what was kept since.
addEventListener("pageshow", ({ persisted }) => {
    if (persisted) again();
});

try {
    await open();
} catch (fault) {
    console.error(fault);
    const isUnfetched = fault.message === "unfetched" || !navigator.onLine || fault instanceof TypeError;
    show(isUnfetched ? "unfetched" : "cannot", [["again", again]], { whole: true });
}
followVersions().catch((fault) => console.warn(`no use without a network: ${fault}`));
