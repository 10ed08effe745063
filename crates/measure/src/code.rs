//! The short stable name of a finding, always one of a crate's list.

use schemars::JsonSchema;
use serde::{Serialize, Serializer};

/// A list of codes, as [`codes!`](crate::codes) makes it: what a [`Code`] can come from.
pub trait Listed: Copy + 'static {
    /// Every code of the list.
    const ALL: &'static [Self];
    /// The code as it is written, lower case with hyphens.
    fn word(self) -> &'static str;
    /// What it means, in one sentence.
    fn meaning(self) -> &'static str;
}

/// What a finding is called: one of the codes that the crates list, whichever list it is from.
///
/// There is no way from a text to a code, so none can be misspelt; as JSON it is its word.
///
/// ```
/// measure::codes! {
///     /// What is said of a sieve.
///     pub enum Sieve {
///         /// The meshes are worn.
///         MeshWorn = "mesh-worn",
///     }
/// }
/// let code = measure::Code::from(Sieve::MeshWorn);
/// assert!(code == Sieve::MeshWorn && code.word() == "mesh-worn");
/// assert_eq!(code.meaning(), "The meshes are worn.");
/// ```
///
/// ```compile_fail
/// let code = measure::Code::from("mesh-worn");
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, JsonSchema)]
#[schemars(with = "String")]
pub struct Code {
    word: &'static str,
    meaning: &'static str,
}

impl Code {
    /// The code as it is written, lower case with hyphens.
    pub const fn word(self) -> &'static str {
        self.word
    }

    /// What it means, in one sentence.
    pub const fn meaning(self) -> &'static str {
        self.meaning
    }
}

impl<L: Listed> From<L> for Code {
    fn from(listed: L) -> Self {
        Self {
            word: listed.word(),
            meaning: listed.meaning(),
        }
    }
}

impl<L: Listed> PartialEq<L> for Code {
    fn eq(&self, listed: &L) -> bool {
        self.word == listed.word()
    }
}

impl Serialize for Code {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(self.word)
    }
}

/// Makes a crate's list of codes: each with what it means and its word, which is the variant's
/// name in lower case with hyphens.
#[macro_export]
macro_rules! codes {
    ($(#[$about:meta])* $vis:vis enum $name:ident {
        $(#[doc = $meaning:literal] $code:ident = $word:literal,)+
    }) => {
        $(#[$about])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        $vis enum $name {
            $(#[doc = $meaning] $code,)+
        }

        impl $name {
            /// The code as it is written, lower case with hyphens.
            pub const fn word(self) -> &'static str {
                match self {
                    $(Self::$code => $word,)+
                }
            }
        }

        impl $crate::Listed for $name {
            const ALL: &'static [Self] = &[$(Self::$code),+];

            fn word(self) -> &'static str {
                self.word()
            }

            fn meaning(self) -> &'static str {
                match self {
                    $(Self::$code => $meaning.trim_ascii(),)+
                }
            }
        }
    };
}
