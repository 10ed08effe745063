//! The desk: what was worked out lies here until it is pushed off, found again by everything it depends on.
//!
//! One bounded cache for every kind of answer. An answer is found by the canonical hash of its treatment (the model's
//! version in it) and by what was asked, so an edited cell works out one treatment and those that start from it.

use crate::answers::Worked;
use quick_cache::Weighter;
use quick_cache::sync::Cache;
use std::any::Any;
use std::fmt::{Debug, Write};
use std::sync::Arc;
use study::Figure;
use study::chain::Key;
use study::compare::bridge::Depth;

/// Bytes that all answers together may take, about.
const MOST_BYTES: u64 = 96 << 20;
/// Answers expected at once; the cache grows past it up to its bytes.
const USUAL_ANSWERS: usize = 1024;

/// What is asked of a treatment.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) enum Question {
    /// The whole chain.
    Run,
    /// The cross-section through time in so many frames.
    CrossSection(usize),
    /// Which settings would help most.
    Sensitivities,
    /// Output against dough water.
    WaterCurve,
    /// The time after the oven.
    AfterOven,
    /// What the changes of the trade do to checking.
    CheckingChanges,
    /// Bridges from the control to a treatment, both in the key.
    Bridges(Depth),
    /// What to try for a figure.
    Tries(Figure),
    /// How sure the answers of a study are, all treatments in the key.
    Spread,
    /// What a revision of a study told, its thing and number in the key.
    Saved,
}

/// What can lie here: anything that can be written out, by which it is weighed.
pub(crate) trait Kept: Any + Send + Sync + Debug {}
impl<A: Any + Send + Sync + Debug> Kept for A {}

/// An answer and the bytes that it takes, about.
#[derive(Clone, Debug)]
struct Laid {
    answer: Arc<dyn Any + Send + Sync>,
    bytes: u64,
}

type Answer = Result<Laid, String>;

/// Bytes of a value: its own, and what hangs on it as the length of its text. A number's text is mostly longer than
/// the number, and what several answers share counts for each, so it is rather too much than too little.
fn bytes_of<A: Kept>(answer: &A) -> u64 {
    // A run is laid here while somebody waits, and writing out its thousands of numbers takes as long as a bake.
    if let Some(worked) = (answer as &dyn Any).downcast_ref::<Worked>() {
        return worked.bytes();
    }
    struct Length(u64);
    impl Write for Length {
        fn write_str(&mut self, text: &str) -> std::fmt::Result {
            self.0 += text.len() as u64;
            Ok(())
        }
    }
    let mut length = Length(size_of::<A>() as u64);
    let _counting_never_fails = write!(length, "{answer:?}");
    length.0
}

#[derive(Clone, Debug)]
struct Bytes;

impl Weighter<(Key, Question), Answer> for Bytes {
    fn weight(&self, _: &(Key, Question), answer: &Answer) -> u64 {
        match answer {
            Ok(laid) => laid.bytes,
            Err(why) => 200 + why.len() as u64,
        }
    }
}

/// Everything worked out and not yet pushed off.
#[derive(Debug)]
pub(crate) struct Desk(Cache<(Key, Question), Answer, Bytes>);

impl Default for Desk {
    fn default() -> Self {
        Self(Cache::with_weighter(USUAL_ANSWERS, MOST_BYTES, Bytes))
    }
}

impl Desk {
    /// What lies here for a question.
    pub fn find<A: Kept>(&self, key: Key, question: Question) -> Option<Result<Arc<A>, String>> {
        match self.0.get(&(key, question))? {
            Ok(laid) => laid.answer.downcast().ok().map(Ok),
            Err(why) => Some(Err(why)),
        }
    }

    /// Lays an answer here.
    pub fn lay<A: Kept>(
        &self,
        key: Key,
        question: Question,
        answer: Result<A, String>,
    ) -> Result<Arc<A>, String> {
        let answer = answer.map(Arc::new);
        let kept: Answer = match &answer {
            Ok(answer) => Ok(Laid {
                bytes: bytes_of(&**answer),
                answer: Arc::clone(answer) as Arc<dyn Any + Send + Sync>,
            }),
            Err(why) => Err(why.clone()),
        };
        self.0.insert((key, question), kept);
        answer
    }

    /// What lies here, else what `work` gives. Two that ask at once may both work: neither waits for the other.
    pub fn ask<A: Kept>(
        &self,
        key: Key,
        question: Question,
        work: impl FnOnce() -> Result<A, String>,
    ) -> Result<Arc<A>, String> {
        self.find(key, question)
            .unwrap_or_else(|| self.lay(key, question, work()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_answer_is_found_by_what_it_depends_on_and_old_ones_are_pushed_off() {
        let desk = Desk::default();
        let key = |n: u64| Key::of_bytes(&n.to_le_bytes());
        let asked = Question::CrossSection(240);
        assert_eq!(*desk.ask(key(1), asked, || Ok(7_u32)).unwrap(), 7);
        assert_eq!(*desk.ask(key(1), asked, || Ok(8_u32)).unwrap(), 7);
        assert_eq!(*desk.ask(key(2), asked, || Ok(8_u32)).unwrap(), 8);
        assert_eq!(
            desk.ask::<u32>(key(3), asked, || Err("no".into())),
            Err("no".into())
        );
        for n in 10..200 {
            let large = || Ok(vec![n as f64 + 0.123_456_789; 100_000]);
            desk.ask(key(n), asked, large).unwrap();
        }
        assert!(desk.0.weight() <= MOST_BYTES);
        assert!(desk.0.len() < 120, "{}", desk.0.len());
    }

    /// The bytes of a vector of numbers are known: eight for each (IEEE 754), beside the vector itself.
    #[test]
    fn an_answer_weighs_at_least_what_it_takes_and_not_much_more() {
        let numbers: Vec<f64> = (0..1000).map(|n| f64::from(n) * 1.000_000_7).collect();
        let takes = 8 * numbers.len() as u64;
        let weighs = bytes_of(&numbers);
        assert!(weighs >= takes && weighs < 4 * takes, "{weighs} of {takes}");
        // What hangs on an answer counts, however small the answer itself is.
        assert!(bytes_of(&Arc::new(numbers)) >= takes);
    }
}
