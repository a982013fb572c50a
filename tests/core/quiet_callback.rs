//! The sound device's callback allocates nothing: what it calls is run under a counting allocator.

use std::alloc::{GlobalAlloc, Layout, System};
use std::cell::Cell;

use pegwise::platform::{copy_in, copy_out};

thread_local! {
    static ALLOCATED: Cell<u64> = const { Cell::new(0) };
}

/// The system's allocator, counting the calls of each thread.
struct Counting;

// SAFETY: every call goes on to the system's allocator unchanged; the counter beside it is a plain number of this thread.
#[allow(unsafe_code, reason = "an allocator is unsafe by its interface; a test needs one to count")]
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        // A thread that is ending has no counter left.
        let _ = ALLOCATED.try_with(|count| count.set(count.get() + 1));
        // SAFETY: the caller keeps the contract of `alloc`, which is the same there.
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, place: *mut u8, layout: Layout) {
        // Giving back may wait for a lock as taking does.
        let _ = ALLOCATED.try_with(|count| count.set(count.get() + 1));
        // SAFETY: `place` came from `alloc` above, that is from the system.
        unsafe { System.dealloc(place, layout) }
    }
}

#[global_allocator]
static ALLOCATOR: Counting = Counting;

/// Returns how often memory was taken or given back during `work` on this thread.
fn allocations(work: impl FnOnce()) -> u64 {
    let before = ALLOCATED.with(Cell::get);
    work();
    ALLOCATED.with(Cell::get) - before
}

#[test]
fn the_counter_counts() {
    assert_eq!(allocations(|| drop(std::hint::black_box(Box::new(7_u8)))), 2);
    assert_eq!(allocations(|| ()), 0);
}

#[test]
fn the_microphones_callback_allocates_nothing_even_when_the_ring_is_full() {
    let (mut write, mut read) = rtrb::RingBuffer::new(4800);
    let floats = vec![0.25_f32; 2 * 960];
    let integers = vec![1000_i16; 960];
    let counted = allocations(|| {
        for _ in 0..20 {
            copy_in(&floats, 2, |value| value, &mut write);
            copy_in(&integers, 1, |value| f32::from(value) / 32_768.0, &mut write);
        }
    });
    assert_eq!(counted, 0);
    assert_eq!(read.slots(), 4800, "the ring is full");
    assert_eq!(read.pop(), Ok(0.25));
}

#[test]
fn the_loudspeakers_callback_allocates_nothing_even_when_the_ring_is_empty() {
    let (mut write, mut read) = rtrb::RingBuffer::new(4800);
    for _ in 0..480 {
        write.push(0.5_f32).unwrap();
    }
    let mut floats = vec![1.0_f32; 2 * 960];
    let counted = allocations(|| {
        for _ in 0..20 {
            copy_out(&mut floats, 2, |value| value, &mut read);
        }
    });
    assert_eq!(counted, 0);
    assert_eq!(floats[0], 0.0, "silence after the last sample");
}
