//! Runs what is wanted, the most urgent first: one job a lane, since two of a
//! kind would only slow each other down.

use std::time::Duration;

use super::query::{Answer, Lane, Query};
use crate::job::{Job, Update};

/// Longest that a job that is not wanted any more may run without a first
/// result: a hand that drags is to see something move.
const PATIENCE: Duration = Duration::from_millis(1500);

/// What is wanted.
#[derive(Clone, Debug)]
pub(super) struct Wish {
    pub(super) query: Query,
    /// Whether it is about the layout that is shown.
    pub(super) is_shown: bool,
}

/// A running job.
struct Running {
    wish: Wish,
    job: Job<Answer>,
    has_answered: bool,
}

/// The jobs of a desk.
#[derive(Default)]
pub(super) struct Scheduler {
    running: Vec<Running>,
}

impl Scheduler {
    /// All that has come in, with what it answers.
    pub(super) fn poll(&mut self) -> Vec<(Wish, Update<Answer>)> {
        let mut news = Vec::new();
        for running in &mut self.running {
            for update in running.job.poll() {
                // That a job has stopped as it was asked to is no news.
                if matches!(update, Update::Done) && running.job.is_cancelled() {
                    continue;
                }
                running.has_answered |= matches!(update, Update::Partial(_));
                news.push((running.wish.clone(), update));
            }
        }
        self.running.retain(|running| !running.job.is_over());
        news
    }

    /// Stops what `wanted` (most urgent first) does not ask for, and what keeps
    /// the most urgent wish of its lane waiting. What is about the shown layout
    /// may first say something.
    pub(super) fn give_way(&self, wanted: &[Wish]) {
        for Running {
            wish,
            job,
            has_answered,
        } in &self.running
        {
            let lane = wish.query.lane();
            let first = wanted.iter().find(|wish| wish.query.lane() == lane);
            let is_first = first.is_some_and(|first| first.query == wish.query);
            let is_asked = wanted.iter().any(|other| other.query == wish.query);
            let may_speak = wish.is_shown && !wish.query.gives_way_at_once();
            let may_stay = is_asked && first.is_none_or(|first| !first.is_shown);
            let is_due = !(is_first || may_stay);
            if is_due && (!may_speak || *has_answered || job.age() > PATIENCE) {
                job.cancel();
            }
        }
    }

    /// The most urgent wishes whose lanes are free, one a lane.
    pub(super) fn due(&self, wanted: &[Wish]) -> Vec<Wish> {
        let mut due: Vec<Wish> = Vec::new();
        for wish in wanted {
            let lane = wish.query.lane();
            let is_next = due.iter().all(|other| other.query.lane() != lane);
            if is_next && !self.is_busy(lane) {
                due.push(wish.clone());
            }
        }
        due
    }

    /// Takes in a job that has been started.
    pub(super) fn begin(&mut self, wish: Wish, job: Job<Answer>) {
        self.running.push(Running {
            wish,
            job,
            has_answered: false,
        });
    }

    /// Whether a lane has a job.
    pub(super) fn is_busy(&self, lane: Lane) -> bool {
        let mut running = self.running.iter();
        running.any(|running| running.wish.query.lane() == lane)
    }

    /// Whether any job runs that `counts`.
    pub(super) fn is_any(&self, counts: impl Fn(&Wish) -> bool) -> bool {
        self.running.iter().any(|running| counts(&running.wish))
    }

    /// How far the job for a query has come, 0 to 1, if it runs.
    pub(super) fn progress(&self, query: &Query) -> Option<f64> {
        let running = self.running.iter().find(|it| it.wish.query == *query)?;
        Some(running.job.progress())
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::desk::query::FlowKey;
    use crate::storage::{demos, parse};
    use crate::study::Study;

    fn wish(turn_deg: f64, is_shown: bool) -> Wish {
        let demo = demos().first().expect("there is a demo");
        let mut scene = parse(demo.text, demo.file).expect("it reads").scene;
        scene.layouts[0].pumps[0].turn_deg = turn_deg;
        let study = Study::with_built_in(&scene, 0).expect("a layout");
        Wish {
            query: Query::Tank(FlowKey::new(&Arc::new(study), 1)),
            is_shown,
        }
    }

    /// A job that says nothing and runs until it is cancelled.
    fn endless() -> Job<Answer> {
        Job::start("endless", Arc::new(|| {}), |context| {
            while context.progress(0.5) {
                std::hint::spin_loop();
            }
            Ok(())
        })
        .expect("a thread")
    }

    #[test]
    fn the_shown_layout_goes_before_others_and_one_runs_a_lane() {
        let mut scheduler = Scheduler::default();
        let (own, other) = (wish(1.0, true), wish(2.0, false));
        let wanted = [own.clone(), other.clone()];
        let due = scheduler.due(&wanted);
        assert_eq!(due.len(), 1, "one a lane");
        assert!(due[0].query == own.query, "the most urgent one");
        scheduler.begin(other.clone(), endless());
        assert!(scheduler.due(&wanted).is_empty(), "the lane is taken");
        scheduler.give_way(&wanted);
        while scheduler.is_busy(Lane::Flow) {
            drop(scheduler.poll());
        }
        assert!(
            scheduler.due(&wanted)[0].query == own.query,
            "the other one made way at once"
        );
        scheduler.begin(other.clone(), endless());
        scheduler.give_way(&[other]);
        assert!(scheduler.is_busy(Lane::Flow), "nothing is more urgent");
    }

    #[test]
    fn what_is_shown_may_speak_before_it_makes_way() {
        let mut scheduler = Scheduler::default();
        let (before, now) = (wish(1.0, true), wish(2.0, true));
        scheduler.begin(before, endless());
        scheduler.give_way(std::slice::from_ref(&now));
        assert!(!scheduler.running[0].job.is_cancelled(), "it may speak");
        scheduler.running[0].has_answered = true;
        scheduler.give_way(std::slice::from_ref(&now));
        assert!(scheduler.running[0].job.is_cancelled(), "it has spoken");
    }
}
