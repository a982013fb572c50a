"""Writes one-note MIDI files, and measures the first partial of the sound rendered from them.

The measure is independent of the tracker: one second of the note from 0.15 s after it begins, under a four-term
Blackman-Harris window, padded eightfold; the largest value within 40 cents of the equal-tempered pitch, refined by a
parabola through the logarithms of three bins.
"""

import pathlib
import struct
import sys

import numpy as np

# Name, program, lowest and highest note: E2 to E5 of the first sound font, which files without a prefix are from; E2 to
# E6 of the second.
NOTES = [
    ("nylon", 24, 40, 76),
    ("steel", 25, 40, 76),
    ("second_nylon", 24, 40, 88),
    ("second_steel", 25, 40, 88),
    ("second_harp", 46, 40, 88),
]


def write_notes(folder: pathlib.Path) -> None:
    for name, program, lowest, highest in NOTES:
        for number in range(lowest, highest + 1):
            events = bytes([0, 0xC0, program, 0, 0x90, number, 100, 0x8F, 0x00, 0x80, number, 0, 0, 0xFF, 0x2F, 0])
            header = b"MThd" + struct.pack(">IHHH", 6, 0, 1, 960)
            track = b"MTrk" + struct.pack(">I", len(events)) + events
            (folder / f"{name}_{number}.mid").write_bytes(header + track)


def read(path: pathlib.Path) -> tuple[int, np.ndarray]:
    data = path.read_bytes()
    at, rate, channels, bits, kind, samples = 12, 0, 0, 0, 0, b""
    while at + 8 <= len(data):
        name, size = data[at : at + 4], struct.unpack("<I", data[at + 4 : at + 8])[0]
        body = data[at + 8 : at + 8 + size]
        if name == b"fmt ":
            kind, channels, rate, _, _, bits = struct.unpack("<HHIIHH", body[:16])
        elif name == b"data":
            samples = body
        at += 8 + size + size % 2
    values = np.frombuffer(samples, dtype="<f4") if bits == 32 else np.frombuffer(samples, dtype="<i2") / 32768.0
    return rate, values.reshape(-1, channels).mean(axis=1).astype(float)


def first_partial(path: pathlib.Path, number: int) -> float:
    rate, sound = read(path)
    begins = int(np.argmax(np.abs(sound) > 0.02 * np.abs(sound).max()))
    part = sound[begins + int(0.15 * rate) :][:rate]
    t = 2 * np.pi * np.arange(len(part)) / len(part)
    window = 0.35875 - 0.48829 * np.cos(t) + 0.14128 * np.cos(2 * t) - 0.01168 * np.cos(3 * t)
    size = 8 * len(part)
    power = np.abs(np.fft.rfft(part * window, size))
    near = 440.0 * 2 ** ((number - 69) / 12)
    low, high = (int(near * 2 ** (c / 1200) * size / rate) for c in (-40, 40))
    peak = low + int(np.argmax(power[low : high + 1]))
    left, here, right = np.log(power[peak - 1 : peak + 2])
    return float((peak + 0.5 * (left - right) / (left - 2 * here + right)) * rate / size)


def main() -> None:
    folder = pathlib.Path(sys.argv[2])
    if sys.argv[1] == "notes":
        write_notes(folder)
        return
    print("# First partials of notes rendered by Debian's fluidsynth; see render_samples.sh. From timgm6mb-soundfont, and those")
    print("# named second_ from fluid-soundfont-gm.")
    print("file,program,midi_number,first_partial_hz,cents_from_equal_temperament")
    for name, _, lowest, highest in NOTES:
        for number in range(lowest, highest + 1):
            hz = first_partial(folder / f"{name}_{number}.wav", number)
            cents = 1200 * np.log2(hz / (440.0 * 2 ** ((number - 69) / 12)))
            print(f"{name}_{number}.wav,{name},{number},{hz:.4f},{cents:+.3f}")


main()
