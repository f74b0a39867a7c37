//! What `fettled` is told on its command line or by its environment.
//!
//! It serves `serve`. A value that makes no sense is refused with the accepted forms before
//! anything is opened.

use std::net::SocketAddr;
use std::path::PathBuf;

use clap::{Parser, ValueEnum};
use tracing_subscriber::EnvFilter;

/// Serves one book of kit to `fettle` and other clients over gRPC.
#[derive(Debug, Clone, Parser)]
#[command(name = "fettled", version, max_term_width = 100)]
pub(crate) struct Args {
    /// Folder of the book; a new one is begun where there is none.
    #[arg(long, value_name = "DIR", env = "FETTLED_BOOK")]
    pub(crate) book: PathBuf,

    /// Address to listen on, of this machine only; port 0 takes any free port.
    #[arg(
        long,
        value_name = "ADDRESS",
        env = "FETTLED_LISTEN",
        default_value = "127.0.0.1:7420",
        value_parser = loopback
    )]
    pub(crate) listen: SocketAddr,

    /// Address of this machine on which to tell metrics, for Prometheus and its like; none are told
    /// where this is not given.
    #[arg(long, value_name = "ADDRESS", env = "FETTLED_METRICS", value_parser = measured)]
    pub(crate) metrics: Option<SocketAddr>,

    /// What to log: error, warn, info, debug or trace, or filters by part such as
    /// `info,fettlebook_server::edge=debug`.
    #[arg(long, value_name = "LEVEL", env = "FETTLED_LOG", default_value = "info", value_parser = filter)]
    pub(crate) log: String,

    /// Form of the log lines.
    #[arg(
        long,
        value_name = "FORM",
        env = "FETTLED_LOG_FORMAT",
        default_value = "text"
    )]
    pub(crate) log_format: LogFormat,
}

/// Form of the log lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum LogFormat {
    /// Lines for people.
    Text,
    /// A JSON object a line.
    Json,
}

/// An address of this machine. Nothing yet says who is on the other side, so nobody else is let in.
fn loopback(text: &str) -> Result<SocketAddr, String> {
    let address: SocketAddr = text.parse().map_err(|_| {
        "write an address and a port, for example 127.0.0.1:7420 or [::1]:7420".to_owned()
    })?;
    if address.ip().is_loopback() {
        return Ok(address);
    }
    Err(format!(
        "{} can be reached from other machines, and fettled does not know yet who calls; listen on \
         127.0.0.1 or [::1], and let others in through a tunnel you trust",
        address.ip()
    ))
}

/// An address of this machine. A page of metrics asks nobody who he is.
fn measured(text: &str) -> Result<SocketAddr, String> {
    let address: SocketAddr = text.parse().map_err(|_| {
        "write an address and a port, for example 127.0.0.1:9420 or [::1]:9420".to_owned()
    })?;
    if address.ip().is_loopback() {
        return Ok(address);
    }
    Err(format!(
        "{} can be reached from other machines, and metrics are told to whoever asks; take 127.0.0.1 \
         or [::1], and let the collector in through a tunnel you trust",
        address.ip()
    ))
}

/// Filters that can be read, kept as they were written.
fn filter(text: &str) -> Result<String, String> {
    EnvFilter::try_new(text)
        .map(|_| text.to_owned())
        .map_err(|error| {
            format!("{error}; write error, warn, info, debug or trace, or filters by part")
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parsed(more: &[&str]) -> Result<Args, clap::Error> {
        Args::try_parse_from([&["fettled", "--book", "b"], more].concat())
    }

    #[test]
    fn only_this_machine_is_listened_to() {
        for address in ["127.0.0.1:0", "127.0.0.1:7420", "[::1]:7420"] {
            assert!(parsed(&["--listen", address]).is_ok(), "{address}");
        }
        for address in [
            "0.0.0.0:7420",
            "192.168.1.7:7420",
            "[::]:7420",
            "7420",
            "example:1",
        ] {
            let error = parsed(&["--listen", address]).unwrap_err();
            assert_eq!(error.exit_code(), 2, "{address}");
            assert!(error.to_string().contains("127.0.0.1"), "{error}");
        }
    }

    #[test]
    fn metrics_are_told_on_this_machine_alone_and_only_where_asked_for() {
        assert_eq!(parsed(&[]).unwrap().metrics, None);
        for address in ["127.0.0.1:0", "[::1]:9420"] {
            let args = parsed(&["--metrics", address]).unwrap();
            assert_eq!(args.metrics.unwrap().to_string(), address);
        }
        for address in ["0.0.0.0:9420", "192.168.1.7:9420", "[::]:9420", "9420"] {
            let error = parsed(&["--metrics", address]).unwrap_err();
            assert_eq!(error.exit_code(), 2, "{address}");
            assert!(error.to_string().contains("127.0.0.1"), "{error}");
        }
    }

    #[test]
    fn a_filter_that_cannot_be_read_is_refused() {
        assert!(parsed(&["--log", "info,h2=warn"]).is_ok());
        assert!(parsed(&["--log", "loud=very"]).is_err());
        assert!(parsed(&["--log-format", "xml"]).is_err());
    }
}
