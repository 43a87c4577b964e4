//! Photos under the views.

use super::issue::{Examiner, Fault, Subject};
use super::{Issue, limits};
use crate::geometry::photo::homography;
use crate::scene::{PhotoView, Scene, Underlay};

/// Least height of a pane between its corners, in cm.
const PANE_LEAST_CM: f64 = 1.0;

/// Checks the photos.
pub(super) fn check(scene: &Scene, issues: &mut Vec<Issue>) {
    let mut seen: Vec<PhotoView> = Vec::new();
    for (idx, photo) in scene.underlays.iter().enumerate() {
        let item = Subject {
            what: "underlay",
            name: photo.file.clone(),
            ..Subject::default()
        };
        let mut on = Examiner::new(issues, item, format!("underlays[{idx}]"));
        if seen.contains(&photo.view) {
            on.error(Fault {
                field: "view",
                value: format!("{:?} a second time", photo.view),
                limit: "one photo a view".to_owned(),
                way_out: "leave one of the two out",
            });
            // A hostile list may be long; what is wrong with it is said.
            return;
        }
        seen.push(photo.view);
        check_one(photo, &mut on);
    }
}

fn check_one(photo: &Underlay, on: &mut Examiner<'_>) {
    let way_out = "copy the picture into the scene's folder and give its name alone";
    on.beside("file", &photo.file, way_out);
    let names = ["lower left", "lower right", "upper right", "upper left"];
    let mut are_corners = true;
    for (corner, name) in photo.corners.iter().zip(names) {
        for share in corner.to_array() {
            let field = format!("corners ({name})");
            are_corners &= on.within(&field, share, &limits::PHOTO_CORNER);
        }
    }
    let square = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(Into::into);
    if are_corners && homography(square, photo.corners).is_none() {
        on.error(Fault {
            field: "corners",
            value: "a list of which three lie in a line".to_owned(),
            limit: "the four corners of a pane".to_owned(),
            way_out: "drag them apart, onto the corners of the tank",
        });
    }
    on.within("plane_cm", photo.plane_cm, &limits::PHOTO_PLANE);
    on.within("camera_cm", photo.camera_cm, &limits::PHOTO_CAMERA);
    on.within("opacity", photo.opacity, &limits::PHOTO_OPACITY);
    if let Some((low_cm, high_cm)) = photo.between_cm {
        let are_heights = on.within("between_cm (lower)", low_cm, &limits::PHOTO_HEIGHT)
            && on.within("between_cm (upper)", high_cm, &limits::PHOTO_HEIGHT);
        if are_heights && high_cm - low_cm < PANE_LEAST_CM {
            on.error(Fault {
                field: "between_cm",
                value: format!("{low_cm} to {high_cm} cm"),
                limit: format!("two heights at least {PANE_LEAST_CM} cm apart, the lower first"),
                way_out: limits::PHOTO_HEIGHT.way_out,
            });
        }
    }
}
