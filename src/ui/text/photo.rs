//! Words about photos under the drawing.

use crate::scene::PhotoView;

words! {
    PAGE_PHOTO = "a photo under the drawing";
    PATH_PHOTO = "photo of the tank (JPEG or PNG)";
    PHOTO_FILES = "pictures";
    PHOTO_UNDER = "under the";
    PHOTO_HOW = "Take a photo of your tank from the front, or from above with the pumps off, and choose it here: it lies under the drawing, set right for perspective and for the bend of light in the water, and rock can be traced over it (R). The whole picture as the camera took it serves best: a cut-out no longer tells where the camera stood.";
    PHOTO_CHOOSE = "choose a photo";
    PHOTO_RUNNING = "being read …";
    PHOTO_PLANE_FRONT = "right for, from front";
    PHOTO_PLANE_TOP = "right for, height";
    PHOTO_AT_CUT = "where the view is cut";
    PHOTO_BRING_CUT = "cut the view here";
    PHOTO_LOW = "lower corners at";
    PHOTO_HIGH = "upper corners at";
    PHOTO_CAMERA = "camera away";
    PHOTO_STRAIGHT = "The picture was taken too straight on to tell how far away the camera stood: measure it. A tenth more or less moves what lies 45 cm behind the glass by about 1 cm in 40.";
    PHOTO_OPACITY = "covers the paper";
    PHOTO_LOCK = "lock the photo";
    PHOTO_HIDE = "hide it";
    PHOTO_OTHER = "another photo";
    PHOTO_REMOVE = "remove the photo";
    PHOTO_DONE = "trace over it";
    SET_PHOTO = "photo";
    SET_PHOTO_CORNER = "corner of the photo";
}

/// Names of the marks on the corners of the pane.
pub const PHOTO_CORNERS: [&str; 4] = [
    "lower left corner of the pane",
    "lower right corner of the pane",
    "upper right corner of the pane",
    "upper left corner of the pane",
];

/// The view that a photo lies under.
pub fn photo_view(view: PhotoView) -> &'static str {
    match view {
        PhotoView::Front => "side view, taken from the front",
        PhotoView::Top => "top view, taken from above",
    }
}

/// What to drag where.
pub fn photo_corners(view: PhotoView) -> &'static str {
    match view {
        PhotoView::Front => {
            "Drag each mark onto that inner corner of the front pane. Where the sand or a frame hides one, take a height that can be seen and state it below. Arrow keys move a mark by a dot."
        }
        PhotoView::Top => {
            "Drag each mark to where the water's surface meets that corner of the tank; the front glass lies at the foot. Arrow keys move a mark by a dot."
        }
    }
}

/// How far away the camera stood, as the picture tells.
pub fn photo_camera(distance: &str) -> String {
    format!("{distance}, as the picture tells")
}
