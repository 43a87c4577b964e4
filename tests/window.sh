#!/bin/sh
# A real window, by mouse and keys: draws a tank from nothing (two rocks, one
# with an opening, a pump, a lamp), saves it, and checks the file.
# Needs Xvfb and xdotool; takes the program as its argument. Counts each key,
# word, click and stroke as one action; more than 60 fail.
set -eu
program=$1
work=$(mktemp -d)
display=":$((80 + $$ % 100))"
export DISPLAY="$display" HOME="$work" XDG_RUNTIME_DIR="$work" DBUS_SESSION_BUS_ADDRESS=unix:path=/nonexistent
Xvfb "$display" -screen 0 1440x900x24 -nolisten tcp >/dev/null 2>&1 &
server=$!
trap 'kill $window $server 2>/dev/null || true; rm -rf "$work"' EXIT
window=
sleep 2
"$program" >"$work/log" 2>&1 &
window=$!
id=$(timeout 60 xdotool search --sync --onlyvisible --name Bommie | head -1)
xdotool windowmove "$id" 0 0 windowsize "$id" 1440 900
sleep 3
timeout 10 xdotool windowfocus "$id"
sleep 1

n_actions=0
count() { n_actions=$((n_actions + 1)); }
# Between actions, in seconds: a busy machine needs more.
pace=${PACE:-1.5}
key() { count; xdotool key "$1"; sleep "$pace"; }
words() { count; xdotool type --delay 60 "$1"; sleep "$pace"; }
click() { count; xdotool mousemove "$1" "$2"; sleep "$pace"; xdotool click 1; sleep "$pace"; }
# A stroke through the points given as x y x y …, closed.
stroke() {
    count
    first_x=$1 first_y=$2
    xdotool mousemove "$1" "$2"; sleep 0.3
    xdotool mousedown 1; sleep 0.4
    while [ $# -ge 2 ]; do
        xdotool mousemove "$1" "$2"; sleep 0.3
        shift 2
    done
    xdotool mousemove "$first_x" "$first_y"; sleep 0.2
    xdotool mouseup 1; sleep "$pace"
}
key ctrl+n
click 504 605
sleep 1
# A rock from above, then a hole through it from the front.
key r
stroke 190 170 230 140 290 140 320 180 300 220 240 235 200 210
key o
stroke 230 719 232 698 250 684 268 698 270 719
# A second one, and what a tank needs beside rock.
key Escape
key r
stroke 400 150 450 145 470 185 440 220 400 205
key Escape
key p
# The lamp comes from the shelf.
click 40 430
# Undo and redo, and the light.
key ctrl+z
key ctrl+shift+z
key 2
key ctrl+shift+s
sleep 2
key ctrl+a
words "$work/drawn.ron"
key Return
sleep 2
echo "$n_actions actions"
if [ ! -f "$work/drawn.ron" ]; then
    echo "nothing was saved"
    tail -5 "$work/log"
    exit 1
fi
"$program" check "$work/drawn.ron"
grep -q "openings: \[\[\|openings: \[$" "$work/drawn.ron" || { echo "no opening was cut"; exit 1; }
for thing in "new reef" "plan:" "openings:" "Propeller" "Panel"; do
    grep -q "$thing" "$work/drawn.ron" || { echo "the file has no $thing"; exit 1; }
done
[ "$(grep -c "plan:" "$work/drawn.ron")" -ge 2 ] || { echo "fewer than two rocks"; exit 1; }
[ "$n_actions" -le 60 ] || { echo "more than 60 actions"; exit 1; }
echo "drawn, saved and sound"
