#!/usr/bin/env bash
# Checks for Windows and macOS on a machine that is neither: types and lints of the library with the sound device, from
# Microsoft's and Apple's own interfaces as their bindings describe them. Nothing is linked and nothing can be started.
#   tests/device/desktops.sh [CARGO-FEATURES]        (audio unless told; app,audio takes the window along)
set -euo pipefail
cd "$(dirname "$0")/../.."
source android/toolchain.sh

features="${1:-audio}"
export CARGO_TARGET_DIR="$cache/target"
for target in x86_64-pc-windows-msvc aarch64-apple-darwin; do
    begun="$SECONDS"
    cargo_for "$target" clippy --quiet --locked --lib --no-default-features --features "$features" -- -D warnings
    echo "$target, $features: types and lints hold ($((SECONDS - begun)) s)"
done
