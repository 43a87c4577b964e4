#!/bin/sh
# Every test. Installs the few Debian packages that the window tests need,
# where they are missing (with sudo when not root), then runs `cargo test` with
# the slow checks turned on.
set -eu
cd "$(dirname "$0")/.."

# A C linker to build with; X11 and keyboard libraries, a software graphics
# driver and a display to open the window on; tools that drive and look at it.
packages="gcc libc6-dev libx11-6 libx11-xcb1 libxcursor1 libxi6 libxkbcommon-x11-0
libegl1 libgl1-mesa-dri mesa-vulkan-drivers libdbus-1-3 xvfb xauth xdotool imagemagick"

is_installed() {
    dpkg-query -W -f '${db:Status-Status}' "$1" 2>/dev/null | grep -qx installed
}

install_packages() {
    if ! command -v apt-get >/dev/null || ! command -v dpkg-query >/dev/null; then
        echo "all.sh: no apt here; the window tests need what Debian calls:" $packages
        return
    fi
    missing=""
    for package in $packages; do
        is_installed "$package" || missing="$missing $package"
    done
    [ -n "$missing" ] || return 0
    if [ "$(id -u)" = 0 ]; then
        as_root=""
    elif command -v sudo >/dev/null; then
        as_root="sudo"
    else
        echo "all.sh: not root and no sudo; install these yourself:$missing"
        return
    fi
    echo "all.sh: installing$missing"
    $as_root apt-get update -q
    $as_root env DEBIAN_FRONTEND=noninteractive \
        apt-get install -y -q --no-install-recommends $missing ||
        echo "all.sh: some of these could not be installed; tests that need them will fail:$missing"
}

install_packages
if ! command -v cargo >/dev/null && [ -r "$HOME/.cargo/env" ]; then
    . "$HOME/.cargo/env"
fi
command -v cargo >/dev/null || {
    echo "all.sh: no cargo; install Rust first (DEVELOPERS.md names the version)"
    exit 1
}

# Without a folder of its own the software graphics driver complains.
if [ -z "${XDG_RUNTIME_DIR:-}" ]; then
    XDG_RUNTIME_DIR=$(mktemp -d)
    export XDG_RUNTIME_DIR
    trap 'rm -rf "$XDG_RUNTIME_DIR"' EXIT
fi

if grep -q '^slow-tests' Cargo.toml; then
    cargo test --features slow-tests "$@"
else
    cargo test "$@"
fi

# A real window by mouse and keys. A busy machine may swallow a stroke: a
# second try is allowed.
if command -v Xvfb >/dev/null && command -v xdotool >/dev/null; then
    program="${CARGO_TARGET_DIR:-target}/debug/bommie"
    # The tests have built it, unless only some were asked for.
    [ $# -eq 0 ] || cargo build
    sh tests/window.sh "$program" || PACE=3 sh tests/window.sh "$program"
fi
