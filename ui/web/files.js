// The player's files in the origin's own store (Indexed Database API 3.0). What changes together is kept together: one
// transaction is one step, all of it or none, and is on the disk when it is answered ("strict" durability).
const NAME = "pegwise";
const STORE = "files";
/// Who may write: each page that opens the files puts its own number here, one above the last.
const OWNERS = "owners";
const NUMBERS_KEPT = 1000;
const LOCK = "pegwise-library";
/// After a step that failed the next waits so long, then twice as long each time, in ms.
const FIRST_WAIT_MS = 1000;
const LAST_WAIT_MS = 8000;
/// A tab that is asked to hand over answers within this, or is asleep, in ms. One that searches does not answer meanwhile.
const ANSWER_MS = 4000;

let base;
let canKeep = false;
let files = new Map();
let staged = [];
let waitMs = 0;
/// Ends the wait before a step is tried again.
let goOn = () => {};
/// This page may write. Another that took over says so.
let isOurs = false;
/// Ours among those who have opened the files; none where the store gave none.
let number;
let letGo = () => {};

const channel = "BroadcastChannel" in globalThis ? new BroadcastChannel(NAME) : undefined;

const asked = (request) =>
    new Promise((done, fail) => {
        request.onsuccess = () => done(request.result);
        request.onerror = () => fail(request.error);
    });

/// Opens the store; where its connection was lost, once more.
async function connect() {
    const request = indexedDB.open(NAME, 2);
    request.onupgradeneeded = () => {
        for (const store of [STORE, OWNERS]) {
            if (!request.result.objectStoreNames.contains(store)) request.result.createObjectStore(store);
        }
    };
    base = await asked(request);
    // A phone that was asleep for long may close it under us.
    base.onclose = () => (base = undefined);
    base.onversionchange = () => {
        base?.close();
        base = undefined;
    };
}

/// From now on no page that opened the files before can write them, whether it knows of us or not.
async function claim() {
    const owners = base.transaction(OWNERS, "readwrite").objectStore(OWNERS);
    number = Math.max(0, ...(await asked(owners.getAllKeys()))) + 1;
    owners.delete(IDBKeyRange.upperBound(number - NUMBERS_KEPT));
    await asked(owners.put(true, number));
}

async function open() {
    await connect();
    // Where there is no room for a number, what is there is read all the same.
    await claim().catch((fault) => console.warn(`other pages are not kept out: ${fault}`));
    const store = base.transaction(STORE).objectStore(STORE);
    const [names, all] = await Promise.all([asked(store.getAllKeys()), asked(store.getAll())]);
    files = new Map(names.map((name, index) => [name, all[index]]));
    canKeep = true;
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
        // Somebody has taken it from us, because we did not answer; or we have stopped waiting for it.
        held.catch(() => {
            done(false);
            giveUp();
        });
    });
}

let lost = () => {};

/// Another page has the files now; what is here is over.
function giveUp() {
    if (!isOurs) return;
    isOurs = false;
    letGo();
    lost();
}

/// Opens the files, once no other page has them. `wait` shows that another has, and returns once the player wants them here;
/// `moved` is called when another page takes over, after `save` has brought everything there.
export async function openFiles({ wait, save, moved }) {
    lost = moved;
    if (navigator.locks && !(await take({ ifAvailable: true }))) {
        await wait();
        channel?.postMessage("hand over");
        const waiting = new AbortController();
        const late = setTimeout(() => waiting.abort(), ANSWER_MS);
        const isHanded = await take({ signal: waiting.signal });
        clearTimeout(late);
        if (!isHanded) await take({ steal: true });
    }
    isOurs = true;
    channel?.addEventListener("message", async ({ data }) => {
        if (data !== "hand over" || !isOurs) return;
        save();
        await settled();
        giveUp();
    });
    try {
        await open();
    } catch (fault) {
        // A browser that keeps nothing; the app says so.
        console.warn(`nothing can be kept: ${fault}`);
        base = undefined;
    }
}

export const isKeeping = () => canKeep;
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

/// Everything that is still to be kept is: what follows a step that came through too.
async function settled() {
    let seen;
    do {
        seen = out;
        await seen;
    } while (seen !== out);
}

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

/// A step that waits to be tried again is tried now: the page may have no later moment.
export const hasten = () => goOn();

/// Writes at once where nothing went wrong before: a page that is being closed has no second moment.
async function write(changes) {
    if (waitMs > 0) {
        await new Promise((done) => {
            goOn = done;
            setTimeout(done, waitMs);
        });
    }
    try {
        return await step(changes);
    } catch (fault) {
        // A connection that was lost says so when it is used.
        if (base && fault && !["InvalidStateError", "UnknownError", "AbortError"].includes(fault?.name)) throw fault;
    }
    await connect();
    return step(changes);
}

function step(changes) {
    return new Promise((done, fail) => {
        // Another page writes now; what is here is over.
        if (!isOurs) return;
        try {
            const transaction = base.transaction([STORE, OWNERS], "readwrite", { durability: "strict" });
            // Whoever opened the files after us has put the number after ours: then this fails, and all of the step with it,
            // whatever else this page was not told.
            const owners = transaction.objectStore(OWNERS);
            if (number) {
                owners.add(true, number + 1);
                owners.delete(number + 1);
            }
            const store = transaction.objectStore(STORE);
            for (const [name, file] of changes) {
                if (file) store.put(file, name);
                else store.delete(name);
            }
            transaction.oncomplete = done;
            transaction.onabort = () => {
                if (transaction.error?.name === "ConstraintError") giveUp();
                else fail(transaction.error);
            };
            transaction.commit?.();
        } catch (fault) {
            fail(fault);
        }
    });
}
