//! How a form is packed: alone, or as its difference from an earlier form of the same thing.
//!
//! Most revisions change a number or two in several kilobytes of text, so a form is packed (LZ4
//! block format) with an earlier form as its dictionary. That earlier form is always one that was
//! packed alone: reading a revision never takes more than two rows.

use crate::FORM_LIMIT_BYTES;

/// A packed form.
pub(crate) struct Packed {
    pub bytes: Vec<u8>,
    /// Whether the dictionary was used.
    pub on_base: bool,
}

/// Packs a form, on an earlier one if that halves it at least.
pub(crate) fn pack(form: &str, base: Option<&str>) -> Packed {
    let alone = lz4_flex::block::compress(form.as_bytes());
    let on_base = base
        .filter(|base| !base.is_empty())
        .map(|base| lz4_flex::block::compress_with_dict(form.as_bytes(), base.as_bytes()));
    match on_base {
        Some(bytes) if bytes.len() * 2 <= alone.len() => Packed {
            bytes,
            on_base: true,
        },
        _ => Packed {
            bytes: alone,
            on_base: false,
        },
    }
}

/// Unpacks a form of the given length in bytes.
pub(crate) fn unpack(bytes: &[u8], length: u64, base: Option<&str>) -> Result<String, String> {
    let length = usize::try_from(length)
        .ok()
        .filter(|length| *length <= FORM_LIMIT_BYTES)
        .ok_or_else(|| format!("its length is given as {length} bytes"))?;
    let unpacked = match base {
        Some(base) => lz4_flex::block::decompress_with_dict(bytes, length, base.as_bytes()),
        None => lz4_flex::block::decompress(bytes, length),
    }
    .map_err(|error| error.to_string())?;
    if unpacked.len() != length {
        return Err(format!("it has {} bytes, not {length}", unpacked.len()));
    }
    String::from_utf8(unpacked).map_err(|_| "it is not text".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_small_change_packs_to_almost_nothing() {
        let before: String = (0..200)
            .map(|i| format!("row {i} = {}\n", i * 7919 % 1000))
            .collect();
        let after = before.replace("row 100 = 900", "row 100 = 901");
        assert_ne!(before, after);
        let packed = pack(&after, Some(&before));
        assert!(packed.on_base);
        assert!(packed.bytes.len() < 100, "{}", packed.bytes.len());
    }

    #[test]
    fn what_was_not_packed_here_is_refused_not_believed() {
        assert!(unpack(b"\xff\xff\xff\xff", 10, None).is_err());
        assert!(unpack(&pack("biscuit", None).bytes, 3, None).is_err());
        assert!(unpack(&pack("biscuit", None).bytes, 9, None).is_err());
        assert!(unpack(&pack("biscuit", None).bytes, u64::MAX, None).is_err());
    }

    proptest! {
        #[test]
        fn any_text_comes_back(form in ".{0,400}", base in proptest::option::of(".{0,400}")) {
            let packed = pack(&form, base.as_deref());
            let used = if packed.on_base { base.as_deref() } else { None };
            prop_assert_eq!(unpack(&packed.bytes, form.len() as u64, used), Ok(form));
        }
    }
}
