//! Comments of a study file, so that writing keeps them.

use super::reader::Reader;
use super::row::Comment;
use toml_edit::{Item, RawString};

impl Reader<'_> {
    fn slice<'s>(&'s self, raw: &'s RawString) -> &'s str {
        match raw.as_str() {
            Some(text) => text,
            None => raw
                .span()
                .and_then(|s| self.text.get(s))
                .unwrap_or_default(),
        }
    }

    pub(super) fn comment_lines(&self, raw: &RawString) -> Vec<String> {
        lines_of(self.slice(raw))
    }

    pub(super) fn comment_beside(&self, raw: &RawString) -> Option<String> {
        first_comment(self.slice(raw).lines().next().unwrap_or_default())
    }

    /// A comment on the first line, and those on lines of their own.
    pub(super) fn split_comment(&self, raw: &RawString) -> (Option<String>, Vec<String>) {
        let text = self.slice(raw);
        match text.split_once('\n') {
            Some((first, rest)) => (first_comment(first), lines_of(rest)),
            None => (first_comment(text), Vec::new()),
        }
    }

    pub(super) fn table_comment(&self, item: &Item) -> Comment {
        let decor = match item {
            Item::Table(table) => table.decor(),
            Item::Value(value) => value.decor(),
            _ => return Comment::default(),
        };
        match item {
            Item::Table(_) => Comment {
                above: decor
                    .prefix()
                    .map_or_else(Vec::new, |raw| self.comment_lines(raw)),
                beside: decor.suffix().and_then(|raw| self.comment_beside(raw)),
            },
            // A one-line table is a value under a key, and the key keeps its comment.
            _ => Comment::default(),
        }
    }
}

/// The comment lines of a text, without `#` and blanks about it.
pub(super) fn lines_of(text: &str) -> Vec<String> {
    text.lines().filter_map(first_comment).collect()
}

fn first_comment(line: &str) -> Option<String> {
    line.trim().strip_prefix('#').map(plain)
}

/// The words of a comment without characters that steer and are never seen: what is read is what is written again.
pub(super) fn plain(words: &str) -> String {
    let seen = |c: &char| !c.is_control() || *c == '\t';
    let words: String = words.chars().filter(seen).collect();
    words.trim().to_owned()
}
