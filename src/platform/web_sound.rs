//! Loudspeaker and microphone through the browser (`ui/web/sound.js`): audio worklets of our own, whose blocks come and go as
//! messages. cpal's browser host has no microphone, and sounds from the page's thread.

use wasm_bindgen::prelude::wasm_bindgen;

use super::device::{DeviceFault, Intake, Outlet, SoundDevice};

#[wasm_bindgen(raw_module = "./sound.js")]
extern "C" {
    /// Samples a second, of both.
    #[wasm_bindgen(js_name = rateHz)]
    fn rate_hz() -> u32;
    /// 0, or why it cannot be opened: see [`fault`].
    #[wasm_bindgen(js_name = openIntake)]
    fn open_intake() -> u8;
    #[wasm_bindgen(js_name = takeIn)]
    fn take_in() -> Vec<f32>;
    #[wasm_bindgen(js_name = intakeFault)]
    fn intake_fault() -> u8;
    #[wasm_bindgen(js_name = closeIntake)]
    fn close_intake();
    #[wasm_bindgen(js_name = openOutlet)]
    fn open_outlet() -> u8;
    fn wanted() -> usize;
    #[wasm_bindgen(js_name = putOut)]
    fn put_out(samples: &[f32]);
    #[wasm_bindgen(js_name = outletFault)]
    fn outlet_fault() -> u8;
    #[wasm_bindgen(js_name = isDrained)]
    fn is_drained() -> bool;
    #[wasm_bindgen(js_name = closeOutlet)]
    fn close_outlet();
}

/// What the numbers of `ui/web/sound.js` mean.
const fn fault(number: u8) -> Result<(), DeviceFault> {
    match number {
        0 => Ok(()),
        1 => Err(DeviceFault::Denied),
        2 => Err(DeviceFault::Busy),
        3 => Err(DeviceFault::Lost),
        4 => Err(DeviceFault::NoInput),
        5 => Err(DeviceFault::NoOutput),
        _ => Err(DeviceFault::NotSupported),
    }
}

/// The page's loudspeaker and microphone: there is one of each.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct BrowserSound;

#[derive(Debug)]
struct BrowserIntake;

#[derive(Debug)]
struct BrowserOutlet;

impl SoundDevice for BrowserSound {
    fn open_intake(&mut self) -> Result<Box<dyn Intake>, DeviceFault> {
        fault(open_intake())?;
        Ok(Box::new(BrowserIntake))
    }

    fn open_outlet(&mut self) -> Result<Box<dyn Outlet>, DeviceFault> {
        fault(open_outlet())?;
        Ok(Box::new(BrowserOutlet))
    }
}

impl Intake for BrowserIntake {
    fn rate_hz(&self) -> u32 {
        rate_hz()
    }

    fn take(&mut self, into: &mut Vec<f32>) -> Result<(), DeviceFault> {
        into.extend(take_in());
        fault(intake_fault())
    }
}

impl Drop for BrowserIntake {
    fn drop(&mut self) {
        close_intake();
    }
}

impl Outlet for BrowserOutlet {
    fn rate_hz(&self) -> u32 {
        rate_hz()
    }

    fn wanted(&self) -> usize {
        wanted()
    }

    fn put(&mut self, samples: &[f32]) -> Result<(), DeviceFault> {
        if !samples.is_empty() {
            put_out(samples);
        }
        fault(outlet_fault())
    }

    fn is_drained(&self) -> bool {
        is_drained()
    }
}

impl Drop for BrowserOutlet {
    fn drop(&mut self) {
        close_outlet();
    }
}
