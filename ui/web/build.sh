#!/usr/bin/env bash
# Builds the app for browsers into target/web: any static host serves that folder as it is. Says how large it is.
#
#     build.sh [FOLDER FEATURE]     into another folder, with a feature more
#
# Without rustup's web target it takes Debian's compiler, as the Android check does.
set -euo pipefail
cd "$(dirname "$0")/../.."
# shellcheck source=android/toolchain.sh
source android/toolchain.sh

target=wasm32-unknown-unknown
web="$PWD/.cache/web"
page="$PWD/${1:-target/web}"
more=(${2:+--features "$2"})

# The tool that joins the module to JavaScript; its version must be that of the crate.
version="$(grep -A1 -x 'name = "wasm-bindgen"' Cargo.lock | sed -n 's/^version = "\(.*\)"$/\1/p')"
if ! "$web/bin/wasm-bindgen" --version 2>/dev/null | grep -qF " $version"; then
    echo "fetching and building: wasm-bindgen $version"
    CARGO_PROFILE_RELEASE_OPT_LEVEL=1 CARGO_PROFILE_RELEASE_LTO=false CARGO_PROFILE_RELEASE_CODEGEN_UNITS=16 \
        CARGO_TARGET_DIR="$web/tool" cargo install --quiet wasm-bindgen-cli --version "$version" --bin wasm-bindgen \
        --root "$web"
    rm -rf "$web/tool"
fi

# The linker that comes with Rust knows the web; the system's does not.
export CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_LINKER
CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_LINKER="$(find "$(rustc --print sysroot)" -name rust-lld -type f | head -n 1)"
if [ -z "$CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_LINKER" ]; then
    echo "please install Rust by rustup: its rust-lld links for the web, and there is none here" >&2
    exit 1
fi

CARGO_TARGET_DIR="$web/target" cargo_for "$target" rustc --locked --profile web "${more[@]}" --lib --crate-type cdylib
rm -rf "$page"
"$web/bin/wasm-bindgen" --target web --no-typescript --remove-name-section --remove-producers-section \
    --out-dir "$page" "$web/target/$target/web/pegwise.wasm"
python3 ui/web/pack.py "$page"
