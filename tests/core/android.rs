//! The Android side as far as files tell: what the manifest asks for, and that pictures, words, colours and versions
//! there agree with the rest.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use roxmltree::{Document, Node};

/// The namespace of Android's attributes (Android developers' reference, "App manifest overview").
const ANDROID: &str = "http://schemas.android.com/apk/res/android";

/// Density buckets and their scale against mdpi (Android developers' guide, "Support different pixel densities").
const DENSITIES: [(&str, f64); 5] = [("mdpi", 1.0), ("hdpi", 1.5), ("xhdpi", 2.0), ("xxhdpi", 3.0), ("xxxhdpi", 4.0)];

/// Side of a launcher icon in dp (same guide).
const ICON_DP: f64 = 48.0;

/// Radius around the middle that no mask cuts, and side of the whole layer, in dp (Android developers' guide,
/// "Adaptive icons": layers of 108 × 108 dp, 66 × 66 dp of them never clipped).
const SAFE_RADIUS: f64 = 33.0;
const LAYER_SIDE: f64 = 108.0;

/// Words in the names of permissions that open a way off the phone (Android's `Manifest.permission` reference: the
/// internet and network state, Wi-Fi, nearby devices, mobile data, ultra-wideband, near-field, Bluetooth, messages).
const WAYS_OUT: [&str; 12] =
    ["INTERNET", "NETWORK", "WIFI", "WIMAX", "NEARBY", "UWB", "NFC", "BLUETOOTH", "SMS", "MMS", "WAP", "VPN"];

fn android() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("android")
}

fn read(path: &str) -> String {
    let path = android().join(path);
    fs::read_to_string(&path).unwrap_or_else(|fault| panic!("{}: {fault}", path.display()))
}

fn android_attribute<'a>(node: Node<'a, '_>, name: &str) -> Option<&'a str> {
    node.attribute((ANDROID, name))
}

/// The permissions that a manifest asks for, under whichever of the `uses-permission…` elements.
fn permissions(manifest: &str) -> Vec<String> {
    let document = Document::parse(manifest).unwrap();
    let asks = document.descendants().filter(|node| node.tag_name().name().starts_with("uses-permission"));
    asks.map(|node| android_attribute(node, "name").unwrap().to_owned()).collect()
}

fn ways_out(permissions: &[String]) -> Vec<&String> {
    permissions.iter().filter(|name| WAYS_OUT.iter().any(|word| name.contains(word))).collect()
}

#[test]
fn no_manifest_asks_for_a_network_and_the_only_permission_is_the_microphone() {
    let manifests: Vec<PathBuf> = files_under(&android())
        .into_iter()
        .filter(|path| path.file_name().is_some_and(|name| name == "AndroidManifest.xml"))
        .collect();
    assert_eq!(manifests.len(), 1, "{manifests:?}");
    let asked = permissions(&fs::read_to_string(&manifests[0]).unwrap());
    assert_eq!(ways_out(&asked), Vec::<&String>::new());
    assert_eq!(asked, ["android.permission.RECORD_AUDIO"]);
}

#[test]
fn a_network_permission_would_be_seen_under_every_element_that_can_ask() {
    for element in ["uses-permission", "uses-permission-sdk-23"] {
        let manifest = read("AndroidManifest.xml").replace(
            "<uses-sdk",
            &format!("<{element} android:name=\"android.permission.INTERNET\" />\n    <uses-sdk"),
        );
        assert_eq!(ways_out(&permissions(&manifest)), ["android.permission.INTERNET"], "{element}");
    }
}

#[test]
fn a_phone_without_a_microphone_is_not_turned_away() {
    // A permission implies a required feature unless the feature is named as not required (Android developers' guide,
    // "uses-feature": RECORD_AUDIO implies android.hardware.microphone).
    let manifest = read("AndroidManifest.xml");
    let document = Document::parse(&manifest).unwrap();
    let feature = document
        .descendants()
        .find(|node| android_attribute(*node, "name") == Some("android.hardware.microphone"))
        .unwrap();
    assert_eq!(android_attribute(feature, "required"), Some("false"));
}

#[test]
fn the_activity_is_the_systems_own_and_loads_our_library() {
    let manifest = read("AndroidManifest.xml");
    let document = Document::parse(&manifest).unwrap();
    let activity = document.descendants().find(|node| node.has_tag_name("activity")).unwrap();
    assert_eq!(android_attribute(activity, "name"), Some("android.app.NativeActivity"));
    // Android 12 and newer refuse to install an activity with an intent filter that does not say whether it is exported.
    assert_eq!(android_attribute(activity, "exported"), Some("true"));
    let library = activity.children().find(|node| node.has_tag_name("meta-data")).unwrap();
    assert_eq!(android_attribute(library, "name"), Some("android.app.lib_name"));
    assert_eq!(android_attribute(library, "value"), Some(env!("CARGO_PKG_NAME")));
    // What reaches the running app instead of closing it: turning the phone, splitting the screen, a keyboard, dark
    // mode, a larger text size (Slint 1.18 handles each while running).
    let handled: BTreeSet<&str> = android_attribute(activity, "configChanges").unwrap().split('|').collect();
    for change in
        ["orientation", "screenSize", "smallestScreenSize", "screenLayout", "keyboardHidden", "uiMode", "fontScale"]
    {
        assert!(handled.contains(change), "{change}");
    }
}

#[test]
fn the_packed_apps_version_is_cargos() {
    let part = |text: &str| text.parse::<u32>().unwrap();
    let code = part(env!("CARGO_PKG_VERSION_MAJOR")) * 1_000_000
        + part(env!("CARGO_PKG_VERSION_MINOR")) * 1000
        + part(env!("CARGO_PKG_VERSION_PATCH"));
    let expected = format!("versionCode='{code}' versionName='{}'", env!("CARGO_PKG_VERSION"));
    let badging = read("badging.txt");
    let package = badging.lines().find(|line| line.starts_with("package:")).unwrap();
    assert!(package.ends_with(&expected), "{package} should end with {expected}");
    assert!(part(env!("CARGO_PKG_VERSION_MINOR")) < 1000 && part(env!("CARGO_PKG_VERSION_PATCH")) < 1000);
}

/// Android developers' guide, "Support 16 KB page sizes": every loadable segment aligned to 16384. The packing script
/// reads it back from each library; here that it is asked for, for each processor that is packed.
#[test]
fn the_library_is_built_small_and_for_large_pages_on_both_processors() {
    let root = android().join("..");
    let script = read("apk.sh");
    let list = |name: &str| -> Vec<String> {
        let line = script.lines().find(|line| line.starts_with(&format!("{name}=("))).unwrap();
        let inside = line.split(['(', ')']).nth(1).unwrap();
        inside.split(' ').map(str::to_owned).collect()
    };
    assert_eq!(list("abis"), ["arm64-v8a", "x86_64"]);
    assert_eq!(list("targets"), ["aarch64-linux-android", "x86_64-linux-android"]);
    assert!(read("badging.txt").contains("native-code: 'arm64-v8a' 'x86_64'"));
    let toml = |path: &str| -> toml::Table { fs::read_to_string(root.join(path)).unwrap().parse().unwrap() };
    let config = toml(".cargo/config.toml");
    for target in list("targets") {
        let flags = config["target"][&target]["rustflags"].as_array().unwrap();
        assert!(flags.iter().any(|flag| flag.as_str() == Some("link-arg=-Wl,-z,max-page-size=16384")), "{target}");
    }
    let profile = script.split_whitespace().skip_while(|word| *word != "--profile").nth(1).unwrap();
    let profiles = toml("Cargo.toml");
    let profile = &profiles["profile"][profile];
    let of = |package: &str| profile["package"][package]["opt-level"].as_str().unwrap();
    assert!(["s", "z"].contains(&of("*")) && ["s", "z"].contains(&of("pegwise-ui")));
    assert_eq!(profile["lto"].as_str(), Some("thin"), "it is linked as a whole");
    assert_eq!(profile["inherits"].as_str(), Some("release"), "which strips");
}

#[test]
fn the_library_is_backed_up_and_only_where_the_phone_encrypts_it() {
    let manifest = read("AndroidManifest.xml");
    let document = Document::parse(&manifest).unwrap();
    let application = document.descendants().find(|node| node.has_tag_name("application")).unwrap();
    assert_eq!(android_attribute(application, "allowBackup"), Some("true"));
    assert_eq!(android_attribute(application, "dataExtractionRules"), Some("@xml/data_extraction_rules"));
    assert_eq!(android_attribute(application, "fullBackupContent"), Some("@xml/full_backup_content"));

    let new = read("res/xml/data_extraction_rules.xml");
    let new = Document::parse(&new).unwrap();
    for way in ["cloud-backup", "device-transfer"] {
        let way = new.descendants().find(|node| node.has_tag_name(way)).unwrap();
        assert!(way.children().any(|node| node.has_tag_name("include") && node.attribute("domain") == Some("file")));
    }
    let cloud = new.descendants().find(|node| node.has_tag_name("cloud-backup")).unwrap();
    assert_eq!(cloud.attribute("disableIfNoEncryptionCapabilities"), Some("true"));

    let old = read("res/xml/full_backup_content.xml");
    let old = Document::parse(&old).unwrap();
    let conditions: Vec<_> = old
        .descendants()
        .filter(|node| node.has_tag_name("include"))
        .map(|node| (node.attribute("domain"), node.attribute("requireFlags")))
        .collect();
    let expected = [(Some("file"), Some("clientSideEncryption")), (Some("file"), Some("deviceToDeviceTransfer"))];
    assert_eq!(conditions, expected);
}

#[test]
fn every_language_has_every_string() {
    let names = |folder: &str| -> BTreeSet<String> {
        let text = read(&format!("res/{folder}/strings.xml"));
        let document = Document::parse(&text).unwrap();
        let strings = document.descendants().filter(|node| node.has_tag_name("string"));
        strings
            .filter(|node| !node.text().unwrap_or("").trim().is_empty())
            .map(|node| node.attribute("name").unwrap().to_owned())
            .collect()
    };
    let english = names("values");
    assert!(english.contains("app_name"));
    // The languages of the screens: a folder each.
    let languages: BTreeSet<String> = fs::read_dir(android().join("../ui/lang"))
        .unwrap()
        .map(|entry| entry.unwrap())
        .filter(|entry| entry.path().is_dir())
        .map(|entry| entry.file_name().into_string().unwrap())
        .collect();
    assert!(languages.contains("de"), "{languages:?}");
    for language in languages {
        assert_eq!(names(&format!("values-{language}")), english, "{language}");
    }
}

#[test]
fn the_first_glimpse_has_the_colours_of_the_screens() {
    let tokens = fs::read_to_string(android().join("../ui/tokens.slint")).unwrap();
    for folder in ["values", "values-night"] {
        let text = read(&format!("res/{folder}/colors.xml"));
        let document = Document::parse(&text).unwrap();
        let colors: Vec<String> = document
            .descendants()
            .filter(|node| node.has_tag_name("color"))
            .map(|node| format!("{}: {}", node.attribute("name").unwrap(), node.text().unwrap().to_lowercase()))
            .collect();
        // A theme's row in the tokens starts with these two, in this order.
        assert!(tokens.contains(&colors.join(", ")), "{folder}: {colors:?}");
    }
}

/// The paths of the icon's source, in order.
fn icon_paths() -> Vec<(String, String)> {
    let source = read("icon/icon.svg");
    let document = Document::parse(&source).unwrap();
    let paths = document.descendants().filter(|node| node.tag_name().name() == "path");
    paths.map(|node| (node.attribute("id").unwrap().to_owned(), node.attribute("d").unwrap().to_owned())).collect()
}

#[test]
fn the_icons_layers_are_the_source_drawing() {
    let paths = icon_paths();
    let layer = |name: &str| -> Vec<String> {
        let text = read(&format!("res/drawable/{name}.xml"));
        let document = Document::parse(&text).unwrap();
        let paths = document.descendants().filter(|node| node.has_tag_name("path"));
        paths.map(|node| android_attribute(node, "pathData").unwrap().to_owned()).collect()
    };
    let drawn = |ids: &[(String, String)]| ids.iter().map(|(_, data)| data.clone()).collect::<Vec<_>>();
    assert_eq!(paths[0].0, "ground");
    assert_eq!(layer("ic_launcher_background"), drawn(&paths[..1]));
    assert_eq!(layer("ic_launcher_foreground"), drawn(&paths[1..]));
    assert_eq!(layer("ic_launcher_monochrome"), drawn(&paths[1..]));
}

#[test]
fn no_mask_cuts_the_peg() {
    for (id, data) in icon_paths() {
        // The string leads out of the picture on purpose; the ground fills it.
        if id == "ground" || id == "string" {
            continue;
        }
        for (x, y) in outline(&data) {
            let distance = (x - LAYER_SIDE / 2.0).hypot(y - LAYER_SIDE / 2.0);
            assert!(distance <= SAFE_RADIUS, "{id}: ({x:.1}, {y:.1}) lies {distance:.1} dp from the middle");
        }
    }
}

/// Points along a path of absolute M, L, H, V, C and Z, sixteen to a curve.
fn outline(data: &str) -> Vec<(f64, f64)> {
    let mut points: Vec<(f64, f64)> = Vec::new();
    let starts: Vec<usize> = data.char_indices().filter(|(_, c)| c.is_ascii_alphabetic()).map(|(at, _)| at).collect();
    for (index, &start) in starts.iter().enumerate() {
        let end = starts.get(index + 1).copied().unwrap_or(data.len());
        let numbers: Vec<f64> = data[start + 1..end]
            .split([',', ' '])
            .filter(|number| !number.is_empty())
            .map(|number| number.parse().unwrap())
            .collect();
        let (last_x, last_y) = points.last().copied().unwrap_or_default();
        match &data[start..=start] {
            "M" | "L" => points.extend(numbers.chunks(2).map(|pair| (pair[0], pair[1]))),
            "H" => points.extend(numbers.iter().map(|&x| (x, last_y))),
            "V" => points.extend(numbers.iter().map(|&y| (last_x, y))),
            "C" => {
                for curve in numbers.chunks(6) {
                    let (x0, y0) = points.last().copied().unwrap();
                    for step in 1..=16 {
                        // A cubic Bézier curve in Bernstein form.
                        let t = f64::from(step) / 16.0;
                        let mix = |a: f64, b: f64, c: f64, d: f64| {
                            let u = 1.0 - t;
                            a * u * u * u + 3.0 * b * t * u * u + 3.0 * c * t * t * u + d * t * t * t
                        };
                        points.push((mix(x0, curve[0], curve[2], curve[4]), mix(y0, curve[1], curve[3], curve[5])));
                    }
                }
            }
            "Z" => {}
            other => panic!("the icon uses {other}, which this test cannot read"),
        }
    }
    points
}

#[test]
fn every_density_has_a_square_and_a_round_icon_of_its_size() {
    for (density, scale) in DENSITIES {
        for name in ["ic_launcher", "ic_launcher_round"] {
            let path = android().join(format!("res/mipmap-{density}/{name}.png"));
            let bytes = fs::read(&path).unwrap();
            // The header chunk stands first in every PNG: width at 16, height at 20, big-endian (ISO/IEC 15948, 11.2.2).
            assert_eq!(&bytes[12..16], b"IHDR", "{}", path.display());
            let side = |at: usize| f64::from(u32::from_be_bytes(bytes[at..at + 4].try_into().unwrap()));
            assert_eq!((side(16), side(20)), (ICON_DP * scale, ICON_DP * scale), "{}", path.display());
        }
    }
}

/// Every file under a folder, in the order of their paths.
fn files_under(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { files.extend(files_under(&path)) } else { files.push(path) }
    }
    files.sort();
    files
}
