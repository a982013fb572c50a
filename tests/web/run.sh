#!/usr/bin/env bash
# Checks the built page (target/web) in headless browsers.
#
#     run.sh [WHAT …]     walk, kept, habits, sound, aloud, speed, engines; all unless told; smoke is a short one of them all
set -euo pipefail
cd "$(dirname "$0")/../.."

page="$PWD/target/web"
# The page with every screen in its main states, to be opened one by one.
scenes=target/web-scenes
modules="$PWD/.cache/web/node"
tools=(playwright-core@1.65.1 axe-core@4.14.1 selenium-webdriver@4.46.0)
if [ "$(cat "$modules/tools" 2>/dev/null)" != "${tools[*]}" ]; then
    mkdir -p "$modules"
    npm install --no-audit --no-fund --silent --prefix "$modules" "${tools[@]}"
    echo "${tools[*]}" >"$modules/tools"
fi
# Firefox is driven by a program of its maker's.
gecko=(geckodriver --version 0.37.1)
browser="$(command -v chromium || command -v chromium-browser || command -v google-chrome)"

# check NAME SCRIPT ARGUMENT …
check() {
    local pictures="$PWD/target/web-check/$1" script="$2"
    rm -rf "$pictures"
    mkdir -p "$pictures"
    printf '\n== %s\n' "$1"
    node "tests/web/$script.mjs" "$page" "$pictures" "$modules" "$browser" "${@:3}"
}

# The other two engines: on a display and with a loudspeaker of their own, both seen and heard by nobody.
engines() {
    local room bin="$PWD/.cache/web/bin"
    if [ ! -x "$bin/geckodriver" ]; then
        echo "fetching and building: ${gecko[*]}"
        CARGO_PROFILE_RELEASE_OPT_LEVEL=1 CARGO_PROFILE_RELEASE_LTO=false CARGO_TARGET_DIR="$PWD/.cache/web/tool" \
            cargo install --quiet "${gecko[@]}" --root "$PWD/.cache/web"
        rm -rf "$PWD/.cache/web/tool"
    fi
    room="$(mktemp -d)"
    mkdir -m 700 "$room/run"
    local own=(env HOME="$room" XDG_RUNTIME_DIR="$room/run" PULSE_RUNTIME_PATH="$room/run" PULSE_SERVER="unix:$room/socket")
    # Without rewinding an empty output takes sound as steadily as a real one.
    "${own[@]}" pulseaudio -n --daemonize=no --exit-idle-time=-1 --use-pid-file=no --log-level=error \
        -L "module-native-protocol-unix auth-anonymous=1 socket=$room/socket" \
        -L "module-null-sink sink_name=out rate=48000 norewinds=1" >/dev/null 2>&1 &
    local sound=$! driver failed=0
    for _ in $(seq 50); do
        "${own[@]}" pactl info >/dev/null 2>&1 && break
        sleep 0.1
    done
    for driver in "$bin/geckodriver" "$(command -v WebKitWebDriver)"; do
        local name=firefox binary=""
        binary="$(command -v firefox-esr || command -v firefox)"
        if [ "$driver" != "$bin/geckodriver" ]; then
            name=webkit
            binary="$(find /usr/lib -path '*/webkit2gtk-4.1/MiniBrowser' | head -n 1)"
        fi
        printf '\n== %s\n' "$name"
        rm -rf "$PWD/target/web-check/$name"
        mkdir -p "$PWD/target/web-check/$name"
        "${own[@]}" xvfb-run -a -s "-screen 0 1280x1024x24" node tests/web/engines.mjs "$page" "$PWD/target/web-check/$name" \
            "$modules" "$driver" "$binary" || failed=1
    done
    kill "$sound"
    rm -rf "$room"
    return "$failed"
}

[ $# -gt 0 ] || set -- walk kept habits sound aloud speed engines
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
    engines) engines ;;
    *) check "$what" "$what" ;;
    esac
done
