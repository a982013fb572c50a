//! How long a click takes from the loudspeaker to the microphone.

use crate::theory::Hertz;

use super::samples::{SampleRate, real};

/// The longest way that is looked for, in seconds: a phone's slowest (Bluetooth apart) stays below it, from memory.
const LONGEST_S: f64 = 0.4;
/// How finely, in seconds.
const STEP_S: f64 = 0.0025;
/// The stretch whose power is compared, in seconds, and how much earlier the stretch before it lies.
const STRETCH_S: f64 = 0.012;
const BEFORE_S: f64 = 0.015;
/// A click is heard where the power at its pitch rises by this much, in dB: noise does so at one place in sixty, and hardly
/// ever at the same for most clicks.
const RISE_DB: f64 = 18.0;

/// Returns how late clicks are heard in a recording, in seconds, 0 to 0.4: where the power at the pitch of each rises most
/// after its time, in the middle of all. `None` where they are not heard, as with headphones.
///
/// `clicks`: when each was sent, in seconds from the beginning of `samples`, and its pitch.
#[must_use]
pub fn find_delay(samples: &[f32], rate: SampleRate, clicks: &[(f64, Hertz)]) -> Option<f64> {
    let steps = (LONGEST_S / STEP_S).round();
    let lags = (0_u32..).map(|step| f64::from(step) * STEP_S).take_while(|lag| *lag <= steps * STEP_S);
    let rise = |lag: f64| {
        let mut rises: Vec<f64> = clicks
            .iter()
            .filter_map(|&(at_s, pitch)| {
                let now = power(samples, rate, at_s + lag, pitch)?;
                let before = power(samples, rate, at_s + lag - BEFORE_S, pitch)?;
                Some(10.0 * (now / before.max(f64::MIN_POSITIVE)).log10())
            })
            .collect();
        rises.sort_by(f64::total_cmp);
        // Most of them: of four the second lowest.
        rises.get(rises.len().saturating_sub(1) / 2).copied().filter(|_| rises.len() > 1)
    };
    let risen = lags.filter_map(|lag| Some((lag, rise(lag)?)));
    let (lag, most) = risen.max_by(|one, other| one.1.total_cmp(&other.1).then(other.0.total_cmp(&one.0)))?;
    (most >= RISE_DB).then_some(lag)
}

/// The power at a pitch in a stretch that begins there, by one term of a Fourier sum under a raised cosine; `None` beyond
/// the recording.
fn power(samples: &[f32], rate: SampleRate, from_s: f64, pitch: Hertz) -> Option<f64> {
    let length = rate.samples_in(STRETCH_S);
    let from = rate.samples_in(from_s);
    let stretch = samples.get(from..from + length).filter(|_| from_s >= 0.0)?;
    let turn = std::f64::consts::TAU * pitch.get() / rate.per_s();
    let bell = std::f64::consts::TAU / real(length);
    let (mut real_part, mut imaginary) = (0.0, 0.0);
    for (index, sample) in stretch.iter().enumerate() {
        let value = f64::from(*sample) * (1.0 - (bell * real(index)).cos());
        let angle = turn * real(index);
        real_part += value * angle.cos();
        imaginary += value * angle.sin();
    }
    Some(real_part.mul_add(real_part, imaginary * imaginary))
}
