//! How a dangerous ingredient is recognised: by what people call it, in four languages, and by its
//! E number.

/// What a thing is called.
///
/// Several words stand in that order. A word of five letters or more matches the beginning of a
/// word, so `raisin` finds "raisins" and "raisinbread"; a shorter one matches itself and its plural
/// with `s`. Accents don't matter, and `ä` may be written `ae` or `a`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Names {
    /// English.
    pub en: &'static [&'static str],
    /// German.
    pub de: &'static [&'static str],
    /// French.
    pub fr: &'static [&'static str],
    /// Spanish.
    pub es: &'static [&'static str],
    /// Numbers of EU food additives, without the `E`; `E 967`, `E-967`, `e967i` and `INS 967` are found.
    pub e: &'static [&'static str],
    /// Words that look like it and aren't.
    pub except: &'static [&'static str],
    /// One of these words has to stand there too, or a denied one of `unless`; empty = no need.
    pub with: &'static [&'static str],
    /// Any of these words quiets it, unless it is denied ("not cooked").
    pub unless: &'static [&'static str],
}

/// No names yet.
pub(crate) const NO_NAMES: Names = Names::NONE;

impl Names {
    /// No names yet: what isn't written of a thing stays empty.
    pub const NONE: Self = Self {
        en: &[],
        de: &[],
        fr: &[],
        es: &[],
        e: &[],
        except: &[],
        with: &[],
        unless: &[],
    };

    /// Whether any of the texts names it.
    ///
    /// ```
    /// use formula::cautions::Names;
    /// let sorbitol = Names { en: &["sorbitol"], e: &["420"], ..Names::NONE };
    /// assert!(sorbitol.found_in(&["Sweetener E-420"]));
    /// assert!(!sorbitol.found_in(&["E 4200", "sorbate"]));
    /// ```
    pub fn found_in(&self, texts: &[&str]) -> bool {
        self.folded().named_in(&Text::of(texts))
    }

    /// Every name, the E numbers written with their `e`.
    pub fn all(&self) -> impl Iterator<Item = String> {
        let words = [self.en, self.de, self.fr, self.es].concat();
        let numbers = self.e.iter().map(|number| format!("e{number}"));
        words.into_iter().map(str::to_owned).chain(numbers)
    }

    pub(crate) fn folded(&self) -> Folded {
        let fold = |list: &[&str]| list.iter().map(|name| Phrase::new(name)).collect();
        Folded {
            phrases: self.all().map(|name| Phrase::new(&name)).collect(),
            except: fold(self.except),
            with: fold(self.with),
            unless: fold(self.unless),
        }
    }
}

/// A name ready to be compared.
struct Phrase {
    words: Vec<String>,
    /// The mark of how its first word begins: most names are ruled out by it alone.
    begins: u64,
}

impl Phrase {
    fn new(name: &str) -> Self {
        let words = words(name);
        Self {
            begins: words.first().map_or(0, |w| beginning(w)),
            words,
        }
    }

    /// Where it stands in a text, first to last.
    fn positions<'a>(&'a self, text: &'a Text) -> impl Iterator<Item = usize> + 'a {
        let may = self.begins & text.beginnings != 0;
        let windows = may.then(|| text.words.windows(self.words.len()));
        windows
            .into_iter()
            .flatten()
            .enumerate()
            .filter(|(_, window)| {
                window
                    .iter()
                    .zip(&self.words)
                    .all(|(word, want)| same(want, word))
            })
            .map(|(at, _)| at)
    }

    /// Where it stands first.
    fn position(&self, text: &Text) -> Option<usize> {
        self.positions(text).next()
    }

    /// Whether it stands in a text without a word of denial before it.
    fn stands_undenied(&self, text: &Text) -> bool {
        self.positions(text).any(|at| !text.denied(at))
    }
}

/// Words that deny what follows.
pub(crate) const NEGATIONS: &[&str] = &[
    "no", "not", "non", "never", "without", "nicht", "kein", "keine", "ohne", "nie", "pas", "sans",
    "jamais", "sin", "nunca",
];

/// Words that may stand between a denial and what it denies.
const BETWEEN: &[&str] = &[
    "yet",
    "fully",
    "completely",
    "been",
    "pre",
    "noch",
    "ganz",
    "encore",
    "entierement",
    "aun",
    "todavia",
    "completamente",
];

/// One of 64 bits by the first two bytes of a word.
fn beginning(word: &str) -> u64 {
    let mut bytes = word.bytes().map(u32::from);
    let first = bytes.next().unwrap_or(0);
    let second = bytes.next().unwrap_or(0);
    1 << ((first * 31 + second) % 64)
}

/// Names ready to be compared.
pub(crate) struct Folded {
    phrases: Vec<Phrase>,
    except: Vec<Phrase>,
    with: Vec<Phrase>,
    unless: Vec<Phrase>,
}

impl Folded {
    /// Whether a text says one of its words and denies it wherever it stands.
    pub(crate) fn denied_in(&self, text: &Text) -> bool {
        !self.said_in(text) && self.phrases.iter().any(|p| p.position(text).is_some())
    }

    /// Whether a text says one of its words without denying it.
    pub(crate) fn said_in(&self, text: &Text) -> bool {
        self.phrases.iter().any(|p| p.stands_undenied(text))
    }

    /// Whether a text names it.
    pub(crate) fn named_in(&self, text: &Text) -> bool {
        let stands = |list: &[Phrase], text: &Text| list.iter().any(|p| p.position(text).is_some());
        if !stands(&self.phrases, text)
            || self.unless.iter().any(|p| p.stands_undenied(text))
            // What is denied to be cooked is as good as said to be raw.
            || (!self.with.is_empty() && !stands(&self.with, text) && !stands(&self.unless, text))
        {
            return false;
        }
        if self.except.is_empty() {
            return true;
        }
        let mut masked = text.clone();
        for phrase in &self.except {
            while let Some(at) = phrase.position(&masked) {
                for word in &mut masked.words[at..at + phrase.words.len()] {
                    PART.clone_into(word);
                }
            }
        }
        stands(&self.phrases, &masked)
    }
}

/// Parts one text from the next, so that no phrase is read across them.
const PART: &str = "|";

/// Words to be looked through.
#[derive(Clone)]
pub(crate) struct Text {
    words: Vec<String>,
    /// The marks of how its words begin, all in one.
    beginnings: u64,
}

impl Text {
    /// The words of several texts.
    pub(crate) fn of(texts: &[&str]) -> Self {
        let mut all = Vec::new();
        for text in texts {
            all.extend(words(text));
            all.push(PART.to_owned());
        }
        Self {
            beginnings: all.iter().fold(0, |marks, word| marks | beginning(word)),
            words: all,
        }
    }

    /// Whether a word of denial stands before a place.
    fn denied(&self, at: usize) -> bool {
        self.words[..at]
            .iter()
            .rev()
            .find(|word| !BETWEEN.contains(&word.as_str()))
            .is_some_and(|word| NEGATIONS.contains(&word.as_str()))
    }

    /// Whether one of these words stands in it.
    pub(crate) fn has_any(&self, wanted: &[&str]) -> bool {
        self.words.iter().any(|w| wanted.contains(&w.as_str()))
    }
}

/// Lower-case words without accents, anything but letters and digits parting them; `E 967` is one
/// word, but the amount of vitamin E 250 is none: not after the word vitamin, nor before units of it.
fn words(text: &str) -> Vec<String> {
    let mut list: Vec<String> = Vec::new();
    let folded = fold(text);
    let mut parts = folded
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .peekable();
    while let Some(word) = parts.next() {
        let of_vitamin = |before: Option<&String>| {
            before.is_some_and(|word| word == "vit" || word.contains("vitamin"))
        };
        if let Some(amount) = word.strip_prefix('e')
            && !amount.is_empty()
            && amount.bytes().all(|b| b.is_ascii_digit())
            && of_vitamin(list.last())
        {
            list.extend(["e".to_owned(), amount.to_owned()]);
            continue;
        }
        let an_amount = of_vitamin(list.iter().rev().nth(1))
            || parts.peek().is_some_and(|unit| UNITS.contains(unit));
        let number = word.starts_with(|c: char| c.is_ascii_digit())
            && (3..=6).contains(&word.len())
            && word[..3].bytes().all(|b| b.is_ascii_digit());
        match list.last_mut() {
            Some(last) if number && !an_amount && (last == "e" || last == "ins") => {
                *last = format!("e{word}")
            }
            _ => list.push(word.to_owned()),
        }
    }
    list
}

/// International units in four languages.
const UNITS: &[&str] = &["iu", "ie", "ui"];

/// Lower case, accents off, `ae`, `oe`, `ue` as `a`, `o`, `u`.
fn fold(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for c in text.chars().flat_map(char::to_lowercase) {
        match c {
            'à' | 'á' | 'â' | 'ã' | 'ä' | 'å' | 'æ' => plain.push('a'),
            'ç' => plain.push('c'),
            'è' | 'é' | 'ê' | 'ë' => plain.push('e'),
            'ì' | 'í' | 'î' | 'ï' => plain.push('i'),
            'ñ' => plain.push('n'),
            'ò' | 'ó' | 'ô' | 'õ' | 'ö' | 'œ' => plain.push('o'),
            'ù' | 'ú' | 'û' | 'ü' => plain.push('u'),
            'ß' => plain.push_str("ss"),
            'e' if plain.ends_with(['a', 'o', 'u']) => {}
            // Combining accents of decomposed text.
            '\u{300}'..='\u{36f}' => {}
            _ => plain.push(c),
        }
    }
    plain
}

fn same(want: &str, word: &str) -> bool {
    if let Some(rest) = word.strip_prefix(want)
        && (rest.is_empty() || rest == "s")
    {
        return true;
    }
    let number = |w: &str| w.len() >= 4 && w.starts_with('e') && w.as_bytes()[1].is_ascii_digit();
    if number(want) {
        // E 220 isn't E 2200; E 407a and E 472e are of the kin.
        return word
            .strip_prefix(want)
            .is_some_and(|rest| rest.len() <= 4 && rest.bytes().all(|b| b.is_ascii_lowercase()));
    }
    want.len() >= 5 && word.starts_with(want)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn accents_and_ways_of_writing_numbers_make_no_difference() {
        for (name, text) in [
            ("Teebaumöl", "TEEBAUMOEL"),
            ("Teebaumöl", "Teebaumol, rein"),
            ("huile d'arbre à thé", "Huile d’arbre a the"),
            ("e967", "Sweetener E 967"),
            ("e967", "E-967"),
            ("e223", "(E223i)"),
            ("e171", "INS 171"),
            ("e250", "Vitamin E, E 250"),
            ("e320", "vitamin A, E320"),
        ] {
            assert!(
                Phrase::new(name).position(&Text::of(&[text])).is_some(),
                "{text}"
            );
        }
        for (name, text) in [
            ("e220", "E 2200"),
            ("ail", "aileron"),
            ("uva", "uvaria"),
            ("e250", "Vitamin E 250"),
            ("e250", "vitamine E-250 mg/kg"),
            ("e320", "Vitamina E320"),
            ("e320", "vit. E 320"),
            ("e250", "A 500 IU, E 250 IU/kg"),
        ] {
            assert!(
                Phrase::new(name).position(&Text::of(&[text])).is_none(),
                "{text}"
            );
        }
    }
}
