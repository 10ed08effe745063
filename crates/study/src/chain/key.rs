//! What an answer is found by: a hash of the canonical bytes of everything that it depends on.

use crate::model::Treatment;
use baking::bake::MODEL_VERSION;
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::fmt;

/// SHA-256 of canonical bytes. The same inputs give the same on every machine and with every version of the program
/// that computes the same.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Key([u8; 32]);

impl Key {
    /// Of bytes as they are.
    pub fn of_bytes(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// Of a value: its fields in their order, as JSON with the shortest digits that read back the same.
    ///
    /// ```
    /// use study::chain::Key;
    ///
    /// assert_eq!(Key::of(&(1, 0.1)), Key::of_bytes(b"[1,0.1]"));
    /// ```
    pub fn of(value: &impl Serialize) -> Self {
        // What is written here has text keys only, so it can't fail; hashed whole, for a hash is slow in small bites.
        Self::of_bytes(&serde_json::to_vec(value).unwrap_or_default())
    }
}

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|b| write!(f, "{b:02x}"))
    }
}

impl fmt::Debug for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

/// Of everything that the answer of a treatment depends on, the version of the bake in it. Notes, and how the formula
/// was arrived at, change nothing.
pub fn key(treatment: &Treatment) -> Key {
    let Treatment {
        id,
        name,
        note: _,
        from: _,
        species,
        currency,
        target,
        basis,
        water,
        formula,
        changes: _,
        setting,
        own: _,
    } = treatment;
    Key::of(&(
        MODEL_VERSION,
        (id, name, species, currency, target, basis, water),
        formula,
        setting,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn notes_change_nothing_and_every_number_does() {
        let text = include_str!("../../../../examples/spent-grain.toml");
        let of = |text: &str| key(crate::written::read(text).unwrap().control());
        let plain = of(text);
        assert_eq!(
            of(&text.replace("What is sold today.", "Another note.")),
            plain
        );
        for (from, to) in [
            ("thickness_mm = 8", "thickness_mm = 8.01"),
            ("amount = 54.0", "amount = 54.01"),
            ("temperature_c = 27", "temperature_c = 28"),
            ("moisture_pct = 8.0", "moisture_pct = 8.1"),
            ("price_per_kg = 0.55", "price_per_kg = 0.56"),
            ("per_line_hour = 85", "per_line_hour = 86"),
        ] {
            assert!(text.contains(from), "{from}");
            assert_ne!(of(&text.replacen(from, to, 1)), plain, "{from}");
        }
        // Six kilobytes of formula and setting: a key is more than the shape of the study.
        assert_ne!(plain, Key::of(&0));
        assert_eq!(plain.to_string().len(), 64);
    }
}
