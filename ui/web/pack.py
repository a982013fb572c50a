#!/usr/bin/env python3
"""Puts the page's own files beside the module, tells the service worker what this version consists of, and packs copies.

    pack.py FOLDER

A host that can gives out the packed copies (.br where the tool is there, .gz); nothing needs them.
"""
import gzip
import hashlib
import json
import shutil
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent
PAGE = Path(sys.argv[1])
OWN = ["index.html", "page.css", "manifest.webmanifest"]
WORKER = "service-worker.js"
# Pictures are packed already.
PACKED = {".html", ".css", ".js", ".wasm", ".webmanifest"}


def pack(path):
    """Writes the packed copies of a file; returns its sizes: plain, and of each copy."""
    bytes = path.read_bytes()
    sizes = [len(bytes)]
    if path.suffix in PACKED:
        zipped = gzip.compress(bytes, 9, mtime=0)
        path.with_name(path.name + ".gz").write_bytes(zipped)
        sizes.append(len(zipped))
        if shutil.which("brotli"):
            subprocess.run(["brotli", "--force", "--quality=11", "--keep", str(path)], check=True)
            sizes.append(path.with_name(path.name + ".br").stat().st_size)
    return sizes


def main():
    for path in [HERE / name for name in OWN] + sorted(HERE.glob("*.js")) + sorted(HERE.glob("*.png")):
        shutil.copyfile(path, PAGE / path.name)
    names = sorted(path.name for path in PAGE.iterdir() if path.name != WORKER and path.suffix not in {".gz", ".br"})
    sums = {name: hashlib.sha256((PAGE / name).read_bytes()).hexdigest() for name in names}
    version = hashlib.sha256(json.dumps(sums).encode()).hexdigest()[:16]
    worker = (PAGE / WORKER).read_text()
    worker = worker.replace("@VERSION@", version).replace("@FILES@", json.dumps(sums, indent=4))
    (PAGE / WORKER).write_text(worker)
    sizes = {name: pack(PAGE / name) for name in [*names, WORKER]}
    plain, zipped, least = (sum(size[min(kind, len(size) - 1)] for size in sizes.values()) for kind in range(3))
    print(f"for a browser: {plain} bytes in {len(sizes)} files, {zipped} gzipped, {least} with brotli where it is")
    print(f"of these the module: {' '.join(str(size) for size in sizes['pegwise_bg.wasm'])}")


main()
