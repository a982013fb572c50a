//! Pegwise: from one tuning of a fretted instrument to the next, and around the neck once it is there.

pub mod app;
pub mod arrange;
#[cfg(not(any(target_os = "android", target_arch = "wasm32")))]
pub mod cli;
pub mod data;
pub mod instrument;
pub mod platform;
pub mod retune;
pub mod shapes;
pub mod sheet;
pub mod songs;
pub mod sound;
pub mod store;
pub mod theory;
pub mod tune;
#[cfg(all(target_arch = "wasm32", feature = "app"))]
pub mod web;

/// The phone's door: Android's native activity calls it on a thread of its own each time it is opened.
///
/// Whatever keeps the window from opening ends the activity, as closing it does; what was entered is on disk.
#[cfg(all(target_os = "android", feature = "app"))]
#[unsafe(no_mangle)]
#[expect(unsafe_code, reason = "Android finds the door by its plain name, and no other function here has it")]
fn android_main(activity: slint::android::AndroidApp) {
    let phone = std::rc::Rc::new(platform::Phone::new(activity.clone()));
    let ears = std::rc::Rc::clone(&phone);
    let opened = slint::android::init_with_event_listener(activity, move |event| ears.hear(event))
        .map_err(slint::PlatformError::SetPlatformError)
        .and_then(|()| app::App::new(phone));
    if let Ok(app) = opened {
        // A window that fails later has nobody left to tell.
        let _ = app.run();
    }
}
