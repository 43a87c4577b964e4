//! A remedy as changes of the scene.

use super::Change;
use crate::scene::finding::Remedy;
use crate::scene::{Item, ItemId, Layout};

/// The changes that carry a remedy out; none for one that only shows or seeks
/// something.
pub fn changes_of(remedy: &Remedy, layout: &Layout) -> Vec<Change> {
    let put = |item: Item| Change::Put(Box::new(item));
    match remedy {
        Remedy::AddPump(pump) => vec![Change::Add(Box::new(Item::Pump((**pump).clone())))],
        Remedy::Dim { lamps, factor } => {
            let chosen = layout.lamps.iter().filter(|lamp| lamps.contains(&lamp.id));
            let dimmed = chosen.map(|lamp| {
                let mut lamp = lamp.clone();
                lamp.dim = (lamp.dim * factor).clamp(0.0, 1.0);
                put(Item::Lamp(lamp))
            });
            dimmed.collect()
        }
        Remedy::Throttle { pump, throttle } => on_pump(layout, *pump, |pump| {
            pump.throttle = throttle.clamp(0.0, 1.0);
        }),
        Remedy::Aim {
            pump,
            turn_deg,
            tilt_deg,
        } => on_pump(layout, *pump, |pump| {
            pump.turn_deg = *turn_deg;
            pump.tilt_deg = *tilt_deg;
        }),
        Remedy::Move { item, by_cm } => vec![Change::Shift(vec![*item], *by_cm)],
        Remedy::Remount { coral, mount } => {
            let found = layout.corals.iter().find(|other| other.id == *coral);
            let held = found.map(|coral| {
                let mut coral = coral.clone();
                coral.mount = *mount;
                put(Item::Coral(coral))
            });
            held.into_iter().collect()
        }
        Remedy::Remove(id) => vec![Change::Remove(vec![*id])],
        Remedy::ProposePump
        | Remedy::ShowBerths(_)
        | Remedy::ListCandidates
        | Remedy::Select(_) => Vec::new(),
    }
}

fn on_pump(
    layout: &Layout,
    id: ItemId,
    change: impl FnOnce(&mut crate::scene::Pump),
) -> Vec<Change> {
    let found = layout.pumps.iter().find(|pump| pump.id == id);
    let changed = found.map(|pump| {
        let mut pump = pump.clone();
        change(&mut pump);
        Change::Put(Box::new(Item::Pump(pump)))
    });
    changed.into_iter().collect()
}
