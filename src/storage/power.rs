//! What this machine asks of a program: to spare the battery, and to keep
//! still. Read from where the system says so; where it says nothing, neither.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

/// Where Linux describes batteries and mains adapters.
const SUPPLIES: &str = "/sys/class/power_supply";

/// Whether the machine runs on its battery.
pub fn is_on_battery() -> bool {
    is_on_battery_in(Path::new(SUPPLIES))
}

fn is_on_battery_in(supplies: &Path) -> bool {
    let Ok(entries) = fs::read_dir(supplies) else {
        return false;
    };
    let word = |path: &Path| {
        fs::read_to_string(path)
            .unwrap_or_default()
            .trim()
            .to_owned()
    };
    let is_emptying = |folder: &Path| {
        let is_battery = word(&folder.join("type")) == "Battery";
        // A mouse has a battery too, which says nothing about the machine.
        let is_of_machine = word(&folder.join("scope")) != "Device";
        is_battery && is_of_machine && word(&folder.join("status")) == "Discharging"
    };
    entries.flatten().any(|entry| is_emptying(&entry.path()))
}

/// Whether the keeper has asked the desktop for less motion. May ask another
/// program, so call it from a job.
pub fn wants_less_motion() -> bool {
    let folder = directories::BaseDirs::new().map(|dirs| dirs.config_dir().to_owned());
    folder.is_some_and(|folder| wants_less_motion_in(&folder)) || gnome_wants_less_motion()
}

/// As the settings files of desktops say it.
fn wants_less_motion_in(folder: &Path) -> bool {
    let says = |file: &str, key: &str, values: &[&str]| {
        let text = fs::read_to_string(folder.join(file)).unwrap_or_default();
        text.lines().any(|line| {
            let Some((name, value)) = line.split_once('=') else {
                return false;
            };
            name.trim() == key && values.contains(&value.trim())
        })
    };
    let gtk = |version: &str| {
        let file = format!("gtk-{version}.0/settings.ini");
        says(&file, "gtk-enable-animations", &["0", "false"])
    };
    gtk("3") || gtk("4") || says("kdeglobals", "AnimationDurationFactor", &["0", "0.0"])
}

/// As desktops say it that keep their settings in a database.
fn gnome_wants_less_motion() -> bool {
    if !cfg!(target_os = "linux") {
        return false;
    }
    let asked = Command::new("gsettings")
        .args(["get", "org.gnome.desktop.interface", "enable-animations"])
        .stdin(Stdio::null())
        .stderr(Stdio::null())
        .output();
    asked.is_ok_and(|told| told.stdout.trim_ascii() == b"false")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_battery_that_empties_is_told_from_one_that_does_not() {
        let folder = tempfile::tempdir().expect("a folder");
        assert!(!is_on_battery_in(&folder.path().join("none")), "no folder");
        let put = |name: &str, file: &str, text: &str| {
            let place = folder.path().join(name);
            fs::create_dir_all(&place).expect("made");
            fs::write(place.join(file), format!("{text}\n")).expect("written");
        };
        put("AC", "type", "Mains");
        put("mouse", "type", "Battery");
        put("mouse", "scope", "Device");
        put("mouse", "status", "Discharging");
        put("BAT0", "type", "Battery");
        put("BAT0", "status", "Full");
        assert!(!is_on_battery_in(folder.path()), "full, and a mouse");
        put("BAT0", "status", "Discharging");
        assert!(is_on_battery_in(folder.path()), "emptying");
    }

    #[test]
    fn desktops_say_in_their_files_that_nothing_should_move() {
        for (file, text, wanted) in [
            (
                "gtk-3.0/settings.ini",
                "[Settings]\ngtk-enable-animations = 0\n",
                true,
            ),
            (
                "gtk-4.0/settings.ini",
                "[Settings]\ngtk-enable-animations=false\n",
                true,
            ),
            (
                "gtk-3.0/settings.ini",
                "[Settings]\ngtk-enable-animations=1\n",
                false,
            ),
            ("kdeglobals", "[KDE]\nAnimationDurationFactor=0\n", true),
            ("kdeglobals", "[KDE]\nAnimationDurationFactor=0.5\n", false),
        ] {
            let folder = tempfile::tempdir().expect("a folder");
            let path = folder.path().join(file);
            fs::create_dir_all(path.parent().expect("a folder")).expect("made");
            fs::write(&path, text).expect("written");
            assert_eq!(
                wants_less_motion_in(folder.path()),
                wanted,
                "{file}: {text}"
            );
        }
    }
}
