# shellcheck shell=bash disable=SC2154
# Sourced by apk.sh and check.sh: one way to pack, whether the tools are the SDK's or Debian's.
#
# The app has no Java of its own (`hasCode="false"`), so an APK is the manifest and resources linked by aapt2, the
# libraries beside them, aligned and signed. No Gradle: it would bring a second description of the same manifest.

package_version() { sed -n 's/^version = "\(.*\)"$/\1/p' Cargo.toml | head -n 1; }

# 1.2.3 is 1002003: it grows with every release as long as minor and patch stay below 1000.
version_code() {
    local major minor patch
    IFS=. read -r major minor patch <<<"$(package_version)"
    echo $((major * 1000000 + minor * 1000 + ${patch%%[-+]*}))
}

# pack OUT LIBS FRAMEWORK API: packs android/ and LIBS (a folder of <abi>/libpegwise.so) into OUT, aligned, unsigned.
# FRAMEWORK is android.jar or framework-res.apk, API its level. Wants the commands in $aapt2 and $zipalign.
pack() {
    local out="$1" libs="$2" framework="$3" api="$4" work
    work="$(dirname "$out")/pack"
    rm -rf "$work" "$out"
    mkdir -p "$work/lib"
    # Attributes newer than the tools: added to Android with API 31.
    local too_new='^$'
    if [ "$api" -lt 31 ]; then
        too_new='android:dataExtractionRules='
        echo "left out, unknown to resources of API $api: $too_new"
    fi
    grep -v "$too_new" android/AndroidManifest.xml >"$work/AndroidManifest.xml"
    "$aapt2" compile --dir android/res -o "$work/res.zip"
    "$aapt2" link -o "$work/app.apk" -I "$framework" --manifest "$work/AndroidManifest.xml" \
        --version-name "$(package_version)" --version-code "$(version_code)" "$work/res.zip"
    cp -r "$libs/." "$work/lib/"
    mkdir -p "$work/assets"
    cp data/licences.txt "$work/assets/LICENCES.txt"
    (cd "$work" && zip -q -X app.apk assets/LICENCES.txt)
    # Stored, not deflated: the system maps the libraries straight from the APK.
    (cd "$work" && find lib -type f | LC_ALL=C sort | zip -q -X -0 app.apk -@)
    # Pages of 16 KB where the tool knows them (build tools 35 and newer), else of 4 KB.
    if [[ "$("$zipalign" 2>&1 || true)" == *"-P <"* ]]; then
        "$zipalign" -f -P 16 4 "$work/app.apk" "$out"
        "$zipalign" -c -P 16 4 "$out"
    else
        "$zipalign" -f -p 4 "$work/app.apk" "$out"
        "$zipalign" -c -p 4 "$out"
    fi
}

# sign APK KEYSTORE ALIAS PASSWORD: wants the command in $apksigner.
sign() {
    "$apksigner" sign --ks "$2" --ks-key-alias "$3" --ks-pass "pass:$4" "$1"
    "$apksigner" verify --min-sdk-version 26 "$1"
}

# debug_key FILE: the key every development machine makes for itself; it proves nothing about who built an APK.
debug_key() {
    [ -e "$1" ] && return 0
    mkdir -p "$(dirname "$1")"
    keytool -genkeypair -keystore "$1" -storepass android -keypass android -alias androiddebugkey -keyalg RSA \
        -keysize 2048 -validity 10000 -dname "CN=Android Debug,O=Android,C=US" >/dev/null 2>&1
}
