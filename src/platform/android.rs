//! A phone with Android 8 or newer.
//!
//! Everything goes through the native activity that the system starts; there is no Java of ours. Its answers to a
//! permission question reach only Java code, so the question is asked through JNI and its answer read when the app is
//! shown again: the system's dialog is an activity of its own, which hides ours while it is open.
#![expect(unsafe_code, reason = "the Java VM and the activity come as raw pointers; each use says why it holds")]

use std::cell::{Cell, RefCell};
use std::fmt;
use std::path::PathBuf;

use android_activity::{AndroidApp, MainEvent, PollEvent, WindowManagerFlags};
use jni::objects::{JObjectArray, JString};
use jni::refs::Global;
use jni::{Env, JavaVM, bind_java_type};

use super::{Machine, Microphone, Moment, OnMoment, OnShared};

bind_java_type! {
    pub(super) Activity => "android.app.Activity",
    methods {
        fn check_self_permission(permission: JString) -> jint,
        fn should_show_request_permission_rationale(permission: JString) -> jboolean,
        fn request_permissions(permissions: JString[], request_code: jint),
    }
}

bind_java_type! {
    ValueAnimator => "android.animation.ValueAnimator",
    methods {
        static fn are_animators_enabled() -> jboolean,
    }
}

/// The permission as Android names it, `android.Manifest.permission.RECORD_AUDIO`.
const RECORD_AUDIO: &str = "android.permission.RECORD_AUDIO";

/// Android's `PackageManager.PERMISSION_GRANTED`.
const PERMISSION_GRANTED: i32 = 0;

/// Told back with the answer, to code that hears it; ours does not, so any number does.
const REQUEST_CODE: i32 = 1;

/// The phone, through the activity it started the app with.
pub struct Phone {
    app: AndroidApp,
    awake: Cell<bool>,
    /// The question was asked and the app not shown since.
    asking: Cell<bool>,
    /// The question was asked since the app was started.
    asked: Cell<bool>,
    handler: RefCell<Option<OnMoment>>,
    /// Where the player is, for the system's own keeping.
    place: RefCell<Option<String>>,
    /// Where the player was before the system forgot the app; taken out once.
    place_before: RefCell<Option<String>>,
    /// The app has been in front since it was started.
    was_shown: Cell<bool>,
}

impl Phone {
    /// Makes the phone from what the system hands to `android_main`.
    #[must_use]
    pub fn new(app: AndroidApp) -> Self {
        Self {
            app,
            awake: Cell::new(false),
            asking: Cell::new(false),
            asked: Cell::new(false),
            handler: RefCell::new(None),
            place: RefCell::new(None),
            place_before: RefCell::new(None),
            was_shown: Cell::new(false),
        }
    }

    /// Takes an event of the activity and tells the app of the [`Moment`] it is, if it is one.
    pub fn hear(&self, event: &PollEvent<'_>) {
        let PollEvent::Main(event) = event else { return };
        let moment = match event {
            MainEvent::Resume { .. } => Moment::Shown,
            MainEvent::Pause => Moment::Hidden,
            MainEvent::SaveState { .. } => Moment::SaveNow,
            MainEvent::LowMemory => Moment::MemoryLow,
            MainEvent::Destroy => Moment::Closing,
            _ => return,
        };
        if let MainEvent::Resume { loader, .. } = event {
            self.asking.set(false);
            if !self.was_shown.replace(true) {
                self.place_before.replace(loader.load().and_then(|kept| String::from_utf8(kept).ok()));
            }
        }
        let handler = self.handler.borrow().clone();
        if let Some(handler) = handler {
            handler(moment);
        }
        if let (MainEvent::SaveState { saver, .. }, Some(place)) = (event, self.place.take()) {
            saver.store(place.as_bytes());
        }
    }
}

/// Runs `call` with the activity of `app`, attached to the Java VM. Works on any thread.
pub(super) fn with_activity<T>(
    app: &AndroidApp,
    call: impl FnOnce(&mut Env<'_>, &Activity<'_>) -> jni::errors::Result<T>,
) -> jni::errors::Result<T> {
    // SAFETY: the pointer is the process's one Java VM, which `AndroidApp` promises to be valid as long as it lives.
    let vm = unsafe { JavaVM::from_raw(app.vm_as_ptr().cast()) };
    vm.attach_current_thread(|env| {
        let activity = app.activity_as_ptr().cast();
        // SAFETY: `AndroidApp` holds this global reference to an `android.app.NativeActivity`, which is an `Activity`,
        // for as long as it lives; the cast borrows it and does not delete it.
        let activity = unsafe { env.as_cast_raw::<Global<Activity>>(&activity)? };
        call(env, activity.as_ref())
    })
}

impl Machine for Phone {
    fn data_folder(&self) -> Option<PathBuf> {
        self.app.internal_data_path()
    }

    fn shares(&self) -> bool {
        true
    }

    fn share(&self, name: &str, media_type: &str, bytes: &[u8], answer: OnShared) {
        answer(super::android_share::share(&self.app, name, media_type, bytes).map(Some));
    }

    fn keep_awake(&self, awake: bool) {
        if self.awake.replace(awake) == awake {
            return;
        }
        let (add, remove) = if awake {
            (WindowManagerFlags::KEEP_SCREEN_ON, WindowManagerFlags::empty())
        } else {
            (WindowManagerFlags::empty(), WindowManagerFlags::KEEP_SCREEN_ON)
        };
        self.app.set_window_flags(add, remove);
    }

    /// A Java call that fails counts as a refusal: the app then goes on without listening.
    fn microphone(&self) -> Microphone {
        let answers = with_activity(&self.app, |env, activity| {
            let permission = JString::new(env, RECORD_AUDIO)?;
            let granted = activity.check_self_permission(env, &permission)? == PERMISSION_GRANTED;
            // True exactly when the player said no once and may be asked again.
            let said_no = activity.should_show_request_permission_rationale(env, &permission)?;
            Ok((granted, said_no))
        });
        match answers {
            Ok((true, _)) => Microphone::Granted,
            Ok((false, _)) if self.asking.get() => Microphone::Asking,
            Ok((false, said_no)) if said_no || self.asked.get() => Microphone::Refused,
            Ok((false, _)) => Microphone::NotAsked,
            Err(_) => Microphone::Refused,
        }
    }

    fn ask_for_microphone(&self) {
        if self.microphone() == Microphone::Granted {
            return;
        }
        self.asking.set(true);
        self.asked.set(true);
        let app = self.app.clone();
        // A dialog belongs to the thread that Android draws on. Should the call fail, no dialog comes and the next
        // look at the permission says no.
        self.app.run_on_java_main_thread(Box::new(move || {
            let _ = with_activity(&app, |env, activity| {
                let permission = JString::new(env, RECORD_AUDIO)?;
                let permissions = JObjectArray::<JString<'_>>::new(env, 1, &permission)?;
                activity.request_permissions(env, &permissions, REQUEST_CODE)
            });
        }));
    }

    /// "Remove animations" and the like in Android's settings; a Java call that fails leaves them on.
    fn wants_less_motion(&self) -> bool {
        let moves = with_activity(&self.app, |env, _| ValueAnimator::are_animators_enabled(env));
        moves.is_ok_and(|moves| !moves)
    }

    fn keep_place(&self, place: &str) {
        self.place.replace(Some(place.to_owned()));
    }

    fn take_place(&self) -> Option<String> {
        self.place_before.take()
    }

    fn on_moment(&self, handler: OnMoment) {
        *self.handler.borrow_mut() = Some(handler);
    }

    /// The player's own choice in the system's settings, which Slint follows as long as nothing else is set.
    fn text_size_dp(&self) -> Option<f32> {
        None
    }
}

impl fmt::Debug for Phone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Phone")
            .field("awake", &self.awake)
            .field("asking", &self.asking)
            .field("asked", &self.asked)
            .finish_non_exhaustive()
    }
}
