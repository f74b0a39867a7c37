//! Where log lines and spans go: standard error, and a collector of traces where one is named.
//!
//! It serves whoever runs the service. Telling must never stop the service: a collector that is away
//! costs its spans and nothing else.

use std::io::{self, IsTerminal as _};

use tracing_subscriber::layer::SubscriberExt as _;
use tracing_subscriber::util::SubscriberInitExt as _;
use tracing_subscriber::{EnvFilter, Layer as _};

use crate::args::{Args, LogFormat};

#[cfg(feature = "otel")]
use super::traces::Traces;

/// Libraries that tell at length what only their authors want to know. Naming one in `--log` wins.
const QUIET: &str = "sled=warn,h2=warn,hyper=warn,hyper_util=warn,tower=warn,tonic=warn";

/// What has to be let go of last: spans that wait to be sent are sent then.
#[derive(Debug, Default)]
pub(super) struct Log {
    #[cfg(feature = "otel")]
    _traces: Option<Traces>,
}

/// Sends what is logged from now on where the arguments say.
pub(super) fn start(args: &Args) -> Log {
    let filter = EnvFilter::try_new(format!("{QUIET},{}", args.filter())).unwrap_or_default();
    let lines = tracing_subscriber::fmt::layer()
        .with_ansi(io::stderr().is_terminal())
        .with_writer(io::stderr);
    let lines = match args.log_format {
        LogFormat::Text => lines.boxed(),
        LogFormat::Json => lines.json().boxed(),
    };
    let subscriber = tracing_subscriber::registry().with(filter).with(lines);
    #[cfg(feature = "otel")]
    {
        let (traces, failure) = super::traces::from_environment();
        let layer = traces.as_ref().map(Traces::layer);
        subscriber.with(layer).init();
        if let Some(error) = failure {
            tracing::warn!(%error, "no traces are sent");
        }
        Log { _traces: traces }
    }
    #[cfg(not(feature = "otel"))]
    {
        subscriber.init();
        Log::default()
    }
}
