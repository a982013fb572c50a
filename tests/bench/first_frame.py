#!/usr/bin/python3
"""Times the desktop program from its start to the first frame on the screen, and what it holds and does then.

Usage: first_frame.py PROGRAM [RUNS]     wants an X display (`./dev first-frame` gives it a virtual one)

For each run the program is started with an empty data folder and its window is looked at every millisecond until a
point of the strip on top shows the strip's colour. Printed are the median and the slowest of the runs, the resident
memory two seconds later, and the processor time used in three seconds of doing nothing.
"""
import os
import statistics
import subprocess
import sys
import tempfile
import time

from Xlib import X, display, error


def windows(top):
    """Every window below `top`."""
    for child in top.query_tree().children:
        yield child
        yield from windows(child)


def is_drawn(top):
    """Whether a window of the program's size shows anything but one flat colour down its left edge."""
    for window in windows(top):
        try:
            size = window.get_geometry()
            if size.width < 300 or size.height < 500:
                continue
            edge = window.get_image(4, 4, 1, 400, X.ZPixmap, 0xFFFFFF).data
        except error.XError:
            continue
        points = {edge[at:at + 3] for at in range(0, len(edge) - 3, 4)}
        if len(points) > 1:
            return True
    return False


def processor_seconds(pid):
    """User and system time of a process, in seconds."""
    with open(f"/proc/{pid}/stat", encoding="ascii") as stat:
        fields = stat.read().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def resident_mb(pid):
    """What a process holds in memory, in MB of 1024 × 1024 bytes."""
    with open(f"/proc/{pid}/status", encoding="ascii") as status:
        kilobytes = next(line for line in status if line.startswith("VmRSS"))
    return int(kilobytes.split()[1]) / 1024


def run(program):
    """Starts the program once and returns the four figures of a run."""
    with tempfile.TemporaryDirectory() as home:
        environment = dict(os.environ, HOME=home, XDG_DATA_HOME=home)
        environment.pop("WAYLAND_DISPLAY", None)
        top = display.Display().screen().root
        begun = time.monotonic()
        process = subprocess.Popen([program], env=environment)
        try:
            while not is_drawn(top):
                if time.monotonic() - begun > 30 or process.poll() is not None:
                    sys.exit("no window was drawn")
                time.sleep(0.001)
            shown = time.monotonic() - begun
            until_shown = processor_seconds(process.pid)
            time.sleep(2)
            held = resident_mb(process.pid)
            before = processor_seconds(process.pid)
            time.sleep(3)
            idle = processor_seconds(process.pid) - before
        finally:
            process.kill()
            process.wait()
    return shown, until_shown, held, idle


def main():
    program = sys.argv[1]
    runs = [run(program) for _ in range(int(sys.argv[2]) if len(sys.argv) > 2 else 11)]
    shown, used, held, idle = zip(*runs)
    print(f"first frame: median {1000 * statistics.median(shown):.0f} ms, slowest {1000 * max(shown):.0f} ms"
          f" ({len(runs)} runs); processor time until then {1000 * statistics.median(used):.0f} ms")
    print(f"resident memory: {max(held):.1f} MB; idle for 3 s: {1000 * max(idle):.0f} ms of processor time")


if __name__ == "__main__":
    main()
