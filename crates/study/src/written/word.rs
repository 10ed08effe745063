//! Words of a study file that stand for one of several things.

/// A thing that a study file names by a word.
pub trait Word: Copy + 'static {
    /// Every one, in the order in which they are told.
    fn all() -> Vec<Self>;

    /// Its word in a study file.
    fn written(self) -> &'static str;

    /// The one with a word.
    fn of(word: &str) -> Option<Self> {
        Self::all().into_iter().find(|w| w.written() == word)
    }
}

/// The words of all.
pub fn words<W: Word>() -> Vec<&'static str> {
    W::all().into_iter().map(W::written).collect()
}

/// An enum with `ALL` that is named by a function of its own.
macro_rules! word {
    ($($of:ty: $word:expr;)*) => {
        $(impl $crate::written::word::Word for $of {
            fn all() -> Vec<Self> {
                <$of>::ALL.iter().copied().collect()
            }
            fn written(self) -> &'static str {
                let word: fn(Self) -> &'static str = $word;
                word(self)
            }
        })*
    };
}
pub(super) use word;
