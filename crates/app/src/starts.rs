//! What a new study starts from.

/// A start: a plain control with a piece, an oven and a way of forming that go together.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Start {
    /// A round, sheeted piece and a band oven.
    #[default]
    Plain,
    /// A sheeted bar with docker holes and a band oven.
    SheetedBar,
    /// A bone from a rotary moulder, on a mesh band.
    RotaryBone,
    /// Rounds in a bench oven, tray by tray.
    BenchBatch,
    /// Small moulded bits for cats.
    CatBits,
}

impl Start {
    /// Every start.
    pub const ALL: [Self; 5] = [
        Self::Plain,
        Self::SheetedBar,
        Self::RotaryBone,
        Self::BenchBatch,
        Self::CatBits,
    ];

    /// The word in forms.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::SheetedBar => "sheeted-bar",
            Self::RotaryBone => "rotary-bone",
            Self::BenchBatch => "bench-batch",
            Self::CatBits => "cat-bits",
        }
    }

    /// What it is, for people.
    pub const fn about(self) -> &'static str {
        match self {
            Self::Plain => "a plain round, band oven",
            Self::SheetedBar => "a sheeted bar, band oven",
            Self::RotaryBone => "a rotary moulded bone, mesh band",
            Self::BenchBatch => "a batch in a bench oven",
            Self::CatBits => "moulded bits for cats",
        }
    }

    /// The start that a word names.
    pub fn of(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|s| s.word() == word)
    }

    /// Its text.
    pub(crate) const fn text(self) -> &'static str {
        match self {
            Self::Plain => include_str!("starts/plain.toml"),
            Self::SheetedBar => include_str!("starts/sheeted_bar.toml"),
            Self::RotaryBone => include_str!("starts/rotary_bone.toml"),
            Self::BenchBatch => include_str!("starts/bench_batch.toml"),
            Self::CatBits => include_str!("starts/cat_bits.toml"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use study::{BakeOptions, compare};

    /// A start is no start when it stops somebody, or doesn't get dry.
    #[test]
    fn every_start_bakes_without_a_stop() {
        for start in Start::ALL {
            let study =
                study::written::read(start.text()).unwrap_or_else(|p| panic!("{start:?}: {p:#?}"));
            let compared = compare(&study, &[], &BakeOptions::QUICK).unwrap();
            let answer = &compared[0].answer;
            assert!(answer.bake.reached, "{start:?}: {:?}", answer.bake.limit);
            let stop = answer
                .findings
                .iter()
                .find(|f| f.severity == measure::Severity::Stop);
            assert!(stop.is_none(), "{start:?}: {stop:?}");
            assert_eq!(Start::of(start.word()), Some(start));
        }
    }
}
