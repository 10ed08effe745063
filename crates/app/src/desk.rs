//! The desk: what was worked out lies here until it is pushed off, found again by everything it depends on.
//!
//! One bounded cache for every kind of answer. An answer is found by the canonical hash of its treatment (the model's
//! version in it) and by what was asked, so an edited cell works out one treatment and those that start from it.

use quick_cache::Weighter;
use quick_cache::sync::Cache;
use std::any::Any;
use std::sync::Arc;
use study::chain::Key;

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
}

impl Question {
    /// About what an answer takes.
    const fn bytes(self) -> u64 {
        match self {
            Self::Run => 120_000,
            Self::CrossSection(frames) => 4_000 + 1_100 * frames as u64,
            Self::AfterOven => 200_000,
            Self::Sensitivities | Self::WaterCurve | Self::CheckingChanges => 8_000,
        }
    }
}

type Answer = Result<Arc<dyn Any + Send + Sync>, String>;

#[derive(Clone, Debug)]
struct Bytes;

impl Weighter<(Key, Question), Answer> for Bytes {
    fn weight(&self, (_, question): &(Key, Question), answer: &Answer) -> u64 {
        match answer {
            Ok(_) => question.bytes(),
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
    pub fn find<A: Any + Send + Sync>(
        &self,
        key: Key,
        question: Question,
    ) -> Option<Result<Arc<A>, String>> {
        match self.0.get(&(key, question))? {
            Ok(answer) => answer.downcast().ok().map(Ok),
            Err(why) => Some(Err(why)),
        }
    }

    /// Lays an answer here.
    pub fn lay<A: Any + Send + Sync>(
        &self,
        key: Key,
        question: Question,
        answer: Result<A, String>,
    ) -> Result<Arc<A>, String> {
        let answer = answer.map(Arc::new);
        let kept: Answer = match &answer {
            Ok(answer) => Ok(Arc::clone(answer) as Arc<dyn Any + Send + Sync>),
            Err(why) => Err(why.clone()),
        };
        self.0.insert((key, question), kept);
        answer
    }

    /// What lies here, else what `work` gives. Two that ask at once may both work: neither waits for the other.
    pub fn ask<A: Any + Send + Sync>(
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
        for n in 10..2000 {
            desk.ask(key(n), asked, || Ok(n)).unwrap();
        }
        assert!(desk.0.weight() <= MOST_BYTES);
        assert!(desk.0.len() < 1000, "{}", desk.0.len());
    }
}
