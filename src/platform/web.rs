//! A browser: what it offers is asked for by the functions of `ui/web/machine.js`, which answer at once or call back.

use std::cell::{Cell, RefCell};
use std::collections::HashMap;
use std::fmt;
use std::io;
use std::path::PathBuf;
use std::time::{Duration, SystemTime};

use wasm_bindgen::prelude::wasm_bindgen;

use super::web_sound::BrowserSound;
use super::{
    FileChanges, KeptFiles, Machine, Microphone, Moment, OnKept, OnMoment, OnPicked, OnShared, Pick, Picked,
    SoundDevice,
};

#[wasm_bindgen(raw_module = "./machine.js")]
extern "C" {
    /// Milliseconds since 1970-01-01.
    #[wasm_bindgen(js_name = nowMs)]
    fn now_ms() -> f64;
    /// Where the page comes from; nothing where the browser keeps no files.
    #[wasm_bindgen(js_name = keptPlace)]
    fn kept_place() -> Option<String>;
    #[wasm_bindgen(js_name = keptNames)]
    fn kept_names() -> Vec<String>;
    #[wasm_bindgen(js_name = keptBytes)]
    fn kept_bytes(name: &str) -> Vec<u8>;
    #[wasm_bindgen(js_name = keptWrittenMs)]
    fn kept_written_ms(name: &str) -> f64;
    #[wasm_bindgen(js_name = stagePut)]
    fn stage_put(name: &str, bytes: &[u8], written_ms: f64);
    #[wasm_bindgen(js_name = stageRemove)]
    fn stage_remove(name: &str);
    /// Keeps what was staged, as one step; [`tell_kept`] hears of it by the number.
    #[wasm_bindgen(js_name = keepStaged)]
    fn keep_staged(number: u32);
    #[wasm_bindgen(js_name = pickFile)]
    fn pick_file(number: u32);
    /// [`tell_gone`] hears what became of it by the number.
    #[wasm_bindgen(js_name = handOut)]
    fn hand_out(number: u32, name: &str, media_type: &str, bytes: &[u8]);
    #[wasm_bindgen(js_name = keepAwake)]
    fn keep_awake(awake: bool);
    #[wasm_bindgen(js_name = showLevels)]
    fn show_levels(levels: u32);
    /// 0 may listen, 1 not asked, 2 asking, 3 refused.
    fn microphone() -> u8;
    #[wasm_bindgen(js_name = askForMicrophone)]
    fn ask_for_microphone();
    fn language() -> Option<String>;
    #[wasm_bindgen(js_name = showLanguage)]
    fn show_language(code: &str);
    #[wasm_bindgen(js_name = wantsLessMotion)]
    fn wants_less_motion() -> bool;
    #[wasm_bindgen(js_name = wantsMoreContrast)]
    fn wants_more_contrast() -> bool;
    /// The size of ordinary text that the player chose, as a share of the usual.
    #[wasm_bindgen(js_name = textScale)]
    fn text_scale() -> f32;
    #[wasm_bindgen(js_name = keepPlace)]
    fn keep_place(place: &str);
    #[wasm_bindgen(js_name = takePlace)]
    fn take_place() -> Option<String>;
}

thread_local! {
    static HANDLER: RefCell<Option<OnMoment>> = const { RefCell::new(None) };
    static NUMBER: Cell<u32> = const { Cell::new(0) };
    static KEPT: RefCell<HashMap<u32, OnKept>> = RefCell::default();
    static PICKED: RefCell<HashMap<u32, OnPicked>> = RefCell::default();
    static GONE: RefCell<HashMap<u32, OnShared>> = RefCell::default();
}

fn next_number() -> u32 {
    NUMBER.set(NUMBER.get().wrapping_add(1));
    NUMBER.get()
}

/// The page tells of a [`Moment`]: `shown`, `hidden`, `freezing` or `closing`.
#[wasm_bindgen(js_name = tellMoment)]
pub fn tell_moment(moment: &str) {
    let moment = match moment {
        "shown" => Moment::Shown,
        "hidden" => Moment::Hidden,
        "freezing" => Moment::SaveNow,
        _ => Moment::Closing,
    };
    let handler = HANDLER.with_borrow(Clone::clone);
    if let Some(handler) = handler {
        handler(moment);
    }
}

/// The page tells whether the step of this number was kept: no fault, `full`, or words.
#[wasm_bindgen(js_name = tellKept)]
pub fn tell_kept(number: u32, fault: Option<String>) {
    let Some(answer) = KEPT.with_borrow_mut(|waiting| waiting.remove(&number)) else { return };
    answer(match fault.as_deref() {
        None => Ok(()),
        Some("full") => Err(io::ErrorKind::QuotaExceeded.into()),
        Some(words) => Err(io::Error::other(words.to_owned())),
    });
}

/// The page tells what file was chosen; neither bytes nor fault where the player chose none.
#[wasm_bindgen(js_name = tellPicked)]
pub fn tell_picked(number: u32, bytes: Option<Vec<u8>>, fault: Option<String>) {
    let Some(answer) = PICKED.with_borrow_mut(|waiting| waiting.remove(&number)) else { return };
    answer(match (bytes, fault) {
        (Some(bytes), _) => Picked::Read(Ok(bytes)),
        (None, Some(fault)) => Picked::Read(Err(fault)),
        (None, None) => Picked::Closed,
    });
}

/// The page tells where a file that was handed on lies besides, empty where nowhere else; nothing where the player thought
/// better of it.
#[wasm_bindgen(js_name = tellGone)]
pub fn tell_gone(number: u32, place: Option<String>) {
    let Some(answer) = GONE.with_borrow_mut(|waiting| waiting.remove(&number)) else { return };
    answer(Ok(place));
}

fn ms_since_1970(ms: f64) -> SystemTime {
    SystemTime::UNIX_EPOCH + Duration::try_from_secs_f64(ms / 1000.0).unwrap_or_default()
}

fn ms_of(time: SystemTime) -> f64 {
    time.duration_since(SystemTime::UNIX_EPOCH).unwrap_or_default().as_secs_f64() * 1000.0
}

fn clock() -> SystemTime {
    ms_since_1970(now_ms())
}

fn keep(changes: FileChanges, answer: OnKept) {
    for (name, bytes) in changes {
        match bytes {
            Some((bytes, written)) => stage_put(&name, &bytes, ms_of(written)),
            None => stage_remove(&name),
        }
    }
    let number = next_number();
    KEPT.with_borrow_mut(|waiting| waiting.insert(number, answer));
    keep_staged(number);
}

/// The browser whose page this is.
#[derive(Default)]
pub struct Browser {
    is_awake: Cell<bool>,
    levels: Cell<usize>,
}

impl fmt::Debug for Browser {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Browser").field("is_awake", &self.is_awake).finish_non_exhaustive()
    }
}

impl Machine for Browser {
    /// Where the page comes from stands for the folder: a browser keeps files by origin.
    fn data_folder(&self) -> Option<PathBuf> {
        kept_place().map(PathBuf::from)
    }

    fn kept_files(&self) -> Option<KeptFiles> {
        let place = self.data_folder()?;
        let file = |name: String| {
            let (bytes, written) = (kept_bytes(&name), ms_since_1970(kept_written_ms(&name)));
            (name, bytes, written)
        };
        let files = kept_names().into_iter().map(file).collect();
        Some(KeptFiles { place, files, keep: Box::new(keep), clock })
    }

    fn now(&self) -> SystemTime {
        clock()
    }

    fn shares(&self) -> bool {
        true
    }

    /// A phone asks who gets it; elsewhere it goes where downloads go.
    fn share(&self, name: &str, media_type: &str, bytes: &[u8], answer: OnShared) {
        let number = next_number();
        GONE.with_borrow_mut(|waiting| waiting.insert(number, answer));
        hand_out(number, name, media_type, bytes);
    }

    fn opens_files(&self) -> bool {
        true
    }

    fn pick(&self, pick: Pick, answer: OnPicked) {
        if matches!(pick, Pick::Save { .. }) {
            return answer(Picked::NoPicker);
        }
        let number = next_number();
        PICKED.with_borrow_mut(|waiting| waiting.insert(number, answer));
        pick_file(number);
    }

    fn show_levels(&self, levels: usize) {
        if self.levels.replace(levels) != levels {
            show_levels(u32::try_from(levels).unwrap_or(u32::MAX));
        }
    }

    fn keep_awake(&self, awake: bool) {
        if self.is_awake.replace(awake) != awake {
            keep_awake(awake);
        }
    }

    fn microphone(&self) -> Microphone {
        match microphone() {
            0 => Microphone::Granted,
            1 => Microphone::NotAsked,
            2 => Microphone::Asking,
            _ => Microphone::Refused,
        }
    }

    fn is_page(&self) -> bool {
        true
    }

    fn ask_for_microphone(&self) {
        ask_for_microphone();
    }

    fn keep_place(&self, place: &str) {
        keep_place(place);
    }

    fn take_place(&self) -> Option<String> {
        take_place()
    }

    fn on_moment(&self, handler: OnMoment) {
        HANDLER.set(Some(handler));
    }

    fn sound_device(&self) -> Box<dyn SoundDevice> {
        Box::new(BrowserSound)
    }

    fn language(&self) -> Option<String> {
        language()
    }

    fn show_language(&self, code: &str) {
        show_language(code);
    }

    fn wants_less_motion(&self) -> bool {
        wants_less_motion()
    }

    fn wants_more_contrast(&self) -> bool {
        wants_more_contrast()
    }

    fn text_size_dp(&self) -> Option<f32> {
        Some(14.0 * text_scale())
    }
}
