//! A photograph without what lies beside the picture: where and when it was taken, by which device, with which words.
//!
//! Each format is a row of named parts. Those that the picture needs to be shown are kept, all others are left out,
//! whatever they are called; what follows the picture's end is left out too.

use crate::PictureType;

/// A picture's bytes with nothing beside the picture; none where a part breaks off or there is no picture in it.
///
/// ```
/// // A comment beside the picture (a segment FE of JPEG) is left out.
/// let with = b"\xff\xd8\xff\xfe\0\x06here\xff\xda\0\x02\x11\x22\xff\xd9";
/// let bare = app::bare(app::PictureType::Jpeg, with).unwrap();
/// assert_eq!(bare, b"\xff\xd8\xff\xda\0\x02\x11\x22\xff\xd9");
/// ```
pub fn bare(of: PictureType, bytes: &[u8]) -> Option<Vec<u8>> {
    match of {
        PictureType::Jpeg => jpeg(bytes),
        PictureType::Png => png(bytes),
        PictureType::Webp => webp(bytes),
    }
}

/// Segments (ITU-T T.81, B.1.1): a marker, and a length that counts itself. Of those that programs add (APP0 to APP15,
/// comments) the measures of JFIF, the colours of ICC and Adobe's word on them are kept.
fn jpeg(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut kept = bytes.get(..2)?.to_vec();
    let mut at = 2;
    let mut shown = false;
    loop {
        // Any number of FF may stand before a marker.
        while *bytes.get(at)? == 0xff && *bytes.get(at + 1)? == 0xff {
            at += 1;
        }
        let [0xff, marker] = *bytes.get(at..at + 2)? else {
            return None;
        };
        if marker == 0xd9 {
            kept.extend([0xff, 0xd9]);
            return shown.then_some(kept);
        }
        let length = usize::from(u16::from_be_bytes([
            *bytes.get(at + 2)?,
            *bytes.get(at + 3)?,
        ]));
        let data = bytes.get(at + 4..at + 2 + length.max(2))?;
        let wanted = match marker {
            0xe0 => data.starts_with(b"JFIF\0"),
            0xe2 => data.starts_with(b"ICC_PROFILE\0"),
            0xee => data.starts_with(b"Adobe"),
            0xe1..=0xef | 0xfe => false,
            _ => true,
        };
        if wanted {
            kept.extend(bytes.get(at..at + 2 + length)?);
        }
        at += 2 + length.max(2);
        if marker == 0xda {
            // The picture itself runs to the next marker; FF 00 and the restarts FF D0 to D7 belong to it.
            let begin = at;
            while !matches!(bytes.get(at..at + 2)?, [0xff, m] if *m != 0 && !(0xd0..=0xd7).contains(m))
            {
                at += 1;
            }
            kept.extend(&bytes[begin..at]);
            shown = true;
        }
    }
}

/// The chunks of PNG (W3C, 4.7 and 11) that tell how it is shown.
const PNG_SHOWN: [&[u8; 4]; 12] = [
    b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"sBIT",
    b"pHYs", b"cICP",
];

/// Chunks: length, name, data, check.
fn png(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut kept = bytes.get(..8)?.to_vec();
    let mut rest = bytes.get(8..)?;
    while !rest.is_empty() {
        let length = u32::from_be_bytes(rest.get(..4)?.try_into().ok()?);
        let whole = usize::try_from(length).ok()?.checked_add(12)?;
        let (chunk, after) = rest.split_at_checked(whole)?;
        let name = chunk.get(4..8)?;
        if PNG_SHOWN.iter().any(|shown| shown.as_slice() == name) {
            kept.extend(chunk);
        }
        if name == b"IEND" {
            return Some(kept);
        }
        rest = after;
    }
    None
}

/// The chunks of WebP (RFC 9649, 2.7) that tell how it is shown.
const WEBP_SHOWN: [&[u8; 4]; 7] = [
    b"VP8 ", b"VP8L", b"VP8X", b"ALPH", b"ICCP", b"ANIM", b"ANMF",
];
/// The flags of VP8X that tell of EXIF and of XMP.
const WEBP_BESIDE: u8 = 0b0000_1100;

/// A RIFF container: name, length with the lowest byte first, data, a byte to make it even.
fn webp(bytes: &[u8]) -> Option<Vec<u8>> {
    let length = u32::from_le_bytes(bytes.get(4..8)?.try_into().ok()?);
    let end = usize::try_from(length).ok()?.checked_add(8)?;
    let mut rest = bytes.get(12..end)?;
    let mut kept = bytes.get(..12)?.to_vec();
    while !rest.is_empty() {
        let length = u32::from_le_bytes(rest.get(4..8)?.try_into().ok()?);
        let length = usize::try_from(length).ok()?;
        let (chunk, after) =
            rest.split_at_checked(length.checked_add(8)?.checked_add(length % 2)?)?;
        let name = chunk.get(..4)?;
        if WEBP_SHOWN.iter().any(|shown| shown.as_slice() == name) {
            let begin = kept.len();
            kept.extend(chunk);
            if name == b"VP8X" {
                *kept.get_mut(begin + 8)? &= !WEBP_BESIDE;
            }
        }
        rest = after;
    }
    let length = u32::try_from(kept.len().checked_sub(8)?).ok()?;
    kept.get_mut(4..8)?.copy_from_slice(&length.to_le_bytes());
    (kept.len() > 12).then_some(kept)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Picture;

    /// What a camera writes of the place, in the words of Exif 2.32 (tag 0x8825 leads to the GPS data; from memory, to be
    /// confirmed). Here it is enough that the bytes are gone.
    const PLACE: &[u8] = b"Exif\0\0MM\0*\0\0\0\x08\x88\x25GPS 52.5200N 13.4050E";

    fn segment(marker: u8, data: &[u8]) -> Vec<u8> {
        let length = u16::try_from(data.len() + 2).unwrap().to_be_bytes();
        [&[0xff, marker][..], &length, data].concat()
    }

    fn chunk_png(name: &[u8; 4], data: &[u8]) -> Vec<u8> {
        let length = u32::try_from(data.len()).unwrap().to_be_bytes();
        [&length[..], name, data, &[0; 4]].concat()
    }

    fn chunk_webp(name: &[u8; 4], data: &[u8]) -> Vec<u8> {
        let length = u32::try_from(data.len()).unwrap().to_le_bytes();
        [&name[..], &length, data, &vec![0; data.len() % 2]].concat()
    }

    fn with_place(of: PictureType) -> Vec<u8> {
        match of {
            PictureType::Jpeg => [
                vec![0xff, 0xd8],
                segment(0xe0, b"JFIF\0\x01\x02\0\0\x01\0\x01\0\0"),
                segment(0xe1, PLACE),
                segment(0xe1, b"http://ns.adobe.com/xap/1.0/\0<x:xmpmeta>GPS"),
                segment(0xed, b"Photoshop 3.0\0 GPS of a town"),
                segment(0xfe, b"GPS in words"),
                segment(0xdb, &[0; 65]),
                segment(0xc0, b"\x08\x01\xe0\x02\x80\x01\x01\x11\0"),
                segment(0xda, b"\x01\x01\0\0\x3f\0"),
                vec![0x12, 0xff, 0, 0x34, 0xff, 0xd0, 0x56],
                // A second picture behind the end, as some cameras leave one.
                vec![0xff, 0xd9],
                b"\xff\xd8\xff\xe1GPS".to_vec(),
            ]
            .concat(),
            PictureType::Png => [
                b"\x89PNG\r\n\x1a\n".to_vec(),
                chunk_png(b"IHDR", b"\0\0\x02\x80\0\0\x01\xe0\x08\x02\0\0\0"),
                chunk_png(b"eXIf", PLACE),
                chunk_png(b"iTXt", b"XML:com.adobe.xmp\0GPS"),
                chunk_png(b"teST", b"GPS of tomorrow's kind"),
                chunk_png(b"IDAT", b"picture"),
                chunk_png(b"IEND", b""),
                b"GPS behind the end".to_vec(),
            ]
            .concat(),
            PictureType::Webp => {
                let inner = [
                    chunk_webp(b"VP8X", b"\x0c\0\0\0\x7f\x02\0\xdf\x01\0"),
                    chunk_webp(b"VP8 ", b"\x30\x01\0\x9d\x01\x2a\x80\x02\xe0\x01pic"),
                    chunk_webp(b"EXIF", PLACE),
                    chunk_webp(b"XMP ", b"<x:xmpmeta>GPS"),
                ]
                .concat();
                let length = u32::try_from(inner.len() + 4).unwrap().to_le_bytes();
                [b"RIFF", &length[..], b"WEBP", &inner, b"GPS behind"].concat()
            }
        }
    }

    #[test]
    fn the_place_of_taking_is_left_out_and_the_picture_stays() {
        for of in PictureType::ALL {
            let with = with_place(of);
            let bare = bare(of, &with).unwrap();
            let has = |words: &[u8]| bare.windows(words.len()).any(|w| w == words);
            assert!(!has(b"GPS") && !has(b"Exif") && !has(b"xmp"), "{of:?}");
            let (before, after) = (Picture::of(&with).unwrap(), Picture::of(&bare).unwrap());
            assert_eq!((after.of, after.width, after.height), (of, 640, 480));
            assert_eq!(before, after);
            // What has nothing beside it stays as it is.
            assert_eq!(super::bare(of, &bare).unwrap(), bare, "{of:?}");
        }
        let jpeg = bare(PictureType::Jpeg, &with_place(PictureType::Jpeg)).unwrap();
        assert!(jpeg.ends_with(&[0x12, 0xff, 0, 0x34, 0xff, 0xd0, 0x56, 0xff, 0xd9]));
        assert!(jpeg.windows(4).any(|w| w == b"JFIF"));
        let webp = bare(PictureType::Webp, &with_place(PictureType::Webp)).unwrap();
        assert_eq!(
            webp.len(),
            8 + u32::from_le_bytes(webp[4..8].try_into().unwrap()) as usize
        );
        assert_eq!(webp[20] & WEBP_BESIDE, 0);
    }

    #[test]
    fn what_breaks_off_is_no_picture_and_nothing_breaks() {
        for of in PictureType::ALL {
            let whole = bare(of, &with_place(of)).unwrap();
            for end in 0..whole.len() {
                assert_eq!(bare(of, &whole[..end]), None, "{of:?} to {end}");
            }
        }
        assert_eq!(
            bare(
                PictureType::Png,
                &[b"\x89PNG\r\n\x1a\n".to_vec(), vec![0xff; 40]].concat()
            ),
            None
        );
        assert_eq!(
            bare(PictureType::Jpeg, b"\xff\xd8\xff\xd9"),
            None,
            "no picture in it"
        );
    }
}
