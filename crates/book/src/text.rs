//! A saved form as a text file beside the book, with its hash, for whoever has no more than a text editor.

use std::path::PathBuf;

use sha2::{Digest, Sha256};

use crate::chain::hexadecimal;
use crate::files::{beside, own_folder, put};
use crate::{Book, BookError, Revision};

impl Book {
    /// Writes a revision's form beside the book as `NAME.texts/THING/NUMBER.toml`, and beside that its hash as
    /// `NUMBER.sha256`, which `sha256sum -c` reads. Gives where the text is; what is there already is written anew.
    ///
    /// # Errors
    /// What keeps the files from being written. The revision is in the book either way.
    pub async fn write_text(&self, revision: &Revision) -> Result<PathBuf, BookError> {
        let entry = &revision.entry;
        let (path, hash_path) = self.text_paths(&entry.thing, entry.number);
        if let Some(folder) = path.parent() {
            own_folder(folder)?;
        }
        put(&path, &revision.form)?;
        let hash = hexadecimal(&Sha256::digest(revision.form.as_bytes()));
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let line = |text: &str| text.replace(char::is_control, " ");
        let note = format!(
            "# {} ‘{}’, revision {}, place {} in the book, saved {} by {}\n# chain {}\n{hash}  {name}\n",
            entry.kind,
            line(&entry.title),
            entry.number,
            entry.id,
            entry.when,
            line(&entry.who),
            entry.hash,
        );
        put(&hash_path, &note)?;
        Ok(path)
    }

    /// Whether the text of a revision was written.
    pub fn has_text(&self, thing: &str, number: u64) -> bool {
        let (text, hash) = self.text_paths(thing, number);
        text.is_file() && hash.is_file()
    }

    fn text_paths(&self, thing: &str, number: u64) -> (PathBuf, PathBuf) {
        let folder = beside(self.path(), ".texts").join(plain(thing));
        let file = |ending: &str| folder.join(format!("{number:06}.{ending}"));
        (file("toml"), file("sha256"))
    }
}

/// A lasting name as the name of a folder: what isn't a letter, digit or hyphen of ASCII as `_` and its bytes.
fn plain(thing: &str) -> String {
    let mut name = String::new();
    for byte in thing.bytes() {
        if byte.is_ascii_alphanumeric() || byte == b'-' {
            name.push(char::from(byte));
        } else {
            name.push_str(&format!("_{byte:02x}"));
        }
    }
    // No file system takes more than 255 bytes; the hash keeps apart what was cut.
    if name.len() > 200 {
        let hash = hexadecimal(&Sha256::digest(thing.as_bytes()));
        name.truncate(150);
        name.push('_');
        name.push_str(&hash[..32]);
    }
    name
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn odd_names_are_plain_folders_and_stay_apart() {
        assert_eq!(plain("spent-grain-2"), "spent-grain-2");
        assert_eq!(plain("../etc"), "_2e_2e_2fetc");
        let (one, two) = ("é".repeat(99) + "a", "é".repeat(99) + "b");
        assert!(plain(&one).len() < 200 && plain(&one) != plain(&two));
    }
}
