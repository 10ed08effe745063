//! The room of long work: each job runs beside the threads that answer requests, one after another, tells how far it
//! is, and can be stopped. A job belongs to what went in; an edit makes its answer an old one.

use crate::AppError;
use std::any::Any;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use study::chain::Key;

/// Jobs that are remembered, running or ended.
const MOST_JOBS: usize = 12;

/// How a question stands.
#[derive(Clone, Debug)]
pub enum JobState<A> {
    /// It wasn't asked for these inputs.
    NotAsked,
    /// It is being worked on; the share that is done.
    Running(f64),
    /// Answered.
    Done(Arc<A>),
    /// It can't be answered, and why.
    Failed(String),
}

/// What a job is about: a treatment of a study, whose name alone other studies may have as well.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct About {
    /// The study's lasting name.
    pub study: String,
    /// The treatment.
    pub treatment: String,
}

/// Which job: what it is about, everything that goes in, and what is asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct JobId {
    /// What it is about: a newer job of the same question about it stops this one.
    pub about: About,
    /// Everything that goes in.
    pub key: Key,
    /// The question.
    pub question: &'static str,
}

/// How work ends that was not answered.
pub(crate) enum Unanswered {
    /// It was told to stop.
    Stopped,
    /// It can't be answered, and why.
    Failed(String),
}

type Ended = Result<Arc<dyn Any + Send + Sync>, Option<String>>;

#[derive(Debug)]
struct Job {
    id: JobId,
    /// Bits of the share that is done.
    done: Arc<AtomicU64>,
    stop: Arc<AtomicBool>,
    ended: Arc<Mutex<Option<Ended>>>,
}

fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Job {
    fn ended(&self) -> Option<Ended> {
        held(&self.ended).clone()
    }
}

/// The jobs, the newest last, and the one place where they work.
#[derive(Debug, Default)]
pub(crate) struct Jobs {
    all: Mutex<Vec<Job>>,
    place: Arc<Mutex<()>>,
    /// Where what nobody asked for works, so that nobody waits behind it.
    aside: Arc<Mutex<()>>,
}

/// The question that is worked on unasked.
pub(crate) const UNASKED: &str = "how sure";

impl Jobs {
    /// How a question stands.
    pub fn state<A: Any + Send + Sync>(&self, id: &JobId) -> JobState<A> {
        let all = held(&self.all);
        let Some(job) = all.iter().rev().find(|j| j.id == *id) else {
            return JobState::NotAsked;
        };
        match job.ended() {
            None => JobState::Running(f64::from_bits(job.done.load(Ordering::Relaxed))),
            Some(Err(None)) => JobState::NotAsked,
            Some(Err(Some(why))) => JobState::Failed(why),
            Some(Ok(answer)) => answer.downcast().map_or(JobState::NotAsked, JobState::Done),
        }
    }

    /// The newest job of a question about something, running or ended.
    pub fn newest(&self, about: &About, question: &str) -> Option<JobId> {
        let all = held(&self.all);
        let mut newest = all.iter().rev().map(|j| &j.id);
        newest
            .find(|id| id.about == *about && id.question == question)
            .cloned()
    }

    /// Sets a question to work, unless it is being worked on or is answered already. `work` is told how to report the
    /// share done and whether to go on; what it answers is handed to `keep` before it can be seen.
    ///
    /// # Errors
    /// [`AppError::Full`]: too many jobs that wait.
    pub fn start<A: Any + Send + Sync>(
        &self,
        id: JobId,
        work: impl FnOnce(&mut (dyn FnMut(f64) -> bool + Send)) -> Result<A, Unanswered>
        + Send
        + 'static,
        keep: impl FnOnce(&A) + Send + 'static,
    ) -> Result<(), AppError> {
        let mut all = held(&self.all);
        for job in all
            .iter()
            .filter(|j| j.id.question == id.question && j.id.about == id.about)
        {
            if job.ended().is_none() && job.id.key != id.key {
                job.stop.store(true, Ordering::Relaxed);
            }
        }
        let there = all.iter().filter(|j| j.id == id);
        for job in there {
            if matches!(job.ended(), None | Some(Ok(_))) && !job.stop.load(Ordering::Relaxed) {
                return Ok(());
            }
        }
        all.retain(|j| j.id != id || j.ended().is_none());
        while all.len() >= MOST_JOBS {
            let Some(old) = all.iter().position(|j| j.ended().is_some()) else {
                return Err(AppError::Full { most: MOST_JOBS });
            };
            all.remove(old);
        }
        let unasked = id.question == UNASKED;
        let job = Job {
            id,
            done: Arc::default(),
            stop: Arc::default(),
            ended: Arc::default(),
        };
        let (done, stop, ended) = (
            Arc::clone(&job.done),
            Arc::clone(&job.stop),
            Arc::clone(&job.ended),
        );
        all.push(job);
        drop(all);
        let place = if unasked { &self.aside } else { &self.place };
        let place = Arc::clone(place);
        std::thread::spawn(move || {
            let one_at_a_time = held(&place);
            let mut go_on = |share: f64| {
                done.store(share.to_bits(), Ordering::Relaxed);
                !stop.load(Ordering::Relaxed)
            };
            let worked = if go_on(0.0) {
                catch_unwind(AssertUnwindSafe(|| work(&mut go_on)))
            } else {
                Ok(Err(Unanswered::Stopped))
            };
            drop(one_at_a_time);
            let end: Ended = match worked {
                Ok(Ok(answer)) => {
                    keep(&answer);
                    Ok(Arc::new(answer))
                }
                Ok(Err(Unanswered::Stopped)) => Err(None),
                Ok(Err(Unanswered::Failed(why))) => Err(Some(why)),
                Err(_) => Err(Some(
                    "the calculation broke off; the book is as it was".into(),
                )),
            };
            *held(&ended) = Some(end);
        });
        Ok(())
    }

    /// Stops what is being worked on about something; nothing half done is kept.
    pub fn stop(&self, about: &About) {
        for job in held(&self.all).iter().filter(|j| j.id.about == *about) {
            job.stop.store(true, Ordering::Relaxed);
        }
    }

    /// Stops every job, so that nothing is worked on after the book is closed.
    pub fn stop_all(&self) {
        for job in held(&self.all).iter() {
            job.stop.store(true, Ordering::Relaxed);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::{Duration, Instant};

    fn id(study: &str, treatment: &str, input: u64) -> JobId {
        let (study, treatment) = (study.to_owned(), treatment.to_owned());
        JobId {
            about: About { study, treatment },
            key: Key::of_bytes(&input.to_le_bytes()),
            question: "bake",
        }
    }

    /// Work that goes on until it is told to stop.
    fn endless(go_on: &mut (dyn FnMut(f64) -> bool + Send)) -> Result<u32, Unanswered> {
        while go_on(0.5) {
            std::thread::sleep(Duration::from_millis(1));
        }
        Err(Unanswered::Stopped)
    }

    fn ends(jobs: &Jobs, id: &JobId) -> bool {
        let until = Instant::now() + Duration::from_secs(5);
        while Instant::now() < until {
            if !matches!(jobs.state::<u32>(id), JobState::Running(_)) {
                return true;
            }
            std::thread::sleep(Duration::from_millis(1));
        }
        false
    }

    #[test]
    fn studies_with_a_treatment_of_the_same_name_leave_each_other_alone() {
        let jobs = Jobs::default();
        let (mine, theirs) = (id("mine", "control", 1), id("theirs", "control", 2));
        let told = |id: &JobId| {
            let all = held(&jobs.all);
            let job = all.iter().find(|j| j.id == *id).unwrap();
            job.stop.load(Ordering::Relaxed)
        };
        jobs.start(mine.clone(), endless, |_| ()).unwrap();
        jobs.start(theirs.clone(), endless, |_| ()).unwrap();
        assert!(!told(&mine), "a start elsewhere stopped it");
        jobs.stop(&theirs.about);
        assert!(!told(&mine) && told(&theirs));
        // What the treatment was before is stopped by what it is now.
        let after = id("mine", "control", 3);
        jobs.start(after.clone(), endless, |_| ()).unwrap();
        assert!(told(&mine));
        jobs.stop_all();
        assert!([mine, theirs, after].iter().all(|id| ends(&jobs, id)));
    }

    #[test]
    fn too_many_that_wait_are_told_as_such() {
        let jobs = Jobs::default();
        let ids: Vec<JobId> = (0..MOST_JOBS as u64)
            .map(|n| id("s", &n.to_string(), n))
            .collect();
        for id in &ids {
            jobs.start(id.clone(), endless, |_| ()).unwrap();
        }
        let full = jobs.start(id("s", "more", 99), endless, |_| ());
        assert!(matches!(full, Err(AppError::Full { most: MOST_JOBS })));
        jobs.stop_all();
        assert!(ids.iter().all(|id| ends(&jobs, id)));
        jobs.start(id("s", "more", 99), endless, |_| ()).unwrap();
        jobs.stop_all();
    }
}
