#!/usr/bin/env bash
# Sheets judged by tools that are not ours: `./dev sheets-check`. A folder of Python packages is made under target/ once.
set -euo pipefail
cd "$(dirname "$0")/../.."
out="${1:-target/sheets}"
packages=target/sheets-python
if [ ! -x "$packages/bin/outloud" ]; then
    python3 -m venv "$packages"
    "$packages/bin/pip" install --quiet outloud==0.2.1 pikepdf pymupdf cairosvg pillow numpy musicxml==1.6.3 xmlschema verovio music21
fi
cargo build --quiet --no-default-features --bin pegwise
"$packages/bin/python" tests/sheets/check.py target/debug/pegwise "$out"
tail -n 1 "$out/results.txt"
