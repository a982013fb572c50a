//! When a string is plucked.

/// A block this many times as strong as all of the blocks compared is a pluck, in power.
const RISE: f64 = 4.0;
/// How many blocks back a pluck is compared with: 60 ms, longer than the period of the lowest string.
const COMPARED_BLOCKS: usize = 12;
/// The length of a block, in seconds.
pub(super) const BLOCK_S: f64 = 0.005;

/// Finds plucks in blocks of 5 ms. A pluck's attack is bright, so it shows first in the differenced sound; the lowest
/// strings in noise show in the sound as it is.
#[derive(Clone, Debug, Default)]
pub(super) struct Onsets {
    differenced: Recent,
    plain: Recent,
}

impl Onsets {
    /// Takes the next block and tells whether a string is plucked in it.
    pub(super) fn is_pluck(&mut self, block: &[f32]) -> bool {
        let differences = block.windows(2).map(|pair| f64::from(pair[1] - pair[0]).powi(2)).sum();
        let squares = block.iter().map(|value| f64::from(*value).powi(2)).sum();
        let is_bright = self.differenced.rises(differences);
        self.plain.rises(squares) || is_bright
    }
}

/// The powers of the latest blocks.
#[derive(Clone, Debug, Default)]
struct Recent {
    powers: [f64; COMPARED_BLOCKS],
    next: usize,
}

impl Recent {
    /// Takes the power of the next block and tells whether it rises over all that are remembered.
    fn rises(&mut self, power: f64) -> bool {
        let loudest = self.powers.iter().fold(0.0_f64, |most, power| most.max(*power));
        self.powers[self.next] = power;
        self.next = (self.next + 1) % COMPARED_BLOCKS;
        power > RISE * loudest
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_pluck_is_found_and_a_steady_tone_is_none() {
        let mut onsets = Onsets::default();
        let mut found = Vec::new();
        for block in 0..60_u16 {
            let level = if block < 30 { 0.1 } else { 0.4 };
            let samples: Vec<f32> = (0..60_u16).map(|n| level * (f32::from(block * 60 + n) * 0.21).sin()).collect();
            if onsets.is_pluck(&samples) {
                found.push(block);
            }
        }
        assert_eq!(found, [0, 30]);
    }

    #[test]
    fn a_low_string_is_found_under_hiss() {
        let mut onsets = Onsets::default();
        let mut found = Vec::new();
        for block in 0..60_u16 {
            let samples: Vec<f32> = (0..60_u16)
                .map(|n| {
                    let low = 0.5 * (f32::from((block * 60 + n).saturating_sub(1800)) * 0.0162).sin();
                    low + if n % 2 == 0 { 0.1 } else { -0.1 }
                })
                .collect();
            if onsets.is_pluck(&samples) {
                found.push(block);
            }
        }
        assert_eq!(found, [0, 30]);
    }
}
