// Opens the app: its files first, then the app, then what makes the page work without a network.
import start, { said } from "./pegwise.js";
import { openFiles, forget } from "./files.js";
import { beginHistory, beginLife, save } from "./machine.js";
import { show } from "./words.js";

/// The glass is as high as the phone's keyboard leaves it.
function followKeyboard() {
    const view = globalThis.visualViewport;
    if (!view) return;
    const follow = () => {
        document.documentElement.style.setProperty("--height", `${view.height}px`);
        // A browser that moves the page up for the keyboard is told that it need not.
        if (view.offsetTop > 0) scrollTo(0, 0);
    };
    view.addEventListener("resize", follow);
    view.addEventListener("scroll", follow);
    follow();
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
                    save();
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

async function open() {
    followKeyboard();
    await openFiles({
        wait: () => new Promise((here) => show("elsewhere", [["here", here]], { whole: true })),
        save,
        moved: () => show("moved", [["here", again]], { whole: true }),
    });
    try {
        await start();
    } catch (fault) {
        // The toolkit leaves the call that starts its loop by throwing; from then on the app answers.
        if (!String(fault).includes("Using exceptions for control flow")) throw fault;
    }
    if (!said()) throw new Error("the app does not answer");
    requestAnimationFrame(() => performance.mark("first frame"));
    forget();
    beginHistory();
    beginLife();
}

try {
    await open();
} catch (fault) {
    console.error(fault);
    show("cannot", [["again", again]], { whole: true });
}
followVersions().catch((fault) => console.warn(`no use without a network: ${fault}`));
