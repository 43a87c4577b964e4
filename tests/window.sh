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
# Tries a thing until it succeeds, for a minute at most: a busy machine may need
# some of that, an idle one none.
wait_for() {
    what=$1
    shift
    tries=240
    until "$@"; do
        tries=$((tries - 1))
        [ "$tries" -gt 0 ] || { echo "waited in vain for $what"; tail -5 "$work/log"; exit 1; }
        sleep 0.25
    done
}
wait_for "the display" xdotool getdisplaygeometry >/dev/null 2>&1
"$program" >"$work/log" 2>&1 &
window=$!
id=$(timeout 60 xdotool search --sync --onlyvisible --name Bommie | head -1)
xdotool windowmove "$id" 0 0 windowsize "$id" 1440 900
timeout 10 xdotool windowfocus "$id"

n_actions=0
count() { n_actions=$((n_actions + 1)); }
# Between actions, in seconds.
pace=${PACE:-0.3}
key() { count; xdotool key "$1"; sleep "$pace"; }
words() { count; xdotool type --delay 60 "$1"; sleep "$pace"; }
click() { count; xdotool mousemove "$1" "$2"; sleep "$pace"; xdotool click 1; sleep "$pace"; }
# A stroke through the points given as x y x y …, closed. Each point needs a
# frame of its own to be seen.
stroke() {
    count
    first_x=$1 first_y=$2
    xdotool mousemove "$1" "$2"; sleep "$pace"
    xdotool mousedown 1; sleep "$pace"
    while [ $# -ge 2 ]; do
        xdotool mousemove "$1" "$2"; sleep "$pace"
        shift 2
    done
    xdotool mousemove "$first_x" "$first_y"; sleep "$pace"
    xdotool mouseup 1; sleep "$pace"
}
is_titled() { xdotool getwindowname "$id" | grep -q "$1"; }
# Whether the program keeps a word at least so often in what is unsaved: it does
# so a moment after each change.
keeps() {
    kept=$(cat "$work"/.local/share/bommie/work-*.ron 2>/dev/null | grep -c "$1") || true
    [ "$kept" -ge "$2" ]
}
starts_anew() {
    key ctrl+n
    click 504 605
    is_titled "new reef"
}
wait_for "an empty tank" starts_anew
n_actions=2
# A rock from above, then a hole through it from the front.
key r
stroke 190 170 230 140 290 140 320 180 300 220 240 235 200 210
wait_for "a rock" keeps "plan:" 1
key o
stroke 230 719 232 698 250 684 268 698 270 719
wait_for "an opening" keeps 'openings: \[\[\|openings: \[$' 1
# A second one, and what a tank needs beside rock.
key Escape
key r
stroke 400 150 450 145 470 185 440 220 400 205
wait_for "a second rock" keeps "plan:" 2
key Escape
key p
wait_for "a pump" keeps "Propeller" 1
# The lamp comes from the shelf.
click 40 430
wait_for "a lamp" keeps "Panel" 1
# Undo and redo, and the light.
key ctrl+z
key ctrl+shift+z
key 2
key ctrl+shift+s
key ctrl+a
words "$work/drawn.ron"
key Return
wait_for "the file" test -f "$work/drawn.ron"
echo "$n_actions actions"
"$program" check "$work/drawn.ron"
grep -q "openings: \[\[\|openings: \[$" "$work/drawn.ron" || { echo "no opening was cut"; exit 1; }
for thing in "new reef" "plan:" "openings:" "Propeller" "Panel"; do
    grep -q "$thing" "$work/drawn.ron" || { echo "the file has no $thing"; exit 1; }
done
[ "$(grep -c "plan:" "$work/drawn.ron")" -ge 2 ] || { echo "fewer than two rocks"; exit 1; }
[ "$n_actions" -le 60 ] || { echo "more than 60 actions"; exit 1; }
echo "drawn, saved and sound"
