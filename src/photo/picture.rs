//! From the bytes of a file to dots, the right way up and not too many.

use std::io::Cursor;

use glam::DVec2;
use image::imageops::FilterType;
use image::{DynamicImage, ImageDecoder as _, ImageError, ImageFormat, ImageReader, Limits};

/// Largest file that is read.
pub const BYTES_MAX: u64 = 32 << 20;
/// Most dots of a picture that is read.
pub const DOTS_MAX: u64 = 100_000_000;
/// Longest side of a picture as it is kept to draw; a larger one is reduced.
/// A tank of 120 cm then has a dot each 0.6 mm or so, finer than a corner can be
/// set by hand, and every graphics driver can hold it.
pub const SIDE_MAX: u32 = 2048;

/// Why a file is no photo that can be laid under a drawing. Whoever read the
/// file names it.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PhotoError {
    /// The first bytes are of no picture that is read.
    #[error("not a JPEG or PNG picture; save it as one of these and bring it in again")]
    Format,
    /// The reader stopped.
    #[error("the picture is damaged ({reason}); copy it from the camera again, or save it anew")]
    Damaged {
        /// What the reader said.
        reason: String,
    },
    /// More dots than are read.
    #[error(
        "the picture has {width} x {height} dots, the limit is {DOTS_MAX} in all; save it smaller"
    )]
    Large {
        /// Dots across.
        width: u32,
        /// Dots down.
        height: u32,
    },
    /// Too few dots to trace from.
    #[error(
        "the picture has only {width} x {height} dots; bring in the photo itself, not its thumbnail"
    )]
    Small {
        /// Dots across.
        width: u32,
        /// Dots down.
        height: u32,
    },
}

/// Shortest side of a picture that is taken.
const SIDE_MIN: u32 = 16;

/// A photo, the right way up, as dots of red, green, blue and opacity.
#[derive(Clone, PartialEq, Eq)]
pub struct Picture {
    width: u32,
    height: u32,
    rgba: Vec<u8>,
}

impl std::fmt::Debug for Picture {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Picture({} x {})", self.width, self.height)
    }
}

impl Picture {
    /// Reads a JPEG or PNG picture, turned as its Exif note says that the
    /// camera was held, and reduced to at most [`SIDE_MAX`] dots a side.
    ///
    /// # Errors
    /// [`PhotoError`]; a picture of too many dots is refused before any is
    /// read.
    pub fn read(bytes: &[u8]) -> Result<Self, PhotoError> {
        let format = image::guess_format(bytes).ok();
        if !matches!(format, Some(ImageFormat::Jpeg | ImageFormat::Png)) {
            return Err(PhotoError::Format);
        }
        let mut reader = ImageReader::new(Cursor::new(bytes));
        reader.set_format(format.unwrap_or(ImageFormat::Jpeg));
        let mut limits = Limits::default();
        // Four bytes a dot, and as much again for the reader's own work.
        limits.max_alloc = Some(DOTS_MAX * 8);
        reader.limits(limits);
        let mut decoder = reader.into_decoder().map_err(|error| damaged(&error))?;
        let (width, height) = decoder.dimensions();
        if u64::from(width) * u64::from(height) > DOTS_MAX {
            return Err(PhotoError::Large { width, height });
        }
        if width.min(height) < SIDE_MIN {
            return Err(PhotoError::Small { width, height });
        }
        // A note that cannot be read is as good as none.
        let held = decoder.orientation();
        let mut picture = DynamicImage::from_decoder(decoder).map_err(|error| damaged(&error))?;
        if width.max(height) > SIDE_MAX {
            picture = picture.resize(SIDE_MAX, SIDE_MAX, FilterType::Triangle);
        }
        if let Ok(held) = held {
            picture.apply_orientation(held);
        }
        let dots = picture.into_rgba8();
        Ok(Self {
            width: dots.width(),
            height: dots.height(),
            rgba: dots.into_raw(),
        })
    }

    /// Dots across and down.
    pub fn size(&self) -> [usize; 2] {
        [self.width as usize, self.height as usize]
    }

    /// The same as a vector.
    pub fn size_px(&self) -> DVec2 {
        DVec2::new(f64::from(self.width), f64::from(self.height))
    }

    /// Its dots in rows from the top, four bytes each: red, green, blue and
    /// opacity, which does not weigh the colors.
    pub fn rgba(&self) -> &[u8] {
        &self.rgba
    }
}

fn damaged(error: &ImageError) -> PhotoError {
    PhotoError::Damaged {
        reason: error.to_string(),
    }
}
