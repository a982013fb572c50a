//! What a device's callback does: copy between its buffer and a lock-free ring. Nothing here allocates, locks or waits.

use rtrb::{Consumer, Producer};

/// Copies a buffer of interleaved frames into the ring, the channels of each frame averaged. Frames that find no room
/// are dropped: what is heard later matters more than what was missed.
pub fn copy_in<T: Copy>(buffer: &[T], channels: usize, to_f32: impl Fn(T) -> f32, ring: &mut Producer<f32>) {
    let channels = channels.max(1);
    let share = 1.0 / f32::from(u16::try_from(channels).unwrap_or(u16::MAX));
    for frame in buffer.chunks_exact(channels) {
        let sum: f32 = frame.iter().map(|&value| to_f32(value)).sum();
        if ring.push(sum * share).is_err() {
            break;
        }
    }
}

/// Fills a buffer of interleaved frames from the ring, every channel alike; silence where the ring is empty.
pub fn copy_out<T: Copy>(buffer: &mut [T], channels: usize, from_f32: impl Fn(f32) -> T, ring: &mut Consumer<f32>) {
    for frame in buffer.chunks_mut(channels.max(1)) {
        frame.fill(from_f32(ring.pop().unwrap_or(0.0)));
    }
}

#[cfg(test)]
mod tests {
    use rtrb::RingBuffer;

    use super::*;

    #[test]
    fn frames_become_one_channel_and_what_finds_no_room_is_dropped() {
        let (mut write, mut read) = RingBuffer::new(2);
        copy_in(&[0.5_f32, 0.25, -1.0, 0.0, 0.1, 0.1], 2, |value| value, &mut write);
        let taken: Vec<f32> = std::iter::from_fn(|| read.pop().ok()).collect();
        assert_eq!(taken, [0.375, -0.5]);
    }

    #[test]
    fn an_empty_ring_gives_silence_on_every_channel() {
        let (mut write, mut read) = RingBuffer::new(4);
        write.push(0.5).unwrap();
        let mut buffer = [9_i16; 6];
        #[expect(clippy::cast_possible_truncation, reason = "within the format's range")]
        copy_out(&mut buffer, 3, |value| (value * 1000.0) as i16, &mut read);
        assert_eq!(buffer, [500, 500, 500, 0, 0, 0]);
    }
}
