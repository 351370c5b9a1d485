//! Work that may take longer than a blink: done away from the threads that answer, once however many ask for it, told
//! how far it is, and called off by whoever waits.
//!
//! ```text
//! page ─ meet ▶ Task ─┬─ through within a blink ▶ the page
//!                     └─ else ▶ the page of the Work: how far it is (a stream of events), and a button to call it off
//! ```

use crate::app::{App, held, new_id};
use crate::problem::Problem;
use axum::http::StatusCode;
use desk::Watch;
use ledger::Id;
use std::collections::VecDeque;
use std::fmt;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;
use tokio::sync::{Semaphore, watch};

/// Works under way at one time: each keeps two cores busy for most of its time.
const AT_ONCE: usize = 2;
/// Works that are under way or wait for their turn, at most.
const MOST: usize = 16;
/// Works remembered by their name once they have ended, for pages that still ask after them.
const REMEMBERED: usize = 64;
/// How long a page is held back for work that may be through in a moment, for [`Options::blink`](crate::Options::blink): a wait
/// that nobody takes for one (common practice).
pub const BLINK: Duration = Duration::from_millis(300);

/// How far a work is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Reached {
    /// It waits for its turn.
    Queued,
    /// So many are through, of so many, of what.
    At { done: usize, of: usize, of_what: String },
    /// What came of it is there.
    Through,
    /// Nothing came of it, and whoever asks next is told why.
    Failed,
    /// It was called off: nothing came of it.
    CalledOff,
}

impl Reached {
    pub(crate) const fn is_ended(&self) -> bool {
        matches!(self, Self::Through | Self::Failed | Self::CalledOff)
    }
}

/// A work, whatever comes of it: what those who wait see of it.
pub(crate) struct Work {
    pub(crate) id: Id,
    /// What is being done, in a few words.
    pub(crate) title: &'static str,
    reached: watch::Sender<Reached>,
    off: AtomicBool,
}

impl Work {
    fn new(title: &'static str) -> Arc<Self> {
        let (reached, _) = watch::channel(Reached::Queued);
        Arc::new(Self { id: new_id(), title, reached, off: AtomicBool::new(false) })
    }

    /// How far it is, now and from now on.
    pub(crate) fn reached(&self) -> watch::Receiver<Reached> {
        self.reached.subscribe()
    }

    /// Calls it off: nothing will come of it, though what is under way in it may take a moment to end.
    pub(crate) fn call_off(&self) {
        self.off.store(true, Ordering::Release);
        self.reached.send_if_modified(|reached| {
            let under_way = !reached.is_ended();
            if under_way {
                *reached = Reached::CalledOff;
            }
            under_way
        });
    }

    /// It has ended so, unless it was called off before.
    fn end(&self, how: Reached) {
        self.reached.send_if_modified(|reached| {
            let under_way = !reached.is_ended();
            if under_way {
                *reached = how;
            }
            under_way
        });
    }

    /// Waits until it has ended.
    async fn ended(&self) {
        // The sender lives as long as `self`, so that it is waited for to the end.
        let _ = self.reached.subscribe().wait_for(Reached::is_ended).await;
    }
}

impl fmt::Debug for Work {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Work").field("title", &self.title).finish_non_exhaustive()
    }
}

impl Watch for Work {
    fn tell(&self, done: usize, of: usize, of_what: &str) {
        self.reached.send_if_modified(|reached| {
            let under_way = !reached.is_ended();
            if under_way {
                *reached = Reached::At { done, of, of_what: of_what.to_owned() };
            }
            under_way
        });
    }

    fn is_called_off(&self) -> bool {
        self.off.load(Ordering::Acquire)
    }
}

/// A work with what comes of it.
pub(crate) struct Task<V> {
    pub(crate) work: Arc<Work>,
    outcome: Mutex<Option<Result<V, Problem>>>,
    /// Whether somebody has been told why nothing came of it.
    told: AtomicBool,
    /// How long a page is held back for it.
    blink: Duration,
}

impl<V: Clone> Task<V> {
    /// What came of it, once it has ended.
    async fn whole(&self) -> Result<V, Problem> {
        self.work.ended().await;
        let outcome = held(&self.outcome).clone();
        match outcome {
            Some(Ok(made)) => Ok(made),
            Some(Err(why)) => {
                self.told.store(true, Ordering::Release);
                Err(why)
            }
            None => Err(Problem::called_off()),
        }
    }

    /// Whether whoever asks for the same now is to be given this.
    fn is_met(&self) -> bool {
        let failed_and_told = self.told.load(Ordering::Acquire);
        !self.work.is_called_off() && !failed_and_told
    }
}

/// How long one waits for a work.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Patience {
    /// A moment: then the page of the work is shown.
    Blink,
    /// To the end: a file has no other page.
    Whole,
}

/// What is there of what was asked for.
pub(crate) enum Met<V> {
    /// All of it.
    Made(V),
    /// Nothing yet.
    Waits(Arc<Work>),
}

impl<V: Clone> Task<V> {
    /// What came of it, or that it still waits.
    ///
    /// # Errors
    /// Why nothing came of it.
    pub(crate) async fn met(&self, patience: Patience) -> Result<Met<V>, Problem> {
        match patience {
            Patience::Whole => self.whole().await.map(Met::Made),
            Patience::Blink => match tokio::time::timeout(self.blink, self.whole()).await {
                Ok(made) => made.map(Met::Made),
                Err(_) => Ok(Met::Waits(Arc::clone(&self.work))),
            },
        }
    }
}

/// Works under way and those that ended last, by name.
pub(crate) struct Works {
    turns: Semaphore,
    known: Mutex<VecDeque<Arc<Work>>>,
    closing: watch::Sender<bool>,
}

impl Default for Works {
    fn default() -> Self {
        let (closing, _) = watch::channel(false);
        Self { turns: Semaphore::new(AT_ONCE), known: Mutex::default(), closing }
    }
}

impl Works {
    /// A work by its name.
    pub(crate) fn find(&self, id: Id) -> Option<Arc<Work>> {
        held(&self.known).iter().find(|work| work.id == id).cloned()
    }

    /// A new one.
    ///
    /// # Errors
    /// If too many are under way.
    fn begin(&self, title: &'static str) -> Result<Arc<Work>, Problem> {
        let mut known = held(&self.known);
        let ended = |work: &Arc<Work>| work.reached.borrow().is_ended();
        if known.iter().filter(|work| !ended(work)).count() >= MOST {
            return Err(Problem::too_much_to_do());
        }
        while known.len() >= REMEMBERED
            && let Some(oldest) = known.iter().position(ended)
        {
            known.remove(oldest);
        }
        let work = Work::new(title);
        known.push_back(Arc::clone(&work));
        Ok(work)
    }

    /// Calls everything off and ends all that waits: the page is being closed.
    pub(crate) fn close(&self) {
        self.closing.send_replace(true);
        held(&self.known).iter().for_each(|work| work.call_off());
    }

    /// Comes once the page is being closed.
    pub(crate) fn closing(&self) -> watch::Receiver<bool> {
        self.closing.subscribe()
    }
}

/// The last few things that were made, each once however many ask for it at one time.
pub(crate) struct Kept<K, V> {
    tasks: Mutex<Vec<(K, Arc<Task<V>>)>>,
    most: usize,
}

impl<K: PartialEq, V: Clone + Send + 'static> Kept<K, V> {
    pub(crate) const fn new(most: usize) -> Self {
        Self { tasks: Mutex::new(Vec::new()), most }
    }

    /// The work that makes what `key` stands for: met where it is under way or through, else begun. What was called off
    /// or failed is begun anew.
    ///
    /// # Errors
    /// If too many works are under way.
    pub(crate) fn meet(
        &self,
        app: &Arc<App>,
        key: K,
        title: &'static str,
        make: impl FnOnce(&Arc<App>, &Work) -> Result<V, Problem> + Send + 'static,
    ) -> Result<Arc<Task<V>>, Problem> {
        let mut tasks = held(&self.tasks);
        let found = tasks.iter().position(|(other, _)| *other == key).map(|k| tasks.remove(k));
        let (key, task) = match found {
            Some(found) if found.1.is_met() => found,
            _ => (key, begin(app, title, make)?),
        };
        let own = Arc::clone(&task);
        tasks.insert(0, (key, task));
        let mut left = self.most;
        // What is under way is never forgotten: it would be done a second time.
        tasks.retain(|(_, task)| {
            let keeps = left > 0 || !task.work.reached.borrow().is_ended();
            left = left.saturating_sub(1);
            keeps
        });
        Ok(own)
    }
}

/// Begins a work in a thread of its own. A panic in it ends this one work.
fn begin<V: Clone + Send + 'static>(
    app: &Arc<App>,
    title: &'static str,
    make: impl FnOnce(&Arc<App>, &Work) -> Result<V, Problem> + Send + 'static,
) -> Result<Arc<Task<V>>, Problem> {
    let work = app.works.begin(title)?;
    let (outcome, told) = (Mutex::default(), AtomicBool::new(false));
    let task = Arc::new(Task { work, outcome, told, blink: app.blink });
    let (app, own) = (Arc::clone(app), Arc::clone(&task));
    tokio::spawn(async move {
        let Task { work, .. } = &*own;
        let turn = tokio::select! {
            turn = app.works.turns.acquire() => turn,
            () = work.ended() => return,
        };
        let Ok(_turn) = turn else { return };
        let (at, watched) = (Arc::clone(&app), Arc::clone(work));
        let done = tokio::task::spawn_blocking(move || make(&at, &watched)).await;
        let done = done.unwrap_or_else(|panic| Err(Problem::ours(&panic.to_string())));
        let how = if done.is_ok() { Reached::Through } else { Reached::Failed };
        if !work.is_called_off() {
            *held(&own.outcome) = Some(done);
        }
        work.end(how);
    });
    Ok(task)
}

impl Problem {
    /// What was asked for was called off by somebody who waited for it.
    pub(crate) fn called_off() -> Self {
        Self::new(
            StatusCode::CONFLICT,
            "This was called off while it was being worked out.",
            "Nothing was changed. Load the page again: it is worked out anew.",
        )
    }

    fn too_much_to_do() -> Self {
        Self {
            after_s: Some(10),
            ..Self::new(
                StatusCode::SERVICE_UNAVAILABLE,
                "Too much is being worked out at one time.",
                "Wait ten seconds and load the page again, or call off what nobody waits for.",
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{AT_ONCE, BLINK, Kept, MOST, Met, Patience, Reached, Work};
    use crate::app::{App, Options};
    use crate::problem::Problem;
    use axum::http::StatusCode;
    use desk::Watch as _;
    use ledger::Ledger;
    use std::sync::Arc;
    use std::sync::atomic::{AtomicUsize, Ordering};
    use std::time::Duration;
    use tempfile::TempDir;

    /// How long a work of these tests goes on unless it is called off.
    const LONG: Duration = Duration::from_secs(60);

    fn app() -> (TempDir, Arc<App>) {
        let folder = tempfile::tempdir().expect("a folder");
        let ledger = Ledger::open(&folder.path().join("ledger.db")).expect("a ledger");
        let shop = folder.path().join("shop.toml");
        let options = Options { ledger, shop, secret: b"of a test".to_vec(), passphrase: None, blink: BLINK };
        (folder, App::new(options, Arc::new(|| 0)))
    }

    fn run(test: impl Future<Output = ()>) {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("threads");
        runtime.block_on(test);
    }

    /// Goes on until it is called off.
    fn goes_on(_: &Arc<App>, work: &Work) -> Result<u32, Problem> {
        let begun = std::time::Instant::now();
        while !work.is_called_off() {
            assert!(begun.elapsed() < LONG, "nobody called it off");
            std::thread::sleep(Duration::from_millis(2));
        }
        Err(Problem::called_off())
    }

    #[test]
    fn what_is_asked_for_twice_is_made_once() {
        run(async {
            let (_folder, app) = app();
            let (kept, made) = (Kept::new(2), Arc::new(AtomicUsize::new(0)));
            let make = |value: u32| {
                let made = Arc::clone(&made);
                move |_: &Arc<App>, _: &Work| {
                    std::thread::sleep(Duration::from_millis(20));
                    made.fetch_add(1, Ordering::Relaxed);
                    Ok(value)
                }
            };
            let (one, other) = (kept.meet(&app, 'a', "a", make(1)), kept.meet(&app, 'a', "a", make(2)));
            let (one, other) = (one.expect("begun"), other.expect("met"));
            assert_eq!(one.work.id, other.work.id);
            assert!(matches!(one.met(Patience::Whole).await, Ok(Met::Made(1))));
            assert!(matches!(other.met(Patience::Blink).await, Ok(Met::Made(1))));
            assert_eq!(made.load(Ordering::Relaxed), 1);
            // Of three the one asked for first is forgotten.
            for key in ['b', 'c', 'a'] {
                let task = kept.meet(&app, key, "", make(3)).expect("begun");
                assert!(matches!(task.met(Patience::Whole).await, Ok(Met::Made(3))));
            }
            assert_eq!(made.load(Ordering::Relaxed), 4);
        });
    }

    #[test]
    fn whoever_waits_longer_than_a_blink_is_told_so_and_may_call_it_off() {
        run(async {
            let (_folder, app) = app();
            let kept = Kept::new(2);
            let task = kept.meet(&app, 'a', "a", goes_on).expect("begun");
            let Ok(Met::Waits(work)) = task.met(Patience::Blink).await else { panic!("it takes longer") };
            work.call_off();
            assert_eq!(*work.reached().borrow(), Reached::CalledOff);
            let why = task.met(Patience::Whole).await.err().expect("nothing came of it");
            assert_eq!(why.status, StatusCode::CONFLICT);
            // Asked for again, it is begun anew.
            let again = kept.meet(&app, 'a', "a", |_, _| Ok(7)).expect("begun");
            assert_ne!(again.work.id, work.id);
            assert!(matches!(again.met(Patience::Whole).await, Ok(Met::Made(7))));
        });
    }

    /// Also if it came to an end nobody called off while nobody waited.
    #[test]
    fn why_nothing_came_of_it_is_told_once() {
        run(async {
            let (_folder, app) = app();
            let kept: Kept<char, u32> = Kept::new(2);
            let fails = |_: &Arc<App>, _: &Work| Err(Problem::unfit("No.", "Else."));
            let task = kept.meet(&app, 'a', "a", fails).expect("begun");
            task.work.ended().await;
            let met = kept.meet(&app, 'a', "a", |_, _| Ok(1)).expect("met");
            assert_eq!(met.met(Patience::Whole).await.err(), Some(Problem::unfit("No.", "Else.")));
            let anew = kept.meet(&app, 'a', "a", |_, _| Ok(1)).expect("begun");
            assert!(matches!(anew.met(Patience::Whole).await, Ok(Met::Made(1))));
            // A panic ends this one work.
            let panics = kept.meet(&app, 'b', "b", |_, _| panic!("a bug")).expect("begun");
            let why = panics.met(Patience::Whole).await.err().expect("nothing came of it");
            assert_eq!(why.status, StatusCode::INTERNAL_SERVER_ERROR);
        });
    }

    #[test]
    fn few_are_worked_out_at_one_time_and_not_too_many_wait() {
        run(async {
            let (_folder, app) = app();
            let kept = Kept::new(1);
            let tasks: Vec<_> = (0..MOST).map(|k| kept.meet(&app, k, "a", goes_on).expect("room")).collect();
            let busy = kept.meet(&app, MOST, "a", goes_on).err().expect("no room");
            assert_eq!((busy.status, busy.after_s), (StatusCode::SERVICE_UNAVAILABLE, Some(10)));
            // However many are kept, what is under way is not begun a second time.
            assert_eq!(kept.meet(&app, 0, "a", goes_on).expect("met").work.id, tasks[0].work.id);
            tokio::time::sleep(BLINK).await;
            // Those that wait for their turn never begin once they are called off.
            let begun = Arc::new(AtomicUsize::new(0));
            tasks[AT_ONCE].work.call_off();
            let own = Arc::clone(&begun);
            let last = kept.meet(&app, MOST + 1, "a", move |_, _| {
                own.fetch_add(1, Ordering::Relaxed);
                Ok(0)
            });
            let last = last.expect("room again");
            last.work.call_off();
            tasks.iter().for_each(|task| task.work.call_off());
            tokio::time::sleep(BLINK).await;
            assert_eq!(begun.load(Ordering::Relaxed), 0);
            let free = kept.meet(&app, MOST + 2, "a", |_, _| Ok(5)).expect("room");
            assert!(matches!(free.met(Patience::Whole).await, Ok(Met::Made(5))));
        });
    }

    #[test]
    fn when_the_page_is_closed_all_is_called_off() {
        run(async {
            let (_folder, app) = app();
            let kept = Kept::new(2);
            let task = kept.meet(&app, 'a', "a", goes_on).expect("begun");
            let mut closing = app.works.closing();
            app.works.close();
            closing.wait_for(|closing| *closing).await.expect("it is told");
            assert!(task.met(Patience::Whole).await.is_err());
        });
    }
}
