//! What `fettled` is told on its command line or by its environment.
//!
//! It serves `serve`, and the making of pairing codes. A value that makes no sense is refused with
//! the accepted forms before anything is opened.

mod backups;
#[cfg(feature = "postgres")]
mod begin;
#[cfg(feature = "postgres")]
mod engine;
mod kept;
#[cfg(feature = "postgres")]
mod many;
#[cfg(feature = "postgres")]
mod mend;
#[cfg(feature = "postgres")]
mod moving;
#[cfg(feature = "postgres")]
mod plainly;
mod read;
#[cfg(feature = "postgres")]
mod restore;

use std::ffi::OsString;
use std::fs;
use std::io;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};

use clap::builder::BoolishValueParser;
use clap::{CommandFactory as _, FromArgMatches as _, Parser, ValueEnum};
use clap_complete::Shell;
use fettlebook_model::Id;
use tonic::codegen::http::HeaderValue;

use crate::access::Role;

pub(crate) use backups::BackupArgs;
#[cfg(feature = "postgres")]
pub(crate) use begin::BeginArgs;
#[cfg(feature = "postgres")]
pub(crate) use engine::EngineArgs;
pub(crate) use kept::KeptArgs;
#[cfg(feature = "postgres")]
pub(crate) use many::ManyArgs;
#[cfg(feature = "postgres")]
pub(crate) use mend::MendArgs;
#[cfg(feature = "postgres")]
pub(crate) use moving::{MoveArgs, Way};
#[cfg(feature = "postgres")]
pub(crate) use restore::RestoreArgs;

use read::{address, filter, host_and_port, measured, origin};

/// What `fettled` is to do.
#[derive(Debug, Clone)]
pub(crate) enum Asked {
    /// Serve a book.
    Serve(Box<Args>),
    /// Make a code for a new device.
    Pair(PairArgs),
    /// Print the completion script of a shell.
    Completions(Shell),
    /// Print what makes the tables for books in PostgreSQL.
    #[cfg(feature = "postgres")]
    Tables(i32),
    /// Begin one more book in an engine.
    #[cfg(feature = "postgres")]
    Begin(BeginArgs),
    /// Move a book between a folder and an engine.
    #[cfg(feature = "postgres")]
    Move(MoveArgs),
    /// Bring a book back from a backup into an engine.
    #[cfg(feature = "postgres")]
    Restore(RestoreArgs),
    /// Mend a book in an engine.
    #[cfg(feature = "postgres")]
    Mend(MendArgs),
    /// Write the manual pages into a folder.
    Man(PathBuf),
}

impl Asked {
    /// Reads the arguments, the program's own name first.
    pub(crate) fn parse(args: impl IntoIterator<Item = OsString>) -> Result<Self, clap::Error> {
        #[cfg(feature = "postgres")]
        let found = plainly::read(&args.into_iter().collect::<Vec<_>>())?;
        #[cfg(not(feature = "postgres"))]
        let found = command().try_get_matches_from(args)?;
        match found.subcommand() {
            Some(("completions", shell)) => {
                let shell = CompletionsArgs::from_arg_matches(shell)?.shell;
                Ok(Self::Completions(shell))
            }
            Some(("man", folder)) => {
                ManArgs::from_arg_matches(folder).map(|man| Self::Man(man.folder))
            }
            #[cfg(feature = "postgres")]
            Some(("tables", tables)) => {
                TablesArgs::from_arg_matches(tables).map(|tables| Self::Tables(tables.from))
            }
            #[cfg(feature = "postgres")]
            Some(("begin", begun)) => BeginArgs::from_arg_matches(begun).map(Self::Begin),
            #[cfg(feature = "postgres")]
            Some(("move", moved)) => MoveArgs::from_arg_matches(moved).map(Self::Move),
            #[cfg(feature = "postgres")]
            Some(("restore", restored)) => {
                RestoreArgs::from_arg_matches(restored).map(Self::Restore)
            }
            #[cfg(feature = "postgres")]
            Some(("mend", mended)) => MendArgs::from_arg_matches(mended).map(Self::Mend),
            Some((_, pair)) => PairArgs::from_arg_matches(pair).map(Self::Pair),
            None => Args::from_arg_matches(&found).map(|args| Self::Serve(Box::new(args))),
        }
    }
}

/// All that can be typed.
fn command() -> clap::Command {
    let command = Args::command();
    #[cfg(feature = "postgres")]
    let command = command
        .subcommand(TablesArgs::command())
        .subcommand(BeginArgs::command())
        .subcommand(MoveArgs::command())
        .subcommand(RestoreArgs::command())
        .subcommand(MendArgs::command());
    command
        .args_conflicts_with_subcommands(true)
        .subcommand_negates_reqs(true)
        .disable_help_subcommand(true)
        .subcommand(PairArgs::command())
        .subcommand(CompletionsArgs::command())
        .subcommand(ManArgs::command())
}

/// The completion script of a shell.
pub(crate) fn completions(shell: Shell) -> Vec<u8> {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut command(), "fettled", &mut script);
    script
}

/// Writes the manual pages into a folder, which is made where it is missing.
pub(crate) fn manual(folder: &Path) -> io::Result<()> {
    fs::create_dir_all(folder)?;
    clap_mangen::generate_to(command(), folder)
}

/// Prints the script that makes a shell complete fettled.
#[derive(Debug, Clone, Parser)]
#[command(name = "completions", max_term_width = 100)]
struct CompletionsArgs {
    /// The shell.
    #[arg(value_name = "SHELL", value_enum)]
    shell: Shell,
}

/// Prints the SQL that makes the tables and roles for books in PostgreSQL, for whoever may make them there
/// to read and to run: fettled tables | psql DATABASE.
#[cfg(feature = "postgres")]
#[derive(Debug, Clone, Parser)]
#[command(name = "tables", max_term_width = 100)]
struct TablesArgs {
    /// Version that the tables have already; 0 where there are none.
    #[arg(long, value_name = "VERSION", default_value_t = 0)]
    from: i32,
}

/// Writes the manual pages into a folder.
#[derive(Debug, Clone, Parser)]
#[command(name = "man", max_term_width = 100)]
struct ManArgs {
    /// Folder for the pages; it is made where it is missing.
    #[arg(value_name = "DIR")]
    folder: PathBuf,
}

/// Makes a code with which a new device is let in, once and for ten minutes. The service need not be
/// asked: it is enough to have the rights to the book's folder.
#[derive(Debug, Clone, Parser)]
#[command(name = "pair", max_term_width = 100)]
pub(crate) struct PairArgs {
    #[command(flatten)]
    pub(crate) kept: KeptArgs,

    /// Name for the device, such as van-a.
    #[arg(long, value_name = "NAME")]
    pub(crate) name: Id,

    /// What the device may do; each role may do all that the ones before it may.
    #[arg(long, value_name = "ROLE", value_enum)]
    pub(crate) role: RoleWord,

    /// Where the device reaches the service, where that is not what the service was told with --reached-at, nor the
    /// address it listens on.
    #[arg(long, value_name = "HOST:PORT", value_parser = host_and_port)]
    pub(crate) at: Option<String>,

    /// Pair anew under a name that was used before: whoever has it is shut out once the code is used.
    #[arg(long)]
    pub(crate) again: bool,

    /// Let it see a line of every shop in the engine, by 'fettle shops', and what they cost where the role sees
    /// prices; it does nothing in other shops.
    #[cfg(feature = "postgres")]
    #[arg(long, requires = "store")]
    pub(crate) office: bool,
}

/// A role as it is typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum RoleWord {
    /// Look at the kit, the jobs and the check; no prices.
    Look,
    /// Record what happens to the kit; no prices.
    Work,
    /// Keep the book: makes, jobs, suppliers, orders, prices.
    Keep,
    /// Own the shop: policies, backups, devices.
    Own,
}

impl From<RoleWord> for Role {
    fn from(word: RoleWord) -> Self {
        match word {
            RoleWord::Look => Self::Look,
            RoleWord::Work => Self::Work,
            RoleWord::Keep => Self::Keep,
            RoleWord::Own => Self::Own,
        }
    }
}

/// Serves one book of kit to `fettle` and other clients over gRPC.
#[derive(Debug, Clone, Parser)]
#[command(name = "fettled", version, max_term_width = 100)]
pub(crate) struct Args {
    #[command(flatten)]
    pub(crate) kept: KeptArgs,

    /// Address to listen on; port 0 takes any free port. Off this machine only paired devices are
    /// let in, over TLS.
    #[arg(
        long,
        value_name = "ADDRESS",
        env = "FETTLED_LISTEN",
        default_value = "127.0.0.1:7420",
        value_parser = address
    )]
    pub(crate) listen: SocketAddr,

    /// Where devices reach this service, such as the name of the machine in the yard; say it again for where
    /// they reach it from the road. They try the first at once, and the next where it keeps silent. Speaks TLS.
    #[arg(
        long,
        value_name = "HOST:PORT",
        env = "FETTLED_REACHED_AT",
        value_delimiter = ',',
        value_parser = host_and_port
    )]
    pub(crate) reached_at: Vec<String>,

    /// Address of this machine on which to tell metrics, for Prometheus and its like; none are told
    /// where this is not given.
    #[arg(long, value_name = "ADDRESS", env = "FETTLED_METRICS", value_parser = measured)]
    pub(crate) metrics: Option<SocketAddr>,

    /// Speak TLS and let only paired devices in on this machine too.
    #[arg(long, env = "FETTLED_TLS", value_parser = BoolishValueParser::new())]
    pub(crate) tls: bool,

    /// Certificate to show instead of the book's own, in PEM: the service's first, the one that
    /// devices hold on to last. Speaks TLS.
    #[arg(
        long,
        value_name = "FILE",
        env = "FETTLED_CERTIFICATE",
        requires = "key"
    )]
    pub(crate) certificate: Option<PathBuf>,

    /// Key of that certificate, in PEM.
    #[arg(
        long,
        value_name = "FILE",
        env = "FETTLED_KEY",
        requires = "certificate"
    )]
    pub(crate) key: Option<PathBuf>,

    /// Where a page comes from that may read answers in a browser, as the browser names its origin; say it
    /// again for another. No page may where none is named, and each shows a device's token. Speaks TLS.
    #[arg(long, value_name = "ORIGIN", env = "FETTLED_PAGE_FROM", value_delimiter = ',', value_parser = origin)]
    pub(crate) page_from: Vec<HeaderValue>,

    #[cfg(feature = "postgres")]
    #[command(flatten)]
    pub(crate) many: ManyArgs,

    #[command(flatten)]
    pub(crate) backups: BackupArgs,

    /// Take the clock of this machine for right, once: where it is long after the last entry, because
    /// the book rested, or before it, because an entry was recorded while the clock was wrong. Of several books in
    /// each, when this run first opens it.
    #[arg(long)]
    pub(crate) accept_clock: bool,

    /// Print nothing about how it started, and log what is wrong alone: the same as `--log warn` where no
    /// level is given.
    #[arg(long, short = 'q')]
    pub(crate) quiet: bool,

    /// What to log: error, warn, info, debug or trace, or filters by part such as
    /// `info,fettlebook_server::edge=debug`; info where it is not given.
    #[arg(long, value_name = "LEVEL", env = "FETTLED_LOG", value_parser = filter)]
    pub(crate) log: Option<String>,

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

impl Args {
    /// What is logged.
    pub(crate) fn filter(&self) -> &str {
        let otherwise = if self.quiet { "warn" } else { "info" };
        self.log.as_deref().unwrap_or(otherwise)
    }

    /// Whether only paired devices are let in, over TLS.
    pub(crate) const fn for_devices(&self) -> bool {
        self.tls
            || self.certificate.is_some()
            || !self.page_from.is_empty()
            || !self.reached_at.is_empty()
            || !self.listen.ip().is_loopback()
    }
}

#[cfg(test)]
mod tests;
