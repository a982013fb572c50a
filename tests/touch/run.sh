#!/usr/bin/env bash
# Touches the app in a headless browser, at the size of a small phone, and leaves a picture of every act.
#
#     run.sh [FOLDER]     (target/touch/pictures unless told)
set -euo pipefail
cd "$(dirname "$0")/../.."

pictures="${1:-target/touch/pictures}"
modules="$PWD/.cache/web/node"
driver=playwright-core@1.65.1

bash tests/touch/build.sh
if [ "$(cat "$modules/driver" 2>/dev/null)" != "$driver" ]; then
    mkdir -p "$modules"
    npm install --no-audit --no-fund --silent --prefix "$modules" "$driver"
    echo "$driver" >"$modules/driver"
fi
rm -rf "$pictures"
mkdir -p "$pictures"
browser="$(command -v chromium || command -v chromium-browser || command -v google-chrome)"
node tests/touch/walk.mjs target/touch/page "$(realpath "$pictures")" "$modules" "$browser"
