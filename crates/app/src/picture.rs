//! Photographs of the bench: what they are is read from their first bytes, never believed.

use crate::{App, AppError, bare};
use serde::Serialize;

/// The kinds of picture that are kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum PictureType {
    /// JPEG (ITU-T T.81).
    Jpeg,
    /// PNG (W3C).
    Png,
    /// WebP (RFC 9649).
    Webp,
}

/// What the first bytes of a picture tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Picture {
    /// Its kind.
    #[serde(rename = "type")]
    pub of: PictureType,
    /// Width, pixels.
    pub width: u32,
    /// Height, pixels.
    pub height: u32,
}

impl PictureType {
    /// Every kind.
    pub const ALL: [Self; 3] = [Self::Jpeg, Self::Png, Self::Webp];

    /// What browsers call it.
    pub const fn media_type(self) -> &'static str {
        match self {
            Self::Jpeg => "image/jpeg",
            Self::Png => "image/png",
            Self::Webp => "image/webp",
        }
    }
}

impl Picture {
    /// Reads the head of a picture; none where the bytes are something else.
    ///
    /// ```
    /// let head = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\x02\x80\0\0\x01\xe0\x08\x02\0\0\0";
    /// let read = app::Picture::of(head).unwrap();
    /// assert_eq!((read.width, read.height), (640, 480));
    /// assert_eq!(app::Picture::of(b"<svg onload='alert(1)'>"), None);
    /// ```
    pub fn of(bytes: &[u8]) -> Option<Self> {
        let (of, (width, height)) = if let Some(rest) = bytes.strip_prefix(b"\x89PNG\r\n\x1a\n") {
            (PictureType::Png, png(rest)?)
        } else if bytes.starts_with(&[0xff, 0xd8, 0xff]) {
            (PictureType::Jpeg, jpeg(bytes)?)
        } else {
            (PictureType::Webp, webp(bytes)?)
        };
        (width > 0 && height > 0).then_some(Self { of, width, height })
    }
}

/// Two bytes, the higher first.
fn pair(bytes: &[u8], at: usize) -> Option<u32> {
    let two = bytes.get(at..at + 2)?;
    Some(u32::from(two[0]) << 8 | u32::from(two[1]))
}

/// Two or three bytes, the lowest first.
fn little(bytes: &[u8], at: usize, count: usize) -> Option<u32> {
    let some = bytes.get(at..at + count)?;
    Some(some.iter().rev().fold(0, |all, b| all << 8 | u32::from(*b)))
}

/// The first chunk is IHDR: length, name, width, height.
fn png(rest: &[u8]) -> Option<(u32, u32)> {
    let head = rest.strip_prefix(b"\0\0\0\rIHDR")?;
    let number = |at| Some(pair(head, at)? << 16 | pair(head, at + 2)?);
    head.get(8..13)?;
    Some((number(0)?, number(4)?))
}

/// Segments up to the frame header, which tells height and width.
fn jpeg(bytes: &[u8]) -> Option<(u32, u32)> {
    let mut at = 2;
    loop {
        while bytes.get(at)? == &0xff && bytes.get(at + 1)? == &0xff {
            at += 1;
        }
        let [0xff, marker] = bytes.get(at..at + 2)? else {
            return None;
        };
        match marker {
            // Frame headers; C4, C8 and CC are tables and an extension.
            0xc0..=0xc3 | 0xc5..=0xc7 | 0xc9..=0xcb | 0xcd..=0xcf => {
                return Some((pair(bytes, at + 7)?, pair(bytes, at + 5)?));
            }
            // The picture itself, or its end, before a frame header.
            0xda | 0xd9 => return None,
            _ => {}
        }
        let length = pair(bytes, at + 2)?;
        if length < 2 {
            return None;
        }
        at += 2 + usize::try_from(length).ok()?;
    }
}

/// A RIFF container whose first chunk tells the measures, in one of three ways.
fn webp(bytes: &[u8]) -> Option<(u32, u32)> {
    let inner = bytes.strip_prefix(b"RIFF")?.get(4..)?;
    let chunk = inner.strip_prefix(b"WEBP")?;
    let (name, data) = (chunk.get(..4)?, chunk.get(8..)?);
    match name {
        b"VP8 " if data.get(3..6)? == b"\x9d\x01\x2a" => {
            Some((little(data, 6, 2)? & 0x3fff, little(data, 8, 2)? & 0x3fff))
        }
        b"VP8L" if data.first()? == &0x2f => {
            let both = little(data, 1, 4)?;
            Some(((both & 0x3fff) + 1, (both >> 14 & 0x3fff) + 1))
        }
        b"VP8X" => Some((little(data, 4, 3)? + 1, little(data, 7, 3)? + 1)),
        _ => None,
    }
}

impl App {
    /// Keeps a photograph without what lies beside the picture, the place of taking above all, and gives the hash it is
    /// found under.
    ///
    /// # Errors
    /// Bytes that are no picture of a kind that is kept, a picture that breaks off, or too many; what the book tells.
    pub async fn keep_picture(&self, bytes: &[u8]) -> Result<(String, Picture), AppError> {
        let picture = Picture::of(bytes).ok_or_else(|| AppError::Value {
            field: "photograph".to_owned(),
            why: "this is no JPEG, PNG or WebP picture; take it again, or choose another file"
                .to_owned(),
        })?;
        let bare = bare(picture.of, bytes).ok_or_else(|| AppError::Value {
            field: "photograph".to_owned(),
            why: "this picture breaks off before its end; take it again".to_owned(),
        })?;
        Ok((self.book.keep_picture(&bare).await?, picture))
    }

    /// A photograph by its hash.
    ///
    /// # Errors
    /// No such photograph; what the book tells.
    pub async fn picture(&self, hash: &str) -> Result<(Vec<u8>, Picture), AppError> {
        let found = self.book.picture(hash).await?;
        let read = found.and_then(|bytes| Picture::of(&bytes).map(|picture| (bytes, picture)));
        read.ok_or_else(|| {
            let shown: String = hash.chars().take(12).collect();
            AppError::Book(book::BookError::NoSuch {
                what: format!("photograph ‘{shown}’"),
            })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Heads written by hand after the formats' own specifications (from memory, to be confirmed).
    #[test]
    fn measures_are_read_from_each_kind_of_head() {
        let jpeg =
            b"\xff\xd8\xff\xe0\0\x06JFIF\xff\xff\xdb\0\x03\0\xff\xc2\0\x11\x08\x01\xe0\x02\x80\x03";
        let lossy = b"RIFF\x24\0\0\0WEBPVP8 \x18\0\0\0\x30\x01\0\x9d\x01\x2a\x80\x02\xe0\x01";
        let lossless = b"RIFF\x24\0\0\0WEBPVP8L\x18\0\0\0\x2f\x7f\xc2\x77\0";
        let extended = b"RIFF\x24\0\0\0WEBPVP8X\x0a\0\0\0\0\0\0\0\x7f\x02\0\xdf\x01\0";
        for (bytes, of) in [
            (&jpeg[..], PictureType::Jpeg),
            (&lossy[..], PictureType::Webp),
            (&lossless[..], PictureType::Webp),
            (&extended[..], PictureType::Webp),
        ] {
            let read = Picture::of(bytes).unwrap();
            assert_eq!(
                (read.of, read.width, read.height),
                (of, 640, 480),
                "{bytes:?}"
            );
            // Cut short anywhere it is no picture, and nothing breaks.
            for end in 0..bytes.len() {
                let _none_or_a_part = Picture::of(&bytes[..end]);
            }
            assert_eq!(Picture::of(&bytes[..bytes.len() / 2]), None);
        }
    }

    #[test]
    fn what_is_no_picture_is_none() {
        for bytes in [
            &b""[..],
            b"GIF89a\x01\0\x01\0",
            b"<!doctype html><script>alert(1)</script>",
            b"\xff\xd8\xff",
            b"\xff\xd8\xff\xe0\0\0\0\0\0\0\0\0\0\0",
            b"\xff\xd8\xff\xda\0\x08",
            b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\0\0\0\0\0\x08\x02\0\0\0",
            b"RIFF\0\0\0\0WAVEfmt \0\0\0\0",
            b"%PDF-1.7",
        ] {
            assert_eq!(Picture::of(bytes), None, "{bytes:?}");
        }
    }
}
