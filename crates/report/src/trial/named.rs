//! An analysis as people call the treatments: the short names of its table become names, and nothing else changes.

use trials::analyse::Analysis;

/// The analysis with each short name told as its name. Combinations of levels, joined by colons, are told part by part.
pub fn named(found: &Analysis, names: &[(String, String)]) -> Analysis {
    let mut found = found.clone();
    if names.is_empty() {
        return found;
    }
    let level = |text: &mut String| {
        let parts = text.split(':').map(|part| called(part, names));
        *text = parts.collect::<Vec<_>>().join(":");
    };
    found.means.iter_mut().for_each(|m| level(&mut m.level));
    found.residuals.iter_mut().for_each(|r| level(&mut r.level));
    for c in found.comparisons.iter_mut().chain(&mut found.by_ranks) {
        level(&mut c.a);
        level(&mut c.b);
    }
    for e in &mut found.equivalence {
        level(&mut e.a);
        level(&mut e.b);
    }
    for b in &mut found.beliefs {
        level(&mut b.a);
        level(&mut b.b);
    }
    found.sentence = in_words(&found.sentence, names);
    for finding in &mut found.findings {
        finding.message = in_words(&finding.message, names);
    }
    let all = found.with_all_rows.take();
    found.with_all_rows = all.map(|all| Box::new(named(&all, names)));
    found
}

/// What a level is called.
pub(super) fn called<'a>(level: &'a str, names: &'a [(String, String)]) -> &'a str {
    let found = names.iter().find(|(short, _)| short == level);
    found.map_or(level, |(_, name)| name)
}

/// A text with each short name that stands in it as a word told as its name; what was put in isn’t looked at again.
fn in_words(text: &str, names: &[(String, String)]) -> String {
    let inside = |c: char| c.is_alphanumeric() || c == '_' || c == '-';
    let mut out = String::with_capacity(text.len() + 64);
    let mut rest = text;
    let mut before = None;
    while let Some(letter) = rest.chars().next() {
        let at_start = !before.is_some_and(inside);
        let whole = |short: &str| {
            let after = rest.strip_prefix(short)?;
            (!short.is_empty() && !after.starts_with(inside)).then_some(after)
        };
        let fits = names.iter().filter(|_| at_start);
        let found = fits
            .filter_map(|(short, name)| Some((short.len(), name, whole(short)?)))
            .max_by_key(|(length, ..)| *length);
        match found {
            Some((_, name, after)) => {
                out.push_str(name);
                before = rest[..rest.len() - after.len()].chars().next_back();
                rest = after;
            }
            None => {
                out.push(letter);
                before = Some(letter);
                rest = &rest[letter.len_utf8()..];
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn short_names_are_told_as_names_where_they_stand_as_words() {
        let names = [
            ("rice".to_owned(), "Rice and barley".to_owned()),
            ("rice_egg".to_owned(), "Rice with egg".to_owned()),
            ("barley".to_owned(), "Barley for rice".to_owned()),
        ];
        let told = in_words(
            "Force of rice_egg is higher than that of barley, rice; not of price.",
            &names,
        );
        assert_eq!(
            told,
            "Force of Rice with egg is higher than that of Barley for rice, Rice and barley; not of price."
        );
        assert_eq!(in_words("", &names), "");
        assert_eq!(called("rice", &names), "Rice and barley");
        assert_eq!(called("oat", &names), "oat");
    }
}
