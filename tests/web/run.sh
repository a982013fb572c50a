#!/usr/bin/env bash
# Checks the built page (target/web) in a headless browser.
#
#     run.sh [WHAT …]     walk, kept, habits, sound, aloud, speed; all unless told; smoke is a short one of them all
set -euo pipefail
cd "$(dirname "$0")/../.."

page="$PWD/target/web"
# The page with every screen in its main states, to be opened one by one.
scenes=target/web-scenes
modules="$PWD/.cache/web/node"
tools=(playwright-core@1.65.1 axe-core@4.14.1)
if [ "$(cat "$modules/tools" 2>/dev/null)" != "${tools[*]}" ]; then
    mkdir -p "$modules"
    npm install --no-audit --no-fund --silent --prefix "$modules" "${tools[@]}"
    echo "${tools[*]}" >"$modules/tools"
fi
browser="$(command -v chromium || command -v chromium-browser || command -v google-chrome)"

# check NAME SCRIPT ARGUMENT …
check() {
    local pictures="$PWD/target/web-check/$1" script="$2"
    rm -rf "$pictures"
    mkdir -p "$pictures"
    printf '\n== %s\n' "$1"
    node "tests/web/$script.mjs" "$page" "$pictures" "$modules" "$browser" "${@:3}"
}

[ $# -gt 0 ] || set -- walk kept habits sound aloud speed
for what in "$@"; do
    case "$what" in
    walk) for scale in 1 2.6 3; do check "walk-$scale" walk "$scale"; done ;;
    smoke)
        check smoke-kept kept offline
        check smoke-aloud aloud main
        ;;
    aloud)
        bash ui/web/build.sh "$scenes" scenes
        page="$PWD/$scenes" check aloud aloud
        ;;
    *) check "$what" "$what" ;;
    esac
done
