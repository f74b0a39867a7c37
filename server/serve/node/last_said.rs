//! What the engine said last of something, and how it is asked anew.
//!
//! It serves the way of requests: what is found in what was said costs no question, and what is not costs one a
//! second, however many look for what is not there.

use std::future::Future;
use std::sync::Arc;
use std::time::Duration;

use arc_swap::ArcSwapOption;
use tokio::sync::Mutex;
use tokio::time::{Instant, sleep_until};

use crate::limits::BOOKS_LOOK_AGAIN_AFTER;

/// What the engine said last.
pub(super) struct LastSaid<T> {
    last: ArcSwapOption<Said<T>>,
    /// Whoever asks has the turn.
    turn: Mutex<()>,
}

struct Said<T> {
    told: T,
    /// When that was asked.
    asked: Instant,
}

impl<T> Default for LastSaid<T> {
    /// Nothing yet.
    fn default() -> Self {
        Self {
            last: ArcSwapOption::empty(),
            turn: Mutex::default(),
        }
    }
}

impl<T> LastSaid<T> {
    /// What is seen in it, where anything was said.
    pub(super) fn see<R>(&self, see: impl FnOnce(&T) -> R) -> Option<R> {
        let last = self.last.load();
        last.as_ref().map(|said| see(&said.told))
    }

    /// Whether that was asked within this time.
    pub(super) fn is_from_within(&self, time: Duration) -> bool {
        let last = self.last.load();
        last.as_ref()
            .is_some_and(|said| said.asked.elapsed() <= time)
    }

    /// Asks anew.
    pub(super) async fn ask<E>(&self, ask: impl Future<Output = Result<T, E>>) -> Result<(), E> {
        let _turn = self.turn.lock().await;
        self.hear(ask).await
    }

    async fn hear<E>(&self, ask: impl Future<Output = Result<T, E>>) -> Result<(), E> {
        let asked = Instant::now();
        let told = ask.await?;
        self.last.store(Some(Arc::new(Said { told, asked })));
        Ok(())
    }

    /// What is found in it: in what was said last, or else in what is asked for from now on.
    pub(super) async fn find<R, E>(
        &self,
        find: impl Fn(&T) -> Option<R>,
        ask: impl Future<Output = Result<T, E>>,
    ) -> Result<Option<R>, E> {
        if let Some(found) = self.see(&find).flatten() {
            return Ok(Some(found));
        }
        let came = Instant::now();
        let _turn = self.turn.lock().await;
        let asked = self.last.load().as_ref().map(|said| said.asked);
        if asked.is_none_or(|asked| asked < came) {
            if let Some(asked) = asked {
                sleep_until(asked + BOOKS_LOOK_AGAIN_AFTER).await;
            }
            self.hear(ask).await?;
        }
        Ok(self.see(&find).flatten())
    }
}

#[cfg(test)]
mod tests {
    use std::convert::Infallible;
    use std::sync::atomic::{AtomicU32, Ordering};

    use tokio::task::JoinSet;
    use tokio::time::advance;

    use super::*;

    const MOMENT: Duration = Duration::from_millis(1);

    /// Says which numbers there are: up to how often it was asked.
    #[derive(Default)]
    struct World {
        said: LastSaid<u32>,
        asked: AtomicU32,
    }

    impl World {
        async fn has(&self, number: u32) -> bool {
            let ask = async { Ok::<_, Infallible>(self.asked.fetch_add(1, Ordering::SeqCst) + 1) };
            let find = |last: &u32| (number <= *last).then_some(());
            self.said.find(find, ask).await.unwrap().is_some()
        }

        fn asked(&self) -> u32 {
            self.asked.load(Ordering::SeqCst)
        }
    }

    #[tokio::test(start_paused = true)]
    async fn what_is_there_costs_one_question_and_what_is_not_one_a_second_for_all() {
        let world = Arc::new(World::default());
        for _ in 0..100 {
            assert!(world.has(1).await);
        }
        assert_eq!(world.asked(), 1);
        let (start, mut strangers) = (Instant::now(), JoinSet::new());
        advance(MOMENT).await;
        for _ in 0..100 {
            let world = Arc::clone(&world);
            strangers.spawn(async move { world.has(1_000).await });
        }
        assert_eq!(strangers.join_all().await, [false; 100]);
        assert_eq!(
            (world.asked(), start.elapsed()),
            (2, BOOKS_LOOK_AGAIN_AFTER)
        );
    }

    #[tokio::test(start_paused = true)]
    async fn what_came_meanwhile_is_found_though_somebody_asked_just_before() {
        let world = World::default();
        assert!(!world.has(2).await);
        advance(MOMENT).await;
        assert!(world.has(2).await);
        assert_eq!(world.asked(), 2);
    }
}
