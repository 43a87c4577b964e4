//! Everything that is wrong with a scene, found at once.
//!
//! A scene without errors can be solved; one with warnings too, but the answer
//! may surprise. Limits are those of [`limits`] and `scenes/FORMAT.md`.

mod gear;
mod issue;
pub mod limits;
mod living;
mod rocks;
mod tank;
mod underlays;

pub use issue::{Issue, IssueSeverity, Subject};
pub use limits::Limit;

use std::collections::{BTreeMap, BTreeSet};

use glam::DVec3;

use crate::geometry::Rockwork;
use crate::scene::{FORMAT, ItemId, Layout, Scene, Tank, solids};
use crate::units::M_PER_CM;
use issue::{Examiner, Fault};

/// All issues of `scene`, in the order of the file.
pub fn check(scene: &Scene) -> Vec<Issue> {
    let mut issues = Vec::new();
    let what = Subject {
        what: "scene",
        name: scene.name.clone(),
        ..Subject::default()
    };
    let mut on_scene = Examiner::new(&mut issues, what, String::new());
    if scene.format != FORMAT {
        on_scene.error(Fault {
            field: "format",
            value: scene.format.to_string(),
            limit: format!("{FORMAT}, the format of this program"),
            way_out: "open the file with the program that wrote it",
        });
    }
    on_scene.short("name", &scene.name);
    if scene.layouts.is_empty() {
        on_scene.error(Fault {
            field: "layouts",
            value: "empty".to_owned(),
            limit: "at least one layout".to_owned(),
            way_out: "add one, as (name: \"first\")",
        });
    }
    let few_layouts = on_scene.count("layouts", scene.layouts.len(), limits::LAYOUTS_MAX);
    let rocks = scene.layouts.iter().flat_map(|layout| &layout.rocks);
    let n_points: usize = rocks.map(rocks::n_points).sum();
    let few_points = n_points <= limits::SCENE_POINTS_MAX;
    if !few_points {
        on_scene.error(Fault {
            field: "layouts",
            value: format!("a list whose rocks have {n_points} outline points"),
            limit: format!("at most {} points in all", limits::SCENE_POINTS_MAX),
            way_out: "leave out points that lie close together, or split the scene",
        });
    }
    let rocks = scene.layouts.iter().flat_map(|layout| &layout.rocks);
    let n_nodes: usize = rocks.map(rocks::n_nodes).sum();
    if n_nodes > limits::SCENE_NODES_MAX {
        on_scene.error(Fault {
            field: "layouts",
            value: format!("a list whose scanned rocks have {n_nodes} nodes"),
            limit: format!("at most {} nodes in all", limits::SCENE_NODES_MAX),
            way_out: "leave out scanned rocks, or split the scene",
        });
    }
    let tank_is_sound = tank::check(&scene.tank, &mut issues);
    let n_looked_at = if few_layouts && few_points {
        scene.layouts.len()
    } else {
        0
    };
    let mut names = BTreeSet::new();
    for (layout_idx, layout) in scene.layouts.iter().enumerate().take(n_looked_at) {
        let place = LayoutPlace {
            layout,
            layout_idx,
            tank: &scene.tank,
            tank_is_sound,
        };
        check_name(&place, names.insert(layout.name.as_str()), &mut issues);
        check_layout(&place, &mut issues);
    }
    living::check_readings(scene, &mut issues);
    living::check_animals(scene, &mut issues);
    underlays::check(scene, &mut issues);
    issues
}

/// Whether any of `issues` keeps the scene from being used.
pub fn has_errors(issues: &[Issue]) -> bool {
    issues
        .iter()
        .any(|issue| issue.severity == IssueSeverity::Error)
}

/// A layout with what its items must fit into.
struct LayoutPlace<'a> {
    layout: &'a Layout,
    layout_idx: usize,
    tank: &'a Tank,
    /// Whether the tank's measures can be compared with.
    tank_is_sound: bool,
}

impl LayoutPlace<'_> {
    fn subject(&self, what: &'static str, name: &str, id: ItemId) -> Subject {
        Subject {
            what,
            name: name.to_owned(),
            id: Some(id),
            layout: Some(self.layout.name.clone()),
        }
    }

    fn path(&self, list: &str, item_idx: usize) -> String {
        format!("layouts[{}].{list}[{item_idx}]", self.layout_idx)
    }

    /// Whether a place is in the water, between sand and surface; unknown
    /// (taken as yes) in a tank without sound measures.
    fn in_water(&self, at_cm: DVec3) -> bool {
        let (low, high) = water_box_cm(self.tank);
        !self.tank_is_sound || (at_cm.cmpge(low).all() && at_cm.cmple(high).all())
    }

    /// Adds an issue unless `at_cm` is finite and in the water; returns whether
    /// it is. A place near the tank is a warning: the scene can be used, and
    /// what lies outside is left out.
    fn place_in_water(&self, at_cm: DVec3, way_out: &str, on: &mut Examiner<'_>) -> bool {
        if at_cm.is_finite() && self.in_water(at_cm) {
            return true;
        }
        let fault = Fault {
            field: "at_cm",
            value: place_text(at_cm),
            limit: water_box_text(self.tank),
            way_out,
        };
        let far = limits::TANK_SIZE.max;
        if at_cm.is_finite() && at_cm.abs().max_element() <= far {
            on.warn(fault);
        } else {
            on.error(fault);
        }
        false
    }
}

fn check_name(place: &LayoutPlace<'_>, is_new: bool, issues: &mut Vec<Issue>) {
    let name = &place.layout.name;
    let item = Subject {
        what: "layout",
        name: name.clone(),
        ..Subject::default()
    };
    let mut on = Examiner::new(issues, item, format!("layouts[{}]", place.layout_idx));
    on.short("name", name);
    if name.trim().is_empty() {
        on.error(Fault {
            field: "name",
            value: "empty".to_owned(),
            limit: "a name".to_owned(),
            way_out: "name it; commands and readings refer to it",
        });
    } else if !is_new {
        on.error(Fault {
            field: "name",
            value: format!("{name:?} a second time"),
            limit: "a name that no other layout has".to_owned(),
            way_out: "rename one of the two",
        });
    }
}

fn check_layout(place: &LayoutPlace<'_>, issues: &mut Vec<Issue>) {
    let layout = place.layout;
    let item = Subject {
        what: "layout",
        name: layout.name.clone(),
        ..Subject::default()
    };
    let mut on = Examiner::new(issues, item, format!("layouts[{}]", place.layout_idx));
    let counts = [
        ("rocks", layout.rocks.len()),
        ("pumps", layout.pumps.len()),
        ("lamps", layout.lamps.len()),
        ("corals", layout.corals.len()),
    ];
    let fit = counts
        .iter()
        .filter(|(list, n)| on.count(list, *n, limits::ITEMS_MAX));
    if fit.count() < counts.len() {
        return;
    }
    check_ids(place, issues);
    let rocks_are_sound = rocks::check(place, issues);
    let rockwork = if rocks_are_sound {
        solids::rockwork(layout)
    } else {
        Rockwork::default()
    };
    gear::check_pumps(place, &rockwork, issues);
    gear::check_lamps(place, issues);
    living::check_corals(place, &rockwork, issues);
}

fn check_ids(place: &LayoutPlace<'_>, issues: &mut Vec<Issue>) {
    let layout = place.layout;
    let rocks = layout
        .rocks
        .iter()
        .enumerate()
        .map(|(i, x)| ("rock", "rocks", i, x.id, &x.name));
    let pumps = layout
        .pumps
        .iter()
        .enumerate()
        .map(|(i, x)| ("pump", "pumps", i, x.id, &x.name));
    let lamps = layout
        .lamps
        .iter()
        .enumerate()
        .map(|(i, x)| ("lamp", "lamps", i, x.id, &x.name));
    let corals = layout
        .corals
        .iter()
        .enumerate()
        .map(|(i, x)| ("coral", "corals", i, x.id, &x.name));
    let mut owners: BTreeMap<ItemId, Subject> = BTreeMap::new();
    for (what, list, idx, id, name) in rocks.chain(pumps).chain(lamps).chain(corals) {
        let item = place.subject(what, name, id);
        let mut on = Examiner::new(issues, item.clone(), place.path(list, idx));
        on.short("name", name);
        if let Some(owner) = owners.get(&id) {
            let name = if owner.name.is_empty() {
                String::new()
            } else {
                format!(" {:?}", owner.name)
            };
            on.error(Fault {
                field: "id",
                value: format!("{id}, which {}{name} has already", owner.what),
                limit: "a number that nothing else in the layout has".to_owned(),
                way_out: &format!("{} is free", layout.free_id_below_max()),
            });
        } else {
            owners.insert(id, item);
        }
    }
}

impl Layout {
    /// A small id that no item has, for advice.
    fn free_id_below_max(&self) -> ItemId {
        let used: BTreeSet<_> = self.ids().collect();
        (1..=ItemId::MAX).find(|id| !used.contains(id)).unwrap_or(0)
    }
}

fn water_box_cm(tank: &Tank) -> (DVec3, DVec3) {
    (
        DVec3::new(0.0, 0.0, tank.sand.depth_cm),
        DVec3::new(tank.length_cm, tank.width_cm, tank.water_cm),
    )
}

fn water_box_text(tank: &Tank) -> String {
    let (low, high) = water_box_cm(tank);
    format!(
        "in the water (x 0 to {}, y 0 to {}, z {} to {} cm)",
        high.x, high.y, low.z, high.z
    )
}

fn place_text(at_cm: DVec3) -> String {
    format!("({}, {}, {}) cm", at_cm.x, at_cm.y, at_cm.z)
}

/// Name or number of the rock that holds a place, if one does.
fn rock_around(layout: &Layout, rockwork: &Rockwork, at_cm: DVec3) -> Option<String> {
    let (distance_m, rock_idx) = rockwork.nearest(at_cm * M_PER_CM)?;
    let rock = layout.rocks.get(rock_idx)?;
    (distance_m < 0.0).then(|| rock_text(&rock.name, rock.id))
}

fn rock_text(name: &str, id: ItemId) -> String {
    if name.is_empty() {
        format!("rock {id}")
    } else {
        format!("rock {name:?}")
    }
}
