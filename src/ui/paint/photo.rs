//! Photos of the tank under the views: the picture as a net of triangles, each
//! where the drawing has what it shows.

use std::sync::Arc;

use egui::{Color32, ColorImage, Context, Painter, Shape, TextureHandle, TextureOptions, pos2};

use crate::desk::Desk;
use crate::photo::{Laid, Net, Picture};
use crate::scene::{PhotoView, Tank, Underlay};
use crate::ui::sheet::{Frame, View};

/// Cells of the net along each side.
const CELLS: u32 = 48;

/// A picture on the graphics card.
#[derive(Default)]
pub(crate) struct Dots(Option<(Arc<Picture>, TextureHandle)>);

impl Dots {
    /// The picture's texture, sent once.
    pub(crate) fn texture(&mut self, ctx: &Context, picture: &Arc<Picture>) -> egui::TextureId {
        if let Some((held, texture)) = &self.0
            && Arc::ptr_eq(held, picture)
        {
            return texture.id();
        }
        let image = ColorImage::from_rgba_unmultiplied(picture.size(), picture.rgba());
        let texture = ctx.load_texture("photo", image, TextureOptions::LINEAR);
        let id = texture.id();
        self.0 = Some((Arc::clone(picture), texture));
        id
    }
}

/// The photo of one view, kept until it or its tank changes.
#[derive(Default)]
struct Kept {
    dots: Dots,
    net: Option<(Laid, Net)>,
}

/// The photos under the views.
#[derive(Default)]
pub(crate) struct Photos([Kept; 2]);

/// The view that a photo lies under.
pub(crate) fn view_of(photo: PhotoView) -> View {
    match photo {
        PhotoView::Front => View::Side,
        PhotoView::Top => View::Top,
    }
}

impl Photos {
    /// Paints the photo under a view, if there is one to be seen.
    pub(crate) fn paint(&mut self, painter: &Painter, frame: &Frame, desk: &Desk) {
        let scene = desk.scene();
        let shown = (scene.underlays.iter())
            .find(|photo| !photo.hidden && view_of(photo.view) == frame.view);
        let Some(photo) = shown else { return };
        let Some(picture) = desk.picture(&photo.file) else {
            return;
        };
        let kept = &mut self.0[photo.view as usize];
        let texture = kept.dots.texture(painter.ctx(), picture);
        let Some(net) = kept.net(photo, &scene.tank, picture) else {
            return;
        };
        let mut mesh = egui::Mesh::with_texture(texture);
        let color = Color32::WHITE.gamma_multiply(photo.opacity as f32);
        for (place_cm, share) in &net.corners {
            mesh.vertices.push(egui::epaint::Vertex {
                pos: frame.pos_flat(*place_cm),
                uv: pos2(share.x as f32, share.y as f32),
                color,
            });
        }
        mesh.indices.extend(net.triangles.iter().flatten());
        painter.add(Shape::mesh(mesh));
    }
}

impl Kept {
    fn net(&mut self, photo: &Underlay, tank: &Tank, picture: &Picture) -> Option<&Net> {
        let laid = Laid::new(photo, tank, picture.size_px())?;
        if self.net.as_ref().is_none_or(|(old, _)| *old != laid) {
            self.net = Some((laid, laid.net(CELLS)));
        }
        self.net.as_ref().map(|(_, net)| net)
    }
}
