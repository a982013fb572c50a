//! Loudspeaker and microphone for tests: what is fed comes in, what is played can be read.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::device::{DeviceFault, Intake, Outlet, SoundDevice};

/// The rate of both, in samples a second.
const RATE_HZ: u32 = 48_000;
/// How many samples the loudspeaker wants at a time: 10 ms.
const WANTED: usize = 480;

#[derive(Debug, Default)]
struct Room {
    waiting: VecDeque<f32>,
    played: Vec<f32>,
    intake_fault: Option<DeviceFault>,
    outlet_fault: Option<DeviceFault>,
    open_intakes: usize,
    open_outlets: usize,
    opened_intakes: usize,
    broken_intakes: usize,
    opened_outlets: usize,
    broken_outlets: usize,
}

/// A room that a test fills with sound and listens in. Clones are the same room.
#[derive(Clone, Debug, Default)]
pub struct FakeSound {
    room: Arc<Mutex<Room>>,
}

impl FakeSound {
    fn room(&self) -> MutexGuard<'_, Room> {
        self.room.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Lets these samples, at 48 kHz, reach the microphone next. They are lost while it is closed.
    pub fn feed(&self, samples: &[f32]) {
        let mut room = self.room();
        if room.open_intakes > 0 {
            room.waiting.extend(samples);
        }
    }

    /// Returns all that was played so far, and forgets it.
    #[must_use]
    pub fn take_played(&self) -> Vec<f32> {
        std::mem::take(&mut self.room().played)
    }

    /// Makes every opening of the microphone fail so, or work again.
    pub fn set_intake_fault(&self, fault: Option<DeviceFault>) {
        self.room().intake_fault = fault;
    }

    /// Makes every opening of the loudspeaker fail so, or work again.
    pub fn set_outlet_fault(&self, fault: Option<DeviceFault>) {
        self.room().outlet_fault = fault;
    }

    /// Pulls the microphone out: what is open gives no more sound.
    pub fn pull_out(&self) {
        let mut room = self.room();
        room.broken_intakes = room.opened_intakes;
        room.waiting.clear();
    }

    /// Pulls the loudspeaker out: what is open takes no more sound.
    pub fn pull_out_loudspeaker(&self) {
        let mut room = self.room();
        room.broken_outlets = room.opened_outlets;
    }

    /// Tells whether the microphone is open.
    #[must_use]
    pub fn is_listening(&self) -> bool {
        self.room().open_intakes > 0
    }

    /// Tells whether the loudspeaker is open.
    #[must_use]
    pub fn is_sounding(&self) -> bool {
        self.room().open_outlets > 0
    }
}

#[derive(Debug)]
struct FakeIntake {
    sound: FakeSound,
    number: usize,
}

impl Intake for FakeIntake {
    fn rate_hz(&self) -> u32 {
        RATE_HZ
    }

    fn take(&mut self, into: &mut Vec<f32>) -> Result<(), DeviceFault> {
        let mut room = self.sound.room();
        if self.number <= room.broken_intakes {
            return Err(DeviceFault::Lost);
        }
        into.extend(room.waiting.drain(..));
        Ok(())
    }
}

impl Drop for FakeIntake {
    fn drop(&mut self) {
        let mut room = self.sound.room();
        room.open_intakes -= 1;
        room.waiting.clear();
    }
}

#[derive(Debug)]
struct FakeOutlet {
    sound: FakeSound,
    number: usize,
    /// How much of what was handed over is still to be sounded: what was put last, as time passes between two steps.
    held: usize,
}

impl Outlet for FakeOutlet {
    fn rate_hz(&self) -> u32 {
        RATE_HZ
    }

    fn wanted(&self) -> usize {
        WANTED
    }

    fn put(&mut self, samples: &[f32]) -> Result<(), DeviceFault> {
        let mut room = self.sound.room();
        if self.number <= room.broken_outlets {
            return Err(DeviceFault::Lost);
        }
        room.played.extend(samples);
        drop(room);
        self.held = samples.len();
        Ok(())
    }

    fn is_drained(&self) -> bool {
        self.held == 0
    }
}

impl Drop for FakeOutlet {
    fn drop(&mut self) {
        self.sound.room().open_outlets -= 1;
    }
}

impl SoundDevice for FakeSound {
    fn open_intake(&mut self) -> Result<Box<dyn Intake>, DeviceFault> {
        let mut room = self.room();
        if let Some(fault) = room.intake_fault {
            return Err(fault);
        }
        room.open_intakes += 1;
        room.opened_intakes += 1;
        Ok(Box::new(FakeIntake { sound: self.clone(), number: room.opened_intakes }))
    }

    fn open_outlet(&mut self) -> Result<Box<dyn Outlet>, DeviceFault> {
        let mut room = self.room();
        if let Some(fault) = room.outlet_fault {
            return Err(fault);
        }
        room.open_outlets += 1;
        room.opened_outlets += 1;
        Ok(Box::new(FakeOutlet { sound: self.clone(), number: room.opened_outlets, held: 0 }))
    }
}
