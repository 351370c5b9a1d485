//! What the page works with: the ledger, the shop file, and answers that are kept a while.

use crate::anew::{Anew, AnewKey};
use crate::keys::{Keys, random};
use crate::left::{Left, LeftKey};
use crate::limiter::Limiter;
use crate::opened::{Opened, OpenedKey};
use crate::passphrase::Passphrase;
use crate::planned::{Planned, PlannedKey};
use crate::problem::Problem;
use crate::works::{Kept, Works};
use ledger::{Entry, Event, Id, JobRecord, Ledger, Moment, Text};
use std::fmt;
use std::net::IpAddr;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard};
use std::time::Duration;
use tokio::sync::Semaphore;

/// Pages being worked out at one time. More only take turns on the same cores and hold memory meanwhile.
const AT_ONCE: usize = 8;
/// Uploads being received at one time: with the limit on each they bound the memory that uploads take.
const UPLOADS_AT_ONCE: usize = 3;
/// Jobs kept as read. Reading one again takes a blink; fifty people at one shop look at a handful.
const JOBS_KEPT: usize = 6;
/// Plans kept as worked out.
const PLANS_KEPT: usize = 8;
/// What earlier rescues left, kept as read.
const LEFT_KEPT: usize = 3;
/// Parts made anew, kept as worked out: one is looked at, perhaps with another ask beside it.
const ANEW_KEPT: usize = 2;
/// Pages that are told at one time how far something is. More are asked to look again by themselves.
const STREAMS: usize = 64;

/// The time: milliseconds since 1970-01-01 00:00 UTC.
pub type Clock = Arc<dyn Fn() -> i64 + Send + Sync>;

/// What the page is started with.
#[derive(Debug)]
pub struct Options {
    /// The ledger, open.
    pub ledger: Ledger,
    /// Where the shop file is or will be. The one file that the page writes.
    pub shop: PathBuf,
    /// A secret of this computer, from which sessions and forms are made: the same after a restart, so that a form filled
    /// in before it is taken after it.
    pub secret: Vec<u8>,
    /// The passphrase, if the page is open to the network.
    pub passphrase: Option<Passphrase>,
    /// How long a page is held back for work that may be through in a moment, before it says how far the work is:
    /// [`BLINK`](crate::BLINK), or nothing for who wants to be told of every work.
    pub blink: Duration,
}

/// The page's state, shared by all requests.
pub struct App {
    ledger: Mutex<Ledger>,
    pub(crate) shop: PathBuf,
    pub(crate) passphrase: Option<Passphrase>,
    pub(crate) keys: Keys,
    limiter: Mutex<Limiter>,
    clock: Clock,
    pub(crate) opened: Kept<OpenedKey, Arc<Opened>>,
    pub(crate) planned: Kept<PlannedKey, Arc<Planned>>,
    pub(crate) anew: Kept<AnewKey, Arc<Anew>>,
    pub(crate) left: Kept<LeftKey, Arc<Left>>,
    pub(crate) works: Works,
    pub(crate) streams: Arc<Semaphore>,
    work: Semaphore,
    pub(crate) uploads: Semaphore,
    pub(crate) blink: Duration,
}

impl fmt::Debug for App {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("App").field("shop", &self.shop).finish_non_exhaustive()
    }
}

impl App {
    /// The state of a page that is being started.
    #[must_use]
    pub fn new(options: Options, clock: Clock) -> Arc<Self> {
        let Options { ledger, shop, secret, passphrase, blink } = options;
        Arc::new(Self {
            ledger: Mutex::new(ledger),
            shop,
            keys: Keys::new(&secret, passphrase.as_ref()),
            passphrase,
            limiter: Mutex::default(),
            clock,
            opened: Kept::new(JOBS_KEPT),
            planned: Kept::new(PLANS_KEPT),
            anew: Kept::new(ANEW_KEPT),
            left: Kept::new(LEFT_KEPT),
            works: Works::default(),
            streams: Arc::new(Semaphore::new(STREAMS)),
            work: Semaphore::new(AT_ONCE),
            uploads: Semaphore::new(UPLOADS_AT_ONCE),
            blink,
        })
    }

    /// The time in milliseconds.
    pub(crate) fn now_ms(&self) -> i64 {
        (self.clock)()
    }

    /// The time in seconds.
    pub(crate) fn now_s(&self) -> i64 {
        self.now_ms() / 1000
    }

    /// Does something that takes a blink or waits for the disk, away from the threads that answer. A panic in it ends
    /// this one request.
    pub(crate) async fn work<R: Send + 'static>(
        self: &Arc<Self>,
        does: impl FnOnce(&Arc<Self>) -> Result<R, Problem> + Send + 'static,
    ) -> Result<R, Problem> {
        let _turn = self.work.acquire().await.map_err(|_| Problem::ours("the page is being closed"))?;
        let app = Arc::clone(self);
        let done = tokio::task::spawn_blocking(move || does(&app)).await;
        done.unwrap_or_else(|panic| Err(Problem::ours(&panic.to_string())))
    }

    /// The ledger, for the moment.
    pub(crate) fn ledger(&self) -> MutexGuard<'_, Ledger> {
        held(&self.ledger)
    }

    /// A job.
    pub(crate) fn job(&self, id: Id) -> Result<JobRecord, Problem> {
        self.ledger().job(id)?.ok_or_else(Problem::no_such_job)
    }

    /// Keeps something that was entered. `event` is the name that its form was made with: sent twice, it counts once.
    pub(crate) fn keep(&self, event: Id, of: Id, entry: Entry, texts: &[Text]) -> Result<(), Problem> {
        let event = Event { id: event, of, at: Moment(self.now_ms()), entry };
        self.ledger().append(&[event], texts).map(|_| ()).map_err(Problem::from)
    }

    /// How long `from` has to wait before it may try a passphrase.
    pub(crate) fn wait_s(&self, from: Option<IpAddr>) -> Option<i64> {
        held(&self.limiter).wait_s(from, self.now_s())
    }

    /// Whether `told` is the passphrase; counts it if not.
    pub(crate) fn is_passphrase(&self, told: &str, from: Option<IpAddr>) -> bool {
        let right = self.passphrase.as_ref().is_some_and(|passphrase| passphrase.is(told));
        let mut limiter = held(&self.limiter);
        if right {
            limiter.right(from);
        } else {
            limiter.wrong(from, self.now_s());
        }
        right
    }
}

/// A new name.
pub(crate) fn new_id() -> Id {
    Id::new(random())
}

/// What a mutex holds, also after a panic elsewhere: nothing in here is ever half-changed.
pub(crate) fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
}
