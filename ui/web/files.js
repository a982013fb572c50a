// The player's files in the origin's own store (Indexed Database API 3.0). What changes together is kept together: one
// transaction is one step, all of it or none, and is on the disk when it is answered ("strict" durability).
const NAME = "pegwise";
const STORE = "files";
const LOCK = "pegwise-library";
/// After a step that failed the next waits so long, then twice as long each time, in ms.
const FIRST_WAIT_MS = 1000;
const LAST_WAIT_MS = 8000;
/// A tab that is asked to hand over answers within this, or is asleep, in ms.
const ANSWER_MS = 1500;

let base;
let files = new Map();
let staged = [];
let waitMs = 0;
/// This page may write. Another that took over says so.
let isOurs = false;
let letGo = () => {};

const channel = "BroadcastChannel" in globalThis ? new BroadcastChannel(NAME) : undefined;

const asked = (request) =>
    new Promise((done, fail) => {
        request.onsuccess = () => done(request.result);
        request.onerror = () => fail(request.error);
    });

async function open() {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => request.result.createObjectStore(STORE);
    base = await asked(request);
    const store = base.transaction(STORE).objectStore(STORE);
    const [names, all] = await Promise.all([asked(store.getAllKeys()), asked(store.getAll())]);
    files = new Map(names.map((name, index) => [name, all[index]]));
}

/// Takes the lock that one page of an origin has (Web Locks API). Returns whether it is ours now.
function take(options) {
    return new Promise((done) => {
        const held = navigator.locks.request(LOCK, options, (lock) => {
            if (!lock) {
                done(false);
                return undefined;
            }
            isOurs = true;
            done(true);
            return new Promise((free) => (letGo = free));
        });
        held.catch(() => {
            // Somebody has taken it from us, because we did not answer.
            isOurs = false;
            lost();
        });
    });
}

let lost = () => {};

/// Opens the files, once no other page has them. `wait` shows that another has, and returns once the player wants them here;
/// `moved` is called when another page takes over, after `save` has brought everything there.
export async function openFiles({ wait, save, moved }) {
    lost = moved;
    if (navigator.locks && !(await take({ ifAvailable: true }))) {
        await wait();
        channel?.postMessage("hand over");
        const isHanded = await Promise.race([
            take({}),
            new Promise((done) => setTimeout(() => done(false), ANSWER_MS)),
        ]);
        if (!isHanded) await take({ steal: true });
    }
    isOurs = true;
    channel?.addEventListener("message", async ({ data }) => {
        if (data !== "hand over" || !isOurs) return;
        save();
        await settled();
        isOurs = false;
        letGo();
        moved();
    });
    try {
        await open();
    } catch (fault) {
        // A browser that keeps nothing; the app says so.
        console.warn(`nothing can be kept: ${fault}`);
        base = undefined;
    }
}

export const isKeeping = () => base !== undefined;
export const names = () => [...files.keys()];
export const bytesOf = (name) => files.get(name).bytes;
export const writtenOf = (name) => files.get(name).written;

/// What the files held when they were opened is the app's now.
export const forget = () => files.clear();

export function put(name, bytes, written) {
    // The app's memory moves on under the bytes it hands over.
    staged.push([name, { bytes: bytes.slice(), written }]);
}

export function remove(name) {
    staged.push([name, undefined]);
}

let out = Promise.resolve();
const settled = () => out;

/// Keeps what was staged as one step, and tells `answer` a fault's words, `full`, or nothing.
export function keep(answer) {
    const changes = staged;
    staged = [];
    out = write(changes).then(
        () => {
            waitMs = 0;
            answer(undefined);
        },
        (fault) => {
            waitMs = Math.min(LAST_WAIT_MS, waitMs ? waitMs * 2 : FIRST_WAIT_MS);
            answer(fault?.name === "QuotaExceededError" ? "full" : String(fault?.message ?? fault));
        },
    );
}

/// Writes at once where nothing went wrong before: a page that is being closed has no second moment.
function write(changes) {
    if (waitMs > 0) return new Promise((done) => setTimeout(done, waitMs)).then(() => step(changes));
    return step(changes);
}

function step(changes) {
    return new Promise((done, fail) => {
        // Another page writes now; what is here is over.
        if (!isOurs) return;
        try {
            const transaction = base.transaction(STORE, "readwrite", { durability: "strict" });
            const store = transaction.objectStore(STORE);
            for (const [name, file] of changes) {
                if (file) store.put(file, name);
                else store.delete(name);
            }
            transaction.oncomplete = done;
            transaction.onabort = () => fail(transaction.error);
            transaction.commit?.();
        } catch (fault) {
            fail(fault);
        }
    });
}
