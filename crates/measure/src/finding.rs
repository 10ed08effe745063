//! Something a person should know beside a result: data, not an error.

use crate::Code;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How much a finding weighs.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// Good to know.
    Note,
    /// Look before going on.
    Warn,
    /// Do not go on before this is settled.
    Stop,
}

impl Severity {
    /// The word shown to people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Warn => "caution",
            Self::Stop => "stop",
        }
    }
}

/// A finding: what it concerns, what is so, what to do, and how that is known.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Finding {
    /// How much it weighs.
    pub severity: Severity,
    /// Stable short name, lower case with hyphens, e.g. `composition-does-not-close`.
    pub code: Code,
    /// The thing it stands beside: a material, line or result, e.g. `material:hops`, `bake.time_min`.
    pub about: String,
    /// What is so, in one sentence for the person at the bench.
    pub message: String,
    /// What to do about it.
    pub help: String,
    /// Source and grade in words; empty when the finding is arithmetic.
    pub source: String,
}

impl Finding {
    /// A finding without help or source; add them with the methods below.
    pub fn new(
        severity: Severity,
        code: impl Into<Code>,
        about: impl Into<String>,
        message: impl Into<String>,
    ) -> Self {
        Self {
            severity,
            code: code.into(),
            about: about.into(),
            message: message.into(),
            help: String::new(),
            source: String::new(),
        }
    }

    /// Adds what to do.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = help.into();
        self
    }

    /// Adds source and grade in words.
    #[must_use]
    pub fn source(mut self, source: impl Into<String>) -> Self {
        self.source = source.into();
        self
    }
}
