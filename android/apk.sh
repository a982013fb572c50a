#!/usr/bin/env bash
# Builds an installable APK. Wants Android's SDK and NDK, a JDK, Rust's two Android targets and cargo-ndk; names what
# is missing and stops. Signs with the debug key, or with KEYSTORE and KEY_ALIAS when they are set (the tool then asks
# for the password, unless KEYSTORE_PASSWORD has it).
set -euo pipefail
cd "$(dirname "$0")/.."
source android/pack.sh

abis=(arm64-v8a x86_64)
targets=(aarch64-linux-android x86_64-linux-android)
out=target/android
missing=()

lacks() { missing+=("$1"); }

# newest FOLDER [NAME]: the last of its entries by version.
newest() { { find "$1" -mindepth 1 -maxdepth 1 -name "${2:-*}" 2>/dev/null || true; } | sort -V | tail -n 1; }

sdk="${ANDROID_HOME:-${ANDROID_SDK_ROOT:-$HOME/Android/Sdk}}"
ndk="${ANDROID_NDK_HOME:-${ANDROID_NDK_ROOT:-$(newest "$sdk/ndk")}}"
tools="$(newest "$sdk/build-tools")"
platform="$(newest "$sdk/platforms" 'android-[0-9]*')"
api="$(basename "${platform:-android-0}" | sed 's/^android-\([0-9]*\).*/\1/')"

has() { command -v "$1" >/dev/null 2>&1; }
if [ ! -d "$sdk" ]; then lacks "the Android SDK, at $sdk or where ANDROID_HOME points; its command line tools are enough"; fi
if [ ! -x "$tools/aapt2" ] || [ ! -x "$tools/apksigner" ]; then
    lacks "the SDK's build tools:  sdkmanager 'build-tools;36.0.0'"
fi
if [ "$api" -lt 35 ]; then lacks "an SDK platform of 35 or newer:  sdkmanager 'platforms;android-36'"; fi
if [ ! -d "$ndk/toolchains/llvm" ]; then lacks "the NDK, 27 or newer:  sdkmanager 'ndk;28.2.13676358'"; fi
if ! has javac && [ ! -x "${JAVA_HOME:-}/bin/javac" ]; then lacks "a JDK, 17:  apt-get install openjdk-17-jdk-headless"; fi
if ! has zip; then lacks "zip:  apt-get install zip"; fi
if ! has cargo-ndk; then lacks "cargo-ndk:  cargo install cargo-ndk"; fi
for target in "${targets[@]}"; do
    rustup target list --installed 2>/dev/null | grep -qx "$target" || lacks "Rust's target:  rustup target add $target"
done

if [ ${#missing[@]} -gt 0 ]; then
    echo "an APK cannot be built here. What is missing:" >&2
    printf '  %s\n' "${missing[@]}" >&2
    echo "./dev android-check checks the Android side without any of it." >&2
    exit 1
fi

aapt2="$tools/aapt2" zipalign="$tools/zipalign" apksigner="$tools/apksigner"
# Skia's bindings, cargo-ndk and Slint's backend each look for these under names of their own.
export ANDROID_HOME="$sdk" ANDROID_NDK_HOME="$ndk" ANDROID_NDK="$ndk" ANDROID_NDK_ROOT="$ndk"
export ANDROID_JAR="$platform/android.jar" ANDROID_D8_JAR="$tools/lib/d8.jar"

rm -rf "$out"
mkdir -p "$out/libs"
cargo ndk --platform 26 --target "${abis[0]}" --target "${abis[1]}" --output-dir "$out/libs" \
    rustc --locked --lib --crate-type cdylib --profile dist --features app

for abi in "${abis[@]}"; do
    library="$out/libs/$abi/libpegwise.so"
    # Every loadable segment at 16 KB or more, or newer phones refuse the library.
    pages="$("$(newest "$ndk/toolchains/llvm/prebuilt")/bin/llvm-readelf" --program-headers --wide "$library" |
        awk '$1 == "LOAD" { print $NF }')"
    for page in ${pages:-0}; do
        [ $((page)) -ge 16384 ] && continue
        echo "$library is laid out for pages of $((page)) bytes; newer phones have 16384" >&2
        exit 1
    done
    # Beside our library nothing may lie there that the app does not load.
    find "$out/libs/$abi" -type f ! -name libpegwise.so -delete
done

apk="$out/pegwise-$(package_version).apk"
pack "$apk" "$out/libs" "$platform/android.jar" "$api"
if [ -n "${KEYSTORE:-}" ]; then
    # Without KEYSTORE_PASSWORD the tool asks.
    password=()
    if [ -n "${KEYSTORE_PASSWORD:-}" ]; then password=(--ks-pass env:KEYSTORE_PASSWORD); fi
    "$apksigner" sign --ks "$KEYSTORE" "${password[@]}" \
        --ks-key-alias "${KEY_ALIAS:?the name of the key in the key store}" "$apk"
    "$apksigner" verify --min-sdk-version 26 "$apk"
else
    debug_key "$HOME/.android/debug.keystore"
    sign "$apk" "$HOME/.android/debug.keystore" androiddebugkey android
fi
echo "$apk: $(($(wc -c <"$apk"))) bytes. Onto a phone:  $sdk/platform-tools/adb install -r $apk"
