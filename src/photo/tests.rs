//! Photos that a known pinhole camera takes of a tank in these tests, through
//! the pane and the water, read and laid as a keeper would.

use std::io::Cursor;

use glam::{DVec2, DVec3};
use image::{DynamicImage, ImageFormat, Rgb, RgbImage};

use crate::scene::{Panes, PhotoView, Sand, Sides, Tank, Underlay, Water};
use crate::{Laid, Net, PhotoError, Picture};

const SIZE_PX: (u32, u32) = (1200, 900);
const PAPER: Rgb<u8> = Rgb([150, 165, 170]);
const RED: Rgb<u8> = Rgb([210, 30, 30]);
const GREEN: Rgb<u8> = Rgb([20, 170, 40]);

fn tank() -> Tank {
    Tank {
        length_cm: 120.0,
        width_cm: 60.0,
        height_cm: 50.0,
        water_cm: 48.0,
        sand: Sand::default(),
        sides: Sides::default(),
        panes: Panes::default(),
        water: Water::default(),
        returns: vec![],
        overflow: None,
    }
}

/// A pinhole camera: where it stands, where it looks, which way is up in its
/// picture, and its focal length in dots.
struct Pinhole {
    at: DVec3,
    look: DVec3,
    up: DVec3,
    focal_px: f64,
}

/// What is photographed: dots in a plane of the water, and four on the corners
/// of the pane, `normal` pointing from the camera's side into the water.
struct Subject {
    origin: DVec3,
    axes: [DVec3; 2],
    normal: DVec3,
    pane_cm: DVec2,
    depth_cm: f64,
    dots_cm: Vec<DVec2>,
}

const DOT_CM: f64 = 0.7;

impl Subject {
    /// The front pane, its corners from the inner bottom to the rim.
    fn front(depth_cm: f64, dots_cm: Vec<DVec2>) -> Self {
        Self {
            origin: DVec3::ZERO,
            axes: [DVec3::X, DVec3::Z],
            normal: DVec3::Y,
            pane_cm: DVec2::new(120.0, 50.0),
            depth_cm,
            dots_cm,
        }
    }

    /// The surface seen from above.
    fn top(height_cm: f64, dots_cm: Vec<DVec2>) -> Self {
        Self {
            origin: DVec3::new(0.0, 0.0, 48.0),
            axes: [DVec3::X, DVec3::Y],
            normal: DVec3::NEG_Z,
            pane_cm: DVec2::new(120.0, 60.0),
            depth_cm: 48.0 - height_cm,
            dots_cm,
        }
    }

    fn flat(&self, p: DVec3) -> DVec2 {
        let d = p - self.origin;
        DVec2::new(d.dot(self.axes[0]), d.dot(self.axes[1]))
    }

    /// What is seen along a ray from `at`: bent at the pane by Snell's law in
    /// its vector form.
    fn color(&self, at: DVec3, way: DVec3) -> Rgb<u8> {
        let index = Water::default().refractive_index;
        let cos = way.dot(self.normal);
        if cos <= 0.0 {
            return PAPER;
        }
        let on = at + way * ((self.origin - at).dot(self.normal) / cos);
        let flat = self.flat(on);
        let corners = [
            DVec2::ZERO,
            self.pane_cm.with_y(0.0),
            self.pane_cm,
            self.pane_cm.with_x(0.0),
        ];
        if corners.iter().any(|c| c.distance(flat) < DOT_CM) {
            return GREEN;
        }
        let inside = flat.cmpge(DVec2::ZERO).all() && flat.cmple(self.pane_cm).all();
        if !inside {
            return PAPER;
        }
        let ratio = 1.0 / index;
        let ahead = (1.0 - ratio * ratio * (1.0 - cos * cos)).sqrt();
        let bent = way * ratio + self.normal * (ahead - ratio * cos);
        let seen = self.flat(on + bent * (self.depth_cm / ahead));
        if self.dots_cm.iter().any(|dot| dot.distance(seen) < DOT_CM) {
            RED
        } else {
            PAPER
        }
    }
}

impl Pinhole {
    fn shoot(&self, subject: &Subject) -> RgbImage {
        let ahead = (self.look - self.at).normalize();
        let right = ahead.cross(self.up).normalize();
        let down = ahead.cross(right);
        let (width, height) = SIZE_PX;
        RgbImage::from_fn(width, height, |x, y| {
            let u = f64::from(x) + 0.5 - f64::from(width) / 2.0;
            let v = f64::from(y) + 0.5 - f64::from(height) / 2.0;
            let way = ahead * self.focal_px + right * u + down * v;
            subject.color(self.at, way.normalize())
        })
    }
}

/// Middles of the spots of one color in a picture of this width, in dots.
fn spots(width: usize, is_spot: impl Fn(usize) -> bool, n: usize) -> Vec<DVec2> {
    let mut found: Vec<(DVec2, f64)> = Vec::new();
    for idx in (0..n).filter(|idx| is_spot(*idx)) {
        let at = DVec2::new((idx % width) as f64, (idx / width) as f64) + 0.5;
        let near = |(sum, count): &&mut (DVec2, f64)| (*sum / *count).distance(at) < 30.0;
        match found.iter_mut().find(near) {
            Some((sum, count)) => (*sum, *count) = (*sum + at, *count + 1.0),
            None => found.push((at, 1.0)),
        }
    }
    found.iter().map(|(sum, count)| *sum / *count).collect()
}

fn dots(picture: &Picture, is_color: impl Fn([i32; 3]) -> bool) -> Vec<DVec2> {
    let [width, height] = picture.size();
    let rgba = picture.rgba();
    let color = |idx: usize| [0, 1, 2].map(|k| i32::from(rgba[4 * idx + k]));
    spots(width, |idx| is_color(color(idx)), width * height)
}

fn is_red([r, g, b]: [i32; 3]) -> bool {
    r > g + 60 && r > b + 60
}

fn is_green([r, g, b]: [i32; 3]) -> bool {
    g > r + 60 && g > b + 60
}

/// The underlay of a photo whose corners a keeper has dragged there, with a
/// hand that misses each by so many dots.
fn underlay(picture: &Picture, view: PhotoView, plane_cm: f64, miss_px: f64) -> Underlay {
    let mut green = dots(picture, is_green);
    assert_eq!(green.len(), 4, "four corners are in the picture: {green:?}");
    let middle = green.iter().sum::<DVec2>() / 4.0;
    // Lower left, lower right, upper right, upper left: counter-clockwise on
    // the screen, whose y grows downwards.
    green.sort_by(|a, b| {
        let angle = |p: DVec2| (middle.y - p.y).atan2(p.x - middle.x);
        angle(*a).total_cmp(&angle(*b))
    });
    let misses = [(1.0, -0.4), (-0.7, -0.7), (0.2, 1.0), (-0.8, 0.6)].map(DVec2::from);
    let mut photo = Underlay::new("tank.jpg".to_owned(), view, plane_cm);
    for ((corner, px), miss) in photo.corners.iter_mut().zip(green).zip(misses) {
        *corner = (px + miss * miss_px) / picture.size_px();
    }
    photo
}

/// The corrected view as it is drawn: each triangle of the net filled from the
/// picture, `per_cm` dots a centimeter, rows from the top.
struct Drawn {
    size: [usize; 2],
    per_cm: f64,
    room_cm: DVec2,
    colors: Vec<[i32; 3]>,
}

impl Drawn {
    fn new(net: &Net, picture: &Picture, room_cm: DVec2) -> Self {
        let per_cm = 6.0;
        let size = [(room_cm.x * per_cm) as usize, (room_cm.y * per_cm) as usize];
        let mut drawn = Self {
            size,
            per_cm,
            room_cm,
            colors: vec![[0; 3]; size[0] * size[1]],
        };
        for three in &net.triangles {
            drawn.fill(three.map(|idx| net.corners[idx as usize]), picture);
        }
        drawn
    }

    fn fill(&mut self, [a, b, c]: [(DVec2, DVec2); 3], picture: &Picture) {
        let px = |p: DVec2| DVec2::new(p.x, self.room_cm.y - p.y) * self.per_cm;
        let (p, q, r) = (px(a.0), px(b.0), px(c.0));
        let (low, high) = (p.min(q).min(r).floor(), p.max(q).max(r).ceil());
        let whole = (q - p).perp_dot(r - p);
        for y in low.y.max(0.0) as usize..(high.y as usize).min(self.size[1]) {
            for x in low.x.max(0.0) as usize..(high.x as usize).min(self.size[0]) {
                let at = DVec2::new(x as f64, y as f64) + 0.5;
                let (u, v) = (
                    (at - p).perp_dot(r - p) / whole,
                    (q - p).perp_dot(at - p) / whole,
                );
                if u < 0.0 || v < 0.0 || u + v > 1.0 {
                    continue;
                }
                let share = a.1 + (b.1 - a.1) * u + (c.1 - a.1) * v;
                let from = (share * picture.size_px()).floor().max(DVec2::ZERO);
                let [width, height] = picture.size();
                let from_px =
                    (from.x as usize).min(width - 1) + (from.y as usize).min(height - 1) * width;
                let rgba = &picture.rgba()[4 * from_px..];
                self.colors[x + y * self.size[0]] = [0, 1, 2].map(|k| i32::from(rgba[k]));
            }
        }
    }

    /// Places of the red dots, in cm of the view, from left to right.
    fn red_cm(&self) -> Vec<DVec2> {
        let mut found: Vec<DVec2> = spots(
            self.size[0],
            |idx| is_red(self.colors[idx]),
            self.colors.len(),
        )
        .iter()
        .map(|p| DVec2::new(p.x / self.per_cm, self.room_cm.y - p.y / self.per_cm))
        .collect();
        found.sort_by(|a, b| a.x.total_cmp(&b.x));
        found
    }
}

fn jpeg(image: RgbImage) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    let image = DynamicImage::ImageRgb8(image);
    image
        .write_to(&mut bytes, ImageFormat::Jpeg)
        .expect("written");
    bytes.into_inner()
}

/// The same with an Exif note of how the camera was held, put in by hand: the
/// segment APP1 with one entry, tag 0x0112.
///
/// **Source** Exif 2.3 (JEITA CP-3451C), 4.5.4 and table 4.
fn with_orientation(jpeg: &[u8], held: u8) -> Vec<u8> {
    let mut note = b"Exif\0\0MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0".to_vec();
    note.extend([held, 0, 0, 0, 0, 0, 0]);
    let mut out = jpeg[..2].to_vec();
    out.extend([0xff, 0xe1]);
    out.extend((note.len() as u16 + 2).to_be_bytes());
    out.extend(note);
    out.extend(&jpeg[2..]);
    out
}

/// A ruler of 30 cm: its ends, level, upright and slanting.
const RULERS: [[(f64, f64); 2]; 3] = [
    [(20.0, 10.0), (50.0, 10.0)],
    [(95.0, 8.0), (95.0, 38.0)],
    [(56.0, 12.0), (80.0, 30.0)],
];

fn lengths(places: &[DVec2]) -> Vec<f64> {
    // Each end of a ruler is the dot nearest to where it was laid.
    let nearest = |(x, y): (f64, f64)| {
        let at = DVec2::new(x, y);
        let by = |a: &&DVec2, b: &&DVec2| a.distance(at).total_cmp(&b.distance(at));
        *places.iter().min_by(by).expect("a dot")
    };
    let length = |[a, b]: [(f64, f64); 2]| nearest(a).distance(nearest(b));
    RULERS.map(length).to_vec()
}

fn cameras() -> [Pinhole; 3] {
    [
        ((35.0, -95.0, 62.0), (62.0, 0.0, 20.0)),
        ((85.0, -130.0, 40.0), (55.0, 0.0, 24.0)),
        ((60.0, -110.0, 25.0), (60.0, 0.0, 25.0)),
    ]
    .map(|(at, look)| Pinhole {
        at: DVec3::from(at),
        look: DVec3::from(look),
        up: DVec3::Z,
        focal_px: 700.0,
    })
}

#[test]
fn a_ruler_laid_in_the_drawn_photo_reads_within_a_centimeter() {
    let ends: Vec<DVec2> = RULERS.iter().flatten().map(|p| DVec2::from(*p)).collect();
    let mut worst = 0.0_f64;
    for camera in cameras() {
        for depth_cm in [5.0, 25.0, 50.0] {
            let subject = Subject::front(depth_cm, ends.clone());
            let picture = Picture::read(&jpeg(camera.shoot(&subject))).expect("a picture");
            let mut photo = underlay(&picture, PhotoView::Front, depth_cm, 1.5);
            photo.camera_cm = -camera.at.y;
            let laid = Laid::new(&photo, &tank(), picture.size_px()).expect("laid");
            let drawn = Drawn::new(&laid.net(48), &picture, DVec2::new(120.0, 50.0));
            let places = drawn.red_cm();
            assert_eq!(places.len(), 6, "all ends are seen: {places:?}");
            for length in lengths(&places) {
                worst = worst.max((length - 30.0).abs());
                assert!((length - 30.0).abs() < 1.0, "{length} at {depth_cm} cm");
            }
        }
    }
    // What the methods page states; a real picture is never exact.
    assert!(worst > 0.0 && worst < 0.45, "off by {worst} cm at worst");
}

#[test]
fn from_above_a_ruler_on_the_sand_reads_within_a_centimeter() {
    let camera = Pinhole {
        at: DVec3::new(50.0, 22.0, 170.0),
        look: DVec3::new(61.0, 31.0, 48.0),
        up: DVec3::Y,
        focal_px: 900.0,
    };
    let ends: Vec<DVec2> = RULERS.iter().flatten().map(|p| DVec2::from(*p)).collect();
    for height_cm in [3.0, 30.0] {
        let subject = Subject::top(height_cm, ends.clone());
        let picture = Picture::read(&jpeg(camera.shoot(&subject))).expect("a picture");
        let photo = underlay(&picture, PhotoView::Top, height_cm, 1.5);
        let laid = Laid::new(&photo, &tank(), picture.size_px()).expect("laid");
        let drawn = Drawn::new(&laid.net(48), &picture, DVec2::new(120.0, 60.0));
        for length in lengths(&drawn.red_cm()) {
            assert!((length - 30.0).abs() < 1.0, "{length} at {height_cm} cm");
        }
    }
}

#[test]
fn without_the_water_it_would_miss_by_more() {
    let ends: Vec<DVec2> = RULERS.iter().flatten().map(|p| DVec2::from(*p)).collect();
    let camera = &cameras()[2];
    let picture =
        Picture::read(&jpeg(camera.shoot(&Subject::front(50.0, ends)))).expect("a picture");
    let mut photo = underlay(&picture, PhotoView::Front, 50.0, 0.0);
    photo.camera_cm = 110.0;
    let mut air = tank();
    air.water.refractive_index = 1.0;
    let laid = Laid::new(&photo, &air, picture.size_px()).expect("laid");
    let drawn = Drawn::new(&laid.net(48), &picture, DVec2::new(120.0, 50.0));
    let longest = lengths(&drawn.red_cm()).into_iter().fold(0.0, f64::max);
    assert!(longest > 31.0, "air would make it {longest} cm long");
}

#[test]
fn the_note_of_how_the_camera_was_held_is_heeded() {
    let mut image = RgbImage::from_pixel(60, 40, PAPER);
    for (x, y) in (0..12).flat_map(|x| (0..12).map(move |y| (x, y))) {
        image.put_pixel(x, y, RED);
    }
    let plain = jpeg(image);
    // Where the upper left corner goes, by the value of the note.
    for (held, size, corner) in [
        (1_u8, [60, 40], (6.0, 6.0)),
        (3, [60, 40], (54.0, 34.0)),
        (6, [40, 60], (34.0, 6.0)),
        (8, [40, 60], (6.0, 54.0)),
    ] {
        let picture = Picture::read(&with_orientation(&plain, held)).expect("a picture");
        assert_eq!(picture.size(), size, "note {held}");
        let red = dots(&picture, is_red);
        let off = red[0].distance(DVec2::from(corner));
        assert!(off < 1.5, "note {held}: the corner is at {:?}", red[0]);
    }
}

#[test]
fn what_is_no_picture_is_refused_with_the_way_out() {
    let whole = jpeg(RgbImage::from_pixel(64, 64, RED));
    let mut png = Cursor::new(Vec::new());
    RgbImage::from_pixel(64, 64, RED)
        .write_to(&mut png, ImageFormat::Png)
        .expect("written");
    let mut png = png.into_inner();
    assert!(Picture::read(&png).is_ok(), "a PNG picture is read");
    assert_eq!(
        Picture::read(b"(format: 1)"),
        Err(PhotoError::Format),
        "a text"
    );
    assert_eq!(Picture::read(b""), Err(PhotoError::Format), "nothing");
    let cut = Picture::read(&whole[..40]).expect_err("cut short");
    assert!(cut.to_string().contains("damaged"), "{cut}");
    let small = jpeg(RgbImage::from_pixel(8, 300, RED));
    let small = Picture::read(&small).expect_err("too few dots");
    assert!(small.to_string().contains("8 x 300"), "{small}");
    // A header that promises more dots than any camera takes: width and height
    // of a PNG stand in its first chunk, whose sum is made right again.
    png[16..24].copy_from_slice(&[0, 0, 0xff, 0xff, 0, 0, 0xff, 0xff]);
    let sum = crc_32(&png[12..29]);
    png[29..33].copy_from_slice(&sum.to_be_bytes());
    let large = Picture::read(&png).expect_err("too many dots");
    assert!(large.to_string().contains("save it smaller"), "{large}");
}

/// Bytes changed, cut and doubled from a fixed seed: no panic, and whatever is
/// read has the dots that it says.
#[test]
fn mutated_pictures_are_refused_or_whole() {
    let whole = jpeg(cameras()[0].shoot(&Subject::front(5.0, vec![])));
    let whole = with_orientation(&whole, 6);
    let mut state = 7_u64;
    let mut dice = |below: usize| {
        // Knuth's multiplier, MMIX.
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        (state >> 33) as usize % below
    };
    let mut n_read = 0;
    for _ in 0..60 {
        let mut bytes = whole.clone();
        for _ in 0..=dice(6) {
            let at = dice(bytes.len());
            match dice(3) {
                0 => bytes[at] = dice(256) as u8,
                1 => bytes.truncate(at.max(40)),
                _ => bytes.extend_from_within(at.saturating_sub(64)..at),
            }
        }
        if let Ok(picture) = Picture::read(&bytes) {
            let [width, height] = picture.size();
            assert_eq!(picture.rgba().len(), 4 * width * height, "all its dots");
            n_read += 1;
        }
    }
    assert!(n_read > 0, "some are still pictures");
}

/// The check sum of a chunk of PNG.
///
/// **Source** PNG specification (ISO/IEC 15948), annex D.
fn crc_32(bytes: &[u8]) -> u32 {
    let step = |sum: u32| (sum >> 1) ^ (0xedb8_8320 * (sum & 1));
    let add = |sum: u32, byte: &u8| (0..8).fold(sum ^ u32::from(*byte), |sum, _| step(sum));
    !bytes.iter().fold(u32::MAX, add)
}
