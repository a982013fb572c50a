# shellcheck shell=bash
# Sourced by check.sh and by ui/web/build.sh. Gives `android_cargo`, a cargo that can check for Android on a machine
# without the NDK, and `cargo_for`, the same for any target.
#
# Checking needs the standard library's metadata for the target. Where rustup has the target it is used as it is.
# Otherwise Debian's compiler comes with the library's sources: its packages are unpacked into a folder of their own
# (nothing is installed, the machine's Rust is not touched) and the library is checked from source.
# Everything lies under .cache/android, which git ignores; deleting that folder is always safe.

cache="$PWD/.cache/android"
rust_packages=(rustc-web cargo-web rust-web-src rust-web-clippy)
tool_packages=(aapt zipalign apksigner android-framework-res)

# as_root COMMAND …: runs it as root, or says what to do.
as_root() {
    if [ "$(id -u)" -eq 0 ]; then
        "$@"
    elif sudo -n true 2>/dev/null; then
        sudo -n "$@"
    else
        echo "please run this as root and try again: $*" >&2
        exit 1
    fi
}

need_apt() {
    command -v apt-get >/dev/null 2>&1 && command -v dpkg-deb >/dev/null 2>&1 && return 0
    echo "the check without an NDK takes its compiler and tools from Debian's packages; here there is no apt-get" >&2
    exit 1
}

# Debian's compiler, unpacked. What it needs and the machine lacks comes along, as apt works it out.
fetch_rust() {
    local root="$cache/rust" debs="$cache/debs" deb
    [ -e "$root/done" ] && return 0
    need_apt
    echo "fetching: ${rust_packages[*]}"
    rm -rf "$root"
    mkdir -p "$root" "$debs/partial"
    as_root apt-get update -qq || true
    as_root apt-get install -qq -y --no-install-recommends --download-only -o Dir::Cache::archives="$debs" \
        "${rust_packages[@]}" >/dev/null
    for deb in "$debs"/*.deb; do
        # Of the compiler's sources only the standard library is wanted: 70 MB of 430.
        dpkg-deb --fsys-tarfile "$deb" | tar -x -C "$root" --wildcards --no-wildcards-match-slash \
            --exclude='./usr/src/rustc-*/compiler' --exclude='./usr/src/rustc-*/src' --exclude='./usr/share/doc'
    done
    rm -rf "$debs"
    touch "$root/done"
}

# The packing tools are small and safe to install.
fetch_tools() {
    if command -v aapt >/dev/null && command -v zipalign >/dev/null && command -v apksigner >/dev/null &&
        command -v keytool >/dev/null && [ -e /usr/share/android-framework-res/framework-res.apk ]; then
        return 0
    fi
    need_apt
    echo "installing: ${tool_packages[*]}"
    as_root apt-get update -qq || true
    DEBIAN_FRONTEND=noninteractive as_root apt-get install -y -qq --no-install-recommends \
        "${tool_packages[@]}" default-jre-headless >/dev/null
}

# Slint's Android backend compiles one Java file and turns it into a dex file. A check embeds that file and never
# runs it, so two small scripts stand in for the compilers. The real ones are used by apk.sh.
stand_in_jdk() {
    mkdir -p "$cache/jdk/bin"
    cat >"$cache/jdk/bin/javac" <<'TEXT'
#!/bin/sh
[ "$1" != -version ] || echo "javac 17.0.0"
TEXT
    cat >"$cache/jdk/bin/java" <<'TEXT'
#!/bin/sh
while [ $# -gt 0 ]; do
    [ "$1" != --output ] || : >"$2/classes.dex"
    shift
done
TEXT
    chmod +x "$cache/jdk/bin/javac" "$cache/jdk/bin/java"
    : >"$cache/jdk/android.jar"
    : >"$cache/jdk/d8.jar"
}

has_target() {
    command -v rustup >/dev/null 2>&1 && rustup target list --installed 2>/dev/null | grep -qx "$1"
}

# cargo_for TARGET COMMAND …: cargo COMMAND … for a target that rustup need not have.
cargo_for() {
    local target="$1" command="$2"
    shift 2
    if has_target "$target"; then
        cargo "$command" --target "$target" "$@"
        return
    fi
    fetch_rust
    local usr="$cache/rust/usr"
    env RUSTC_BOOTSTRAP=1 PATH="$usr/bin:$PATH" LD_LIBRARY_PATH="$usr/lib/x86_64-linux-gnu:$usr/lib" \
        RUSTC="$usr/bin/rustc" "$usr/bin/cargo" "$command" -Zbuild-std=std,panic_abort --target "$target" "$@"
}

# android_cargo TARGET COMMAND …: the same for a phone. DOCS_RS makes Skia's bindings crate use the bindings it ships:
# enough to check against, not to link.
android_cargo() {
    stand_in_jdk
    DOCS_RS=1 JAVA_HOME="$cache/jdk" ANDROID_JAR="$cache/jdk/android.jar" ANDROID_D8_JAR="$cache/jdk/d8.jar" \
        CARGO_TARGET_DIR="$cache/target" cargo_for "$@"
}
