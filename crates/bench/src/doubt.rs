//! What speaks against a row before it is written: told beside the field, and kept if somebody says why.

use crate::moment::seconds;
use crate::{BatchState, Nature, What};

/// What speaks against a row. None of it keeps a row out: what happened, happened.
#[derive(Clone, Debug, PartialEq)]
pub enum Doubt {
    /// Water after the dough was called right.
    AfterRight,
    /// Whole, broken and stuck would come to more than were cut.
    BeyondCut {
        /// What they would come to.
        told: i64,
        /// Pieces cut, as counted.
        cut: u32,
    },
    /// A count would be taken back below nothing.
    BelowNothing,
    /// A tray would come out that isn't in.
    NotIn {
        /// The tray.
        tray: String,
    },
    /// A tray would go in that is in.
    IsIn {
        /// The tray.
        tray: String,
    },
    /// A tray would come out before it went in.
    BeforeIn {
        /// The tray.
        tray: String,
        /// When it went in.
        entered: String,
    },
    /// A lot that the book doesn't know of this material, which has others.
    LotUnknown {
        /// The lot.
        lot: String,
        /// Those that are known.
        known: Vec<String>,
    },
}

impl Doubt {
    /// Every doubt by its word, with what is told: names in braces stand for what it is about. A page brings them along
    /// for what is entered without a connection.
    pub const WORDS: [(&'static str, &'static str); 7] = [
        (
            "after-right",
            "This dough was called right. If water went in after that, say why, and it is kept with a mark; if the titration goes on, strike ‘this dough is right’ through first.",
        ),
        (
            "beyond-cut",
            "Whole, broken and stuck would make {told} pieces, and {cut} were cut. Correct the count that is wrong; if it is so, say why, and it is kept with a mark.",
        ),
        (
            "below-nothing",
            "That would take the count below nothing. If it is so, say why, and it is kept with a mark.",
        ),
        (
            "not-in",
            "Tray {tray} isn’t in the oven. Write first when it went in; if nobody did, say why, and it is kept with a mark.",
        ),
        (
            "is-in",
            "Tray {tray} is in the oven already. Give this one another name; if it is so, say why, and it is kept with a mark.",
        ),
        (
            "before-in",
            "Tray {tray} would come out before it went in, at {entered}. The clocks of two devices may differ; if it is so, say why, and it is kept with a mark.",
        ),
        (
            "lot-unknown",
            "There is no lot ‘{lot}’ of it in the book yet; there is {known}. If it is a new one, say so, and it is kept.",
        ),
    ];

    /// In words, with the way out.
    pub fn told(&self) -> String {
        let (word, given): (&str, Vec<(&str, String)>) = match self {
            Self::AfterRight => ("after-right", Vec::new()),
            Self::BeyondCut { told, cut } => (
                "beyond-cut",
                vec![("{told}", told.to_string()), ("{cut}", cut.to_string())],
            ),
            Self::BelowNothing => ("below-nothing", Vec::new()),
            Self::NotIn { tray } => ("not-in", vec![("{tray}", tray.clone())]),
            Self::IsIn { tray } => ("is-in", vec![("{tray}", tray.clone())]),
            Self::BeforeIn { tray, entered } => (
                "before-in",
                vec![("{tray}", tray.clone()), ("{entered}", entered.clone())],
            ),
            Self::LotUnknown { lot, known } => (
                "lot-unknown",
                vec![("{lot}", lot.clone()), ("{known}", known.join(", "))],
            ),
        };
        let found = Self::WORDS.iter().find(|(w, _)| *w == word);
        let text = found.map_or("", |(_, text)| text).to_owned();
        given
            .iter()
            .fold(text, |text, (name, value)| text.replace(name, value))
    }
}

/// What speaks against a row of this word, as the batch stands. `value` is in the unit that it is kept in, `at` the
/// moment of the row, `lots` those of the material that the book knows.
///
/// ```
/// use bench::{BatchState, Counts, Doubt, What, doubts};
/// let counts = Counts { cut: Some(60), whole: 58, broken: 1, stuck: 0 };
/// let state = BatchState { counts, ..BatchState::default() };
/// let of = |n: &str| doubts(&state, What::CutStuck, None, n, "2026-03-02T09:00:00Z", &[]);
/// assert_eq!(of("1"), None);
/// assert_eq!(of("5"), Some(Doubt::BeyondCut { told: 64, cut: 60 }));
/// ```
pub fn doubts(
    state: &BatchState,
    what: What,
    of: Option<&str>,
    value: &str,
    at: &str,
    lots: &[String],
) -> Option<Doubt> {
    let tray = of.unwrap_or_default();
    let within = state
        .loads
        .iter()
        .find(|l| l.tray == tray && l.left.is_none());
    match what {
        What::Dose => state.water.right.is_some().then_some(Doubt::AfterRight),
        What::Lot => {
            let lot = value.trim();
            let known = lots.is_empty() || lots.iter().any(|l| l.eq_ignore_ascii_case(lot));
            (!known).then(|| Doubt::LotUnknown {
                lot: lot.to_owned(),
                known: lots.to_vec(),
            })
        }
        What::OvenIn => within.map(|_| Doubt::IsIn {
            tray: tray.to_owned(),
        }),
        What::OvenOut => {
            let Some(entered) = within.and_then(|l| l.entered.as_ref()) else {
                return Some(Doubt::NotIn {
                    tray: tray.to_owned(),
                });
            };
            let before = seconds(at).zip(seconds(&entered.at));
            before
                .filter(|(out, came)| out < came)
                .map(|_| Doubt::BeforeIn {
                    tray: tray.to_owned(),
                    entered: entered.at.clone(),
                })
        }
        _ if what.about().nature == Nature::Count => {
            let more: i64 = value.trim().parse().ok()?;
            let counts = &state.counts;
            let (own, told) = match what {
                What::Cut => (counts.cut.unwrap_or(0), i64::from(counts.told())),
                What::CutWhole => (counts.whole, i64::from(counts.told()) + more),
                What::CutBroken => (counts.broken, i64::from(counts.told()) + more),
                _ => (counts.stuck, i64::from(counts.told()) + more),
            };
            if i64::from(own) + more < 0 {
                return Some(Doubt::BelowNothing);
            }
            let cut = counts.cut?;
            (what != What::Cut && more > 0 && told > i64::from(cut))
                .then_some(Doubt::BeyondCut { told, cut })
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Load, Told};

    fn at(moment: &str) -> Told {
        Told {
            key: "k".to_owned(),
            id: 1,
            at: moment.to_owned(),
            who: "Ada".to_owned(),
            after_signing: false,
        }
    }

    #[test]
    fn what_speaks_against_a_row_is_told_before_it_is_written() {
        let mut state = BatchState::default();
        let now = "2026-03-02T09:10:00Z";
        let of = |state: &BatchState, what, of, value| doubts(state, what, of, value, now, &[]);
        assert_eq!(of(&state, What::Dose, None, "1"), None);
        assert_eq!(
            of(&state, What::CutWhole, None, "5"),
            None,
            "nobody counted"
        );
        assert_eq!(
            of(&state, What::CutWhole, None, "-1"),
            Some(Doubt::BelowNothing)
        );
        assert!(matches!(
            of(&state, What::OvenOut, Some("1"), "yes"),
            Some(Doubt::NotIn { .. })
        ));
        state.water.right = Some(at(now));
        assert_eq!(of(&state, What::Dose, None, "1"), Some(Doubt::AfterRight));
        state.loads.push(Load {
            tray: "1".to_owned(),
            entered: Some(at("2026-03-02T09:00:00Z")),
            left: None,
            minutes: None,
        });
        assert_eq!(of(&state, What::OvenOut, Some("1"), "yes"), None);
        assert!(matches!(
            of(&state, What::OvenIn, Some("1"), "yes"),
            Some(Doubt::IsIn { .. })
        ));
        assert_eq!(of(&state, What::OvenIn, Some("2"), "yes"), None);
        for told in [
            Doubt::AfterRight,
            Doubt::BelowNothing,
            Doubt::BeyondCut { told: 3, cut: 2 },
        ]
        .map(|d| d.told())
        {
            assert!(told.contains("say why") && !told.contains('{'), "{told}");
        }
        let early = doubts(
            &state,
            What::OvenOut,
            Some("1"),
            "yes",
            "2026-03-02T08:59:59Z",
            &[],
        );
        assert!(matches!(early, Some(Doubt::BeforeIn { .. })));
        let lots = ["F-12".to_owned()];
        let lot = |typed| doubts(&state, What::Lot, Some("barley"), typed, now, &lots);
        assert_eq!(lot("f-12 "), None);
        let told = lot("F-21").unwrap().told();
        assert!(told.contains("‘F-21’") && told.contains("F-12"), "{told}");
    }
}
