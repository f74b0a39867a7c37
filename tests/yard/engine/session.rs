//! A session with an engine of the tests, on whatever thread it is asked.

use std::future::Future;
use std::sync::Arc;
use std::sync::mpsc::sync_channel;

use tokio::runtime::Handle;
use tokio::task::AbortHandle;
use tokio_postgres::{Client, SimpleQueryMessage};

/// A session that stays until it is dropped.
#[derive(Debug)]
pub struct Session {
    pub(super) client: Arc<Client>,
    pub(super) driver: AbortHandle,
    pub(super) runtime: Handle,
}

impl Session {
    /// Runs SQL in it, and gives the rows as text, a row a line.
    ///
    /// # Panics
    /// When it fails.
    #[must_use = "what it says; drop it where that does not matter"]
    pub fn ask(&self, sql: &str) -> String {
        let (client, asked) = (Arc::clone(&self.client), sql.to_owned());
        let said = wait(
            &self.runtime,
            async move { client.simple_query(&asked).await },
        );
        let rows = said.unwrap_or_else(|error| panic!("{sql}: {error:?}"));
        let row = |message: &SimpleQueryMessage| match message {
            SimpleQueryMessage::Row(row) => {
                let fields: Vec<&str> =
                    (0..row.len()).map(|at| row.get(at).unwrap_or("")).collect();
                Some(fields.join("|"))
            }
            _ => None,
        };
        let rows: Vec<String> = rows.iter().filter_map(row).collect();
        rows.join("\n")
    }
}

impl Drop for Session {
    fn drop(&mut self) {
        self.driver.abort();
    }
}

/// Waits for something on whatever thread this is, one that drives tasks among them.
pub(super) fn wait<T: Send + 'static>(
    runtime: &Handle,
    work: impl Future<Output = T> + Send + 'static,
) -> T {
    let (reply, answer) = sync_channel(1);
    runtime.spawn(async move { reply.send(work.await) });
    answer.recv().expect("an answer")
}
