//! A paired device that calls while others press in, and how long it waits.

use std::fmt;
use std::net::Ipv4Addr;
use std::time::{Duration, Instant};

use h2::client::SendRequest;
use tonic::codegen::Bytes;
use tonic::codegen::http::Request;

use crate::dial::Way;

/// Pause between two calls.
const PAUSE: Duration = Duration::from_millis(5);
/// Calls on the connection that is kept, to one on a new one.
const KEPT_TO_NEW: usize = 4;

/// A device that calls.
pub(crate) struct Calls {
    way: Way,
    token: String,
}

/// How long calls took.
#[derive(Debug, Default)]
pub(crate) struct Times {
    kept: Vec<Duration>,
    new: Vec<Duration>,
}

impl Times {
    /// The 99th of a hundred of all calls, on whichever connection.
    pub(crate) fn worst_of_100(&self) -> Duration {
        part(&[self.kept.as_slice(), &self.new].concat(), 99)
    }
}

impl fmt::Display for Times {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (name, times) in [("kept", &self.kept), ("new", &self.new)] {
            let (p50, p99, max) = (part(times, 50), part(times, 99), part(times, 100));
            let count = times.len();
            write!(
                out,
                "{count} calls on a {name} connection p50 {p50:.1?} p99 {p99:.1?} max {max:.1?}; "
            )?;
        }
        write!(out, "p99 of all {:.1?}", self.worst_of_100())
    }
}

/// The time that so many of a hundred are within.
fn part(times: &[Duration], percent: usize) -> Duration {
    let mut times = times.to_vec();
    times.sort_unstable();
    let at = (times.len() * percent).div_ceil(100).max(1) - 1;
    times[at]
}

impl Calls {
    /// A device with this token.
    pub(crate) fn begin(way: &Way, token: &str) -> Self {
        Self {
            way: way.clone(),
            token: token.to_owned(),
        }
    }

    /// Calls for a time, on a thread and a runtime of its own: what the neighbours' own machines have to
    /// do is nothing that a device waits for.
    pub(crate) async fn for_time(self, time: Duration) -> Times {
        let calling = move || {
            let mut runtime = tokio::runtime::Builder::new_current_thread();
            let runtime = runtime.enable_all().build().unwrap();
            runtime.block_on(self.call_for(time))
        };
        tokio::task::spawn_blocking(calling).await.unwrap()
    }

    /// Calls for a time. Every call must be answered.
    async fn call_for(&self, time: Duration) -> Times {
        let begun = Instant::now();
        let mut times = Times::default();
        let mut kept = self.connect().await;
        while begun.elapsed() < time {
            for _ in 0..KEPT_TO_NEW {
                let called = Instant::now();
                self.call(&mut kept).await;
                times.kept.push(called.elapsed());
                tokio::time::sleep(PAUSE).await;
            }
            let called = Instant::now();
            let mut new = self.connect().await;
            self.call(&mut new).await;
            times.new.push(called.elapsed());
            tokio::time::sleep(PAUSE).await;
        }
        times
    }

    async fn connect(&self) -> SendRequest<Bytes> {
        let tls = self.way.dial(Ipv4Addr::LOCALHOST).await.unwrap();
        let (sender, connection) = h2::client::handshake(tls).await.unwrap();
        // It ends with the last sender.
        tokio::spawn(connection);
        sender
    }

    /// Asks for the book. Source: gRPC over HTTP/2: an empty message is five zeros, and the status of
    /// what went well is 0.
    async fn call(&self, sender: &mut SendRequest<Bytes>) {
        let request = Request::post("https://fettled.internal/fettlebook.v1.BookService/GetBook")
            .header("content-type", "application/grpc")
            .header("te", "trailers")
            .header("authorization", format!("Bearer {}", self.token))
            .body(())
            .unwrap();
        let mut ready = sender.clone().ready().await.unwrap();
        let (answer, mut body) = ready.send_request(request, false).unwrap();
        body.send_data(Bytes::from_static(&[0; 5]), true).unwrap();
        let mut body = answer.await.unwrap().into_body();
        while let Some(bytes) = body.data().await {
            let count = bytes.unwrap().len();
            body.flow_control().release_capacity(count).unwrap();
        }
        let trailers = body.trailers().await.unwrap().unwrap();
        assert_eq!(trailers["grpc-status"], "0");
    }
}
