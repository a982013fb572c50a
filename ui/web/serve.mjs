// Serves the built page on this machine, packed where there is a packed copy, as a static host does.
//
//     node serve.mjs FOLDER [PORT]
import { createServer } from "node:http";
import { readFile } from "node:fs/promises";
import { join, normalize } from "node:path";

export const TYPES = {
    html: "text/html; charset=utf-8", css: "text/css; charset=utf-8", js: "text/javascript; charset=utf-8",
    wasm: "application/wasm", png: "image/png", webmanifest: "application/manifest+json",
};
const PACKED = { br: "br", gz: "gzip" };

/// Starts a server; `seen` hears the path of each request. A page and its worker are asked for anew each time.
export function serve(folder, port = 0, seen = () => {}) {
    const server = createServer(async (request, answer) => {
        const path = new URL(request.url, "http://here").pathname;
        seen(path);
        const name = normalize(path.endsWith("/") ? `${path}index.html` : path).replace(/^(\.\.[/\\])+/, "");
        const head = { "content-type": TYPES[name.split(".").pop()] ?? "application/octet-stream", "cache-control": "no-cache" };
        const accepted = request.headers["accept-encoding"] ?? "";
        for (const [ending, encoding] of [...Object.entries(PACKED), ["", ""]]) {
            if (encoding && !accepted.includes(encoding)) continue;
            try {
                const body = await readFile(join(folder, ending ? `${name}.${ending}` : name));
                if (encoding) head["content-encoding"] = encoding;
                answer.writeHead(200, { ...head, "content-length": body.length, vary: "accept-encoding" });
                answer.end(body);
                return;
            } catch {
                // Not packed so; the next.
            }
        }
        answer.writeHead(404).end();
    });
    return new Promise((done) => server.listen(port, "127.0.0.1", () => done(server)));
}

if (process.argv[1]?.endsWith("serve.mjs")) {
    const [folder, port] = process.argv.slice(2);
    const server = await serve(folder, Number(port ?? 8080));
    console.log(`http://127.0.0.1:${server.address().port}/ (end with Ctrl+C)`);
}
