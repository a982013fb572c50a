#!/usr/bin/env bash
# Checks the Android side on a machine without Android's SDK and NDK: that the whole app type-checks and is clean of
# lints for a phone, Slint's Android backend included, and that the manifest and resources pack into a signed APK that
# says of itself what badging.txt says. It does not link, and nothing it makes can be started.
set -euo pipefail
cd "$(dirname "$0")/.."
source android/toolchain.sh
source android/pack.sh

code() {
    android_cargo aarch64-linux-android clippy --quiet --locked --lib "$@" -- -D warnings
}

pack_and_compare() {
    aapt2=aapt2 zipalign=zipalign apksigner=apksigner
    local out="$cache/check.apk" abi
    fetch_tools
    # Stand-ins for the libraries: only their place and name count here.
    rm -rf "$cache/libs"
    for abi in arm64-v8a x86_64; do
        mkdir -p "$cache/libs/$abi"
        printf 'not a library' >"$cache/libs/$abi/libpegwise.so"
    done
    pack "$out" "$cache/libs" /usr/share/android-framework-res/framework-res.apk 29
    debug_key "$cache/debug.keystore"
    sign "$out" "$cache/debug.keystore" androiddebugkey android
    # What a phone or a store reads about the app; left out are the icon at each density and what the tools say of
    # themselves.
    "$aapt2" dump badging "$out" | sed -E 's/^ +//; s/ platformBuildVersionName=.*//' |
        grep -E "^(package|sdkVersion|targetSdkVersion|application(-label[a-z-]*)?|launchable-activity|uses-[a-z-]+|supports-screens|locales|native-code):" \
            >"$cache/badging.txt"
    diff -u --label "expected (android/badging.txt)" --label "packed" <(grep -v '^#' android/badging.txt) \
        "$cache/badging.txt"
    echo "packed: $(($(wc -c <"$out"))) bytes of manifest, resources and signature"
}

case "${1:-all}" in
code) code --features app ;;
pack) pack_and_compare ;;
all)
    pack_and_compare
    code --features app
    ;;
*)
    echo "usage: check.sh [code|pack]" >&2
    exit 2
    ;;
esac
