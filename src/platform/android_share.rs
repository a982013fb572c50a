//! The way out of the app on Android: a file goes into the player's downloads, and the system asks who gets it.
//!
//! From Android 10 on, `MediaStore` takes the file without a permission and hands it on by itself, so that no provider of
//! ours, which would be Java, is needed (read in Android's documentation, not run on a device). Before, there is no such
//! table: text still goes out as text, other files do not.
#![expect(unsafe_code, reason = "a file descriptor comes as a bare number; its use says why it holds")]

use std::fs::File;
use std::io::{self, Write};
use std::os::fd::FromRawFd;

use android_activity::AndroidApp;
use jni::objects::{JObject, JString, JValue};
use jni::{Env, jni_sig, jni_str};

use super::ShareFault;
use super::android::{Activity, with_activity};

/// Android 10, the first with `MediaStore.Downloads`.
const FIRST_WITH_DOWNLOADS: i32 = 29;
/// `Intent.FLAG_GRANT_READ_URI_PERMISSION`.
const GRANT_READ: i32 = 1;
/// The folder below the player's downloads.
const FOLDER: &str = "Download/Pegwise";

/// What stops a file on its way.
enum Stopped {
    Java(jni::errors::Error),
    File(io::Error),
    TooOld,
}

impl From<jni::errors::Error> for Stopped {
    fn from(fault: jni::errors::Error) -> Self {
        Self::Java(fault)
    }
}

/// Writes a file into the downloads and lets the system ask who gets it. Returns where it lies.
pub(super) fn share(app: &AndroidApp, name: &str, media_type: &str, bytes: &[u8]) -> Result<String, ShareFault> {
    let done = with_activity(app, |env, activity| {
        let done = send(env, activity, name, media_type, bytes);
        if done.is_err() {
            // The next call would meet what Java threw here.
            env.exception_clear();
        }
        Ok(done)
    });
    match done {
        Ok(Ok(place)) => Ok(place),
        Ok(Err(Stopped::TooOld)) => Err(ShareFault::TooOld),
        Ok(Err(Stopped::File(fault))) => Err(ShareFault::Failed(fault.to_string())),
        Ok(Err(Stopped::Java(fault))) | Err(fault) => Err(ShareFault::Failed(fault.to_string())),
    }
}

fn send(
    env: &mut Env<'_>,
    activity: &Activity<'_>,
    name: &str,
    media_type: &str,
    bytes: &[u8],
) -> Result<String, Stopped> {
    let version =
        env.get_static_field(jni_str!("android/os/Build$VERSION"), jni_str!("SDK_INT"), jni_sig!(jint))?.i()?;
    if version < FIRST_WITH_DOWNLOADS {
        let text =
            std::str::from_utf8(bytes).ok().filter(|_| media_type.starts_with("text/")).ok_or(Stopped::TooOld)?;
        let text = JString::new(env, text)?;
        let intent = intent(env, media_type)?;
        let key = JString::new(env, "android.intent.extra.TEXT")?;
        env.call_method(
            &intent,
            jni_str!("putExtra"),
            jni_sig!((java.lang.String, java.lang.String) -> android.content.Intent),
            &[JValue::Object(&key), JValue::Object(&text)],
        )?;
        choose(env, activity, &intent)?;
        return Ok(name.to_owned());
    }
    let resolver = env
        .call_method(activity, jni_str!("getContentResolver"), jni_sig!(() -> android.content.ContentResolver), &[])?
        .l()?;
    let uri = insert(env, &resolver, name, media_type)?;
    if let Err(stopped) = fill(env, &resolver, &uri, bytes) {
        env.exception_clear();
        // What was begun is taken away; that this fails too leaves an empty entry that the system clears in a week.
        let _ = env.call_method(
            &resolver,
            jni_str!("delete"),
            jni_sig!((android.net.Uri, java.lang.String, [java.lang.String]) -> jint),
            &[JValue::Object(&uri), JValue::Object(&JObject::null()), JValue::Object(&JObject::null())],
        );
        return Err(stopped);
    }
    let intent = intent(env, media_type)?;
    let key = JString::new(env, "android.intent.extra.STREAM")?;
    env.call_method(
        &intent,
        jni_str!("putExtra"),
        jni_sig!((java.lang.String, android.os.Parcelable) -> android.content.Intent),
        &[JValue::Object(&key), JValue::Object(&uri)],
    )?;
    env.call_method(
        &intent,
        jni_str!("addFlags"),
        jni_sig!((jint) -> android.content.Intent),
        &[JValue::Int(GRANT_READ)],
    )?;
    choose(env, activity, &intent)?;
    Ok(format!("{FOLDER}/{name}"))
}

/// Makes an entry of the downloads that nobody sees yet.
fn insert<'local>(
    env: &mut Env<'local>,
    resolver: &JObject<'_>,
    name: &str,
    media_type: &str,
) -> Result<JObject<'local>, Stopped> {
    let values = values(env)?;
    for (key, value) in [("_display_name", name), ("mime_type", media_type), ("relative_path", FOLDER)] {
        let (key, value) = (JString::new(env, key)?, JString::new(env, value)?);
        env.call_method(
            &values,
            jni_str!("put"),
            jni_sig!((java.lang.String, java.lang.String) -> void),
            &[JValue::Object(&key), JValue::Object(&value)],
        )?;
    }
    set_pending(env, &values, 1)?;
    let downloads = env
        .get_static_field(
            jni_str!("android/provider/MediaStore$Downloads"),
            jni_str!("EXTERNAL_CONTENT_URI"),
            jni_sig!(android.net.Uri),
        )?
        .l()?;
    let uri = env
        .call_method(
            resolver,
            jni_str!("insert"),
            jni_sig!((android.net.Uri, android.content.ContentValues) -> android.net.Uri),
            &[JValue::Object(&downloads), JValue::Object(&values)],
        )?
        .l()?;
    if uri.is_null() {
        return Err(Stopped::File(io::Error::other("the system made no file")));
    }
    Ok(uri)
}

/// Writes the entry's file, and lets it be seen.
fn fill(env: &mut Env<'_>, resolver: &JObject<'_>, uri: &JObject<'_>, bytes: &[u8]) -> Result<(), Stopped> {
    let mode = JString::new(env, "w")?;
    let opened = env
        .call_method(
            resolver,
            jni_str!("openFileDescriptor"),
            jni_sig!((android.net.Uri, java.lang.String) -> android.os.ParcelFileDescriptor),
            &[JValue::Object(uri), JValue::Object(&mode)],
        )?
        .l()?;
    let number = env.call_method(&opened, jni_str!("detachFd"), jni_sig!(() -> jint), &[])?.i()?;
    // SAFETY: `detachFd` gives the descriptor away: it is open, and nobody else closes it.
    let mut file = unsafe { File::from_raw_fd(number) };
    file.write_all(bytes).and_then(|()| file.sync_all()).map_err(Stopped::File)?;
    drop(file);
    let values = values(env)?;
    set_pending(env, &values, 0)?;
    env.call_method(
        resolver,
        jni_str!("update"),
        jni_sig!((android.net.Uri, android.content.ContentValues, java.lang.String, [java.lang.String]) -> jint),
        &[
            JValue::Object(uri),
            JValue::Object(&values),
            JValue::Object(&JObject::null()),
            JValue::Object(&JObject::null()),
        ],
    )?;
    Ok(())
}

fn values<'local>(env: &mut Env<'local>) -> Result<JObject<'local>, Stopped> {
    Ok(env.new_object(jni_str!("android/content/ContentValues"), jni_sig!(() -> void), &[])?)
}

fn set_pending(env: &mut Env<'_>, values: &JObject<'_>, pending: i32) -> Result<(), Stopped> {
    let key = JString::new(env, "is_pending")?;
    let number = env
        .call_static_method(
            jni_str!("java/lang/Integer"),
            jni_str!("valueOf"),
            jni_sig!((jint) -> java.lang.Integer),
            &[JValue::Int(pending)],
        )?
        .l()?;
    env.call_method(
        values,
        jni_str!("put"),
        jni_sig!((java.lang.String, java.lang.Integer) -> void),
        &[JValue::Object(&key), JValue::Object(&number)],
    )?;
    Ok(())
}

/// An intent to send something of a kind.
fn intent<'local>(env: &mut Env<'local>, media_type: &str) -> Result<JObject<'local>, Stopped> {
    let action = JString::new(env, "android.intent.action.SEND")?;
    let intent = env.new_object(
        jni_str!("android/content/Intent"),
        jni_sig!((java.lang.String) -> void),
        &[JValue::Object(&action)],
    )?;
    let media_type = JString::new(env, media_type)?;
    env.call_method(
        &intent,
        jni_str!("setType"),
        jni_sig!((java.lang.String) -> android.content.Intent),
        &[JValue::Object(&media_type)],
    )?;
    Ok(intent)
}

/// Lets the system ask who gets it.
fn choose(env: &mut Env<'_>, activity: &Activity<'_>, intent: &JObject<'_>) -> Result<(), Stopped> {
    let chooser = env
        .call_static_method(
            jni_str!("android/content/Intent"),
            jni_str!("createChooser"),
            jni_sig!((android.content.Intent, java.lang.CharSequence) -> android.content.Intent),
            &[JValue::Object(intent), JValue::Object(&JObject::null())],
        )?
        .l()?;
    env.call_method(
        activity,
        jni_str!("startActivity"),
        jni_sig!((android.content.Intent) -> void),
        &[JValue::Object(&chooser)],
    )?;
    Ok(())
}
