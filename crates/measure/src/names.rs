//! Names that look like a misspelt one.

/// Longer words can't be misspelt names, and comparing them with every name would take long.
const LONGEST: usize = 80;
/// How alike a name that holds the whole word is.
const HOLDS: f64 = 0.9;
/// How alike names with the same parts in another order are: a little under 1, so that spelling wins ties.
const SAME_PARTS: f64 = 0.95;
/// Names less alike than this aren't meant.
const LEAST: f64 = 0.5;

/// Up to three of `names` that look most like `word`, best first; empty when none is near.
///
/// ```
/// use measure::names::closest;
/// let names = ["barley_flour", "rice_flour_white", "canola_oil", "salt", "salt"];
/// assert_eq!(closest("barly flour", names)[0], "barley_flour");
/// assert_eq!(closest("flour_barley", names)[0], "barley_flour");
/// assert_eq!(closest("oil", names), ["canola_oil"]);
/// assert_eq!(closest("slat", names), ["salt"]);
/// assert!(closest("zzz", names).is_empty());
/// assert!(closest(&"x".repeat(1_000_000), names).is_empty());
/// ```
pub fn closest<'a>(word: &str, names: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    closest_called(word, names.into_iter().map(|name| (name, name)))
}

/// The same for things that have a name shown to people beside their own; either may be meant.
///
/// ```
/// use measure::names::closest_called;
/// let shelf = [("poultry_fat", "Chicken fat"), ("chicken_meal", "Chicken meal")];
/// assert_eq!(closest_called("chicken_fat", shelf)[0], "poultry_fat");
/// ```
pub fn closest_called<'a>(
    word: &str,
    names: impl IntoIterator<Item = (&'a str, &'a str)>,
) -> Vec<&'a str> {
    if word.len() > LONGEST {
        return Vec::new();
    }
    let word = one_word(word);
    let mut near: Vec<(f64, &str)> = names
        .into_iter()
        .map(|(name, shown)| {
            let called = alike(&word, &one_word(shown));
            (alike(&word, &one_word(name)).max(called), name)
        })
        .filter(|(alike, _)| *alike > LEAST)
        .collect();
    near.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
    // What two lists hold is told once.
    near.dedup_by_key(|(_, name)| *name);
    near.into_iter().take(3).map(|(_, name)| name).collect()
}

fn one_word(text: &str) -> String {
    text.to_lowercase().replace([' ', '-'], "_")
}

/// How alike a word and a name are, 0 to 1: by spelling, by their parts, or because one holds the other.
fn alike(word: &str, name: &str) -> f64 {
    let spelt = strsim::normalized_damerau_levenshtein(word, name);
    let holds = word.len() > 2 && name.contains(word);
    spelt
        .max(shared_parts(word, name))
        .max(if holds { HOLDS } else { 0.0 })
}

fn shared_parts(a: &str, b: &str) -> f64 {
    let parts = |s: &str| -> Vec<String> {
        s.split(|c: char| !c.is_alphanumeric())
            .filter(|p| p.len() > 2)
            .map(str::to_owned)
            .collect()
    };
    let (a, b) = (parts(a), parts(b));
    let longest = a.len().max(b.len());
    if longest == 0 {
        return 0.0;
    }
    let shared = a.iter().filter(|p| b.contains(p)).count();
    SAME_PARTS * shared as f64 / longest as f64
}
