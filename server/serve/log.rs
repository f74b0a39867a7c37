//! Where log lines go: standard error, for people or for programs.
//!
//! It serves whoever runs the service.

use std::io::{self, IsTerminal as _};

use tracing_subscriber::layer::SubscriberExt as _;
use tracing_subscriber::util::SubscriberInitExt as _;
use tracing_subscriber::{EnvFilter, Layer as _};

use crate::args::{Args, LogFormat};

/// Libraries that tell at length what only their authors want to know. Naming one in `--log` wins.
const QUIET: &str = "sled=warn,h2=warn,hyper=warn,hyper_util=warn,tower=warn,tonic=warn";

/// Sends what is logged from now on where the arguments say.
pub(super) fn start(args: &Args) {
    let filter = EnvFilter::try_new(format!("{QUIET},{}", args.log)).unwrap_or_default();
    let lines = tracing_subscriber::fmt::layer()
        .with_ansi(io::stderr().is_terminal())
        .with_writer(io::stderr);
    let lines = match args.log_format {
        LogFormat::Text => lines.boxed(),
        LogFormat::Json => lines.json().boxed(),
    };
    tracing_subscriber::registry()
        .with(filter)
        .with(lines)
        .init();
}
