#!/bin/sh
# Renders plucked samples, one note a file, and measures their first partials.
# Needs Debian's fluidsynth, timgm6mb-soundfont, fluid-soundfont-gm and python3-numpy. The samples stay in target/, only the numbers are kept:
#   tests/assets/render_samples.sh            (writes target/rendered_samples/*.wav and tests/assets/rendered_samples.csv)
set -eu
root=$(cd "$(dirname "$0")/../.." && pwd)
out="$root/target/rendered_samples"
mkdir -p "$out"
/usr/bin/python3 "$root/tests/assets/measure_samples.py" notes "$out"
for notes in "$out"/*.mid; do
    case "$notes" in
    */second_*) font=FluidR3_GM.sf2 ;;
    *) font=TimGM6mb.sf2 ;;
    esac
    fluidsynth -ni -q -R 0 -C 0 -g 0.5 -r 44100 -O float -T wav -F "${notes%.mid}.wav" \
        "/usr/share/sounds/sf2/$font" "$notes"
done
/usr/bin/python3 "$root/tests/assets/measure_samples.py" measure "$out" > "$root/tests/assets/rendered_samples.csv"
