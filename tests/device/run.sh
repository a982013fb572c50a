#!/usr/bin/env bash
# Sounds and listens through the system's own way to sound, without any hardware: a PulseAudio of our own with two empty
# outputs, reached by ALSA's plugin as on a desktop. Four runs: calm, on a busy machine, held still for a second, and
# listening to a file that another program plays. Leaves the machine's own sound alone; what it starts it also ends.
#   tests/device/run.sh        (wants pulseaudio, pulseaudio-utils and libasound2-plugins; ./dev devices installs them)
set -euo pipefail
cd "$(dirname "$0")/../.."

tests="$(nice cargo test --quiet --no-default-features --features audio --test core --no-run --message-format=json |
    sed -n 's/.*"executable":"\([^"]*\)".*/\1/p' | tail -n 1)"

room="$(mktemp -d)"
started=()
leave() {
    for pid in "${started[@]}"; do kill "$pid" 2>/dev/null || true; done
    wait 2>/dev/null || true
    rm -rf "$room"
}
trap leave EXIT

mkdir -m 700 "$room/run"
export HOME="$room" XDG_RUNTIME_DIR="$room/run" PULSE_RUNTIME_PATH="$room/run/pulse" PULSE_STATE_PATH="$room/state"
export PULSE_SERVER="unix:$room/socket"
unset DBUS_SESSION_BUS_ADDRESS DISPLAY
printf 'pcm.!default { type pulse }\nctl.!default { type pulse }\n' >"$room/.asoundrc"
# Without rewinding an empty output takes sound as steadily as a real one; with it, in lumps of two seconds.
pulseaudio -n --daemonize=no --exit-idle-time=-1 --use-pid-file=no --log-level=error \
    -L "module-native-protocol-unix auth-anonymous=1 socket=$room/socket" \
    -L "module-null-sink sink_name=out rate=48000 norewinds=1" \
    -L "module-null-sink sink_name=in rate=48000 norewinds=1" 2>/dev/null &
started+=($!)
for _ in $(seq 50); do
    pactl info >/dev/null 2>&1 && break
    sleep 0.1
done
pactl set-default-sink out
pactl set-default-source in.monitor

ask() { "$tests" --ignored --exact "devices::$1" >"$room/said" 2>&1 || { cat "$room/said"; return 1; }; }

# record COMMAND …: what reaches the output while the command runs, into recording.wav.
record() {
    parec --device=out.monitor --latency-msec=50 --format=s16le --rate=48000 --channels=1 --file-format=wav \
        "$room/recording.wav" &
    local recorder=$!
    started+=("$recorder")
    sleep 1
    "$@"
    sleep 0.5
    kill "$recorder"
    wait "$recorder" 2>/dev/null || true
}

busy() {
    for _ in 1 2 3 4; do timeout 15 sh -c 'while :; do :; done' & done
    ask a_string_is_sounded_to_its_end
}

held() {
    ask a_string_is_sounded_to_its_end &
    local run=$! sounding
    sleep 3
    sounding="$(pgrep -n -f "^$tests")"
    kill -STOP "$sounding"
    sleep 1
    kill -CONT "$sounding"
    wait "$run"
}

export PEGWISE_RECORDING="$room/recording.wav"
record ask a_string_is_sounded_to_its_end
ask the_recording_is_one_whole_string
echo "calm: whole"
record busy
ask the_recording_is_one_whole_string
echo "four busy loops beside: whole"
held
echo "held still for a second: sounded to its end"
(sleep 1 && paplay --device=in "$room/recording.wav") &
ask a_string_played_by_another_program_is_heard
wait $!
echo "listening: heard"
